/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files through libsndfile: WAV, RF64, W64, AIFF, AU, CAF, FLAC, Ogg; any depth, 1 to 8 channels, streamed. */
#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "signal/reader.h"

/* Samples turned at once: what fits the processor's first caches. */
enum { RAW_SAMPLES = 1 << 13, WIDEST_SAMPLE = 4 };

typedef struct {
    SNDFILE *file;
    size_t channels;
    uint64_t frames, at;
    bool may_hold_nan; /* float formats only: integers cannot */
    size_t
        sample_bytes; /* of little-endian integers that are turned here, in half the time; 0: libsndfile turns them */
    unsigned char raw[RAW_SAMPLES * WIDEST_SAMPLE + 1];
} sound;

static bool begins(const cw_file_head *head, size_t at, const char *magic)
{
    size_t n = strlen(magic);
    return head->count >= at + n && memcmp(head->bytes + at, magic, n) == 0;
}

static bool is_riff(const cw_file_head *head)
{
    return (begins(head, 0, "RIFF") || begins(head, 0, "RIFX")) && begins(head, 8, "WAVE");
}

static bool is_mine(const cw_file_head *head)
{
    static const char *const magics[] = {"RF64", "riff", "FORM", ".snd", "dns.", "caff", "fLaC", "OggS"};
    if (is_riff(head) || begins(head, 0, "RIFF"))
        return true;
    for (size_t i = 0; i < CW_COUNT(magics); i++)
        if (begins(head, 0, magics[i]))
            return true;
    return false;
}

static uint32_t four_bytes(const cw_file_head *head, size_t at)
{
    const unsigned char *b = head->bytes + at;
    bool big = head->bytes[3] == 'X';
    return big ? (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3]
               : (uint32_t)b[3] << 24 | (uint32_t)b[2] << 16 | (uint32_t)b[1] << 8 | b[0];
}

/* libsndfile reads a cut-off WAV as if the rest had never been; so the lengths in its header are compared here. A
 * writer into a pipe leaves 0 or 0x7fff.... and up for "not known": that is no damage. */
static cw_status check_riff_length(const cw_file_head *head, cw_source_info *info, cw_error *err)
{
    for (size_t at = 12; at + 8 <= head->count;) {
        uint32_t size = four_bytes(head, at + 4);
        if (begins(head, at, "data")) {
            uint64_t there = head->file_bytes - (at + 8);
            if (size == 0 && there == 0)
                return cw_fail(err, CW_INPUT, "the WAV holds no samples; was the recording stopped at once?");
            if (size == 0 || size >= 0x7ffff000u) {
                if (there < size || size == 0)
                    cw_source_warn(info, "the WAV header does not say how long the recording is; read to the end of "
                                         "the file");
                return CW_OK;
            }
            if (there < size)
                return cw_fail(err, CW_INPUT,
                               "the WAV is cut off: its header promises %u bytes of samples, %llu are there. Copy or "
                               "record it again; what is left would end in the middle of a shot",
                               size, (unsigned long long)there);
            return CW_OK;
        }
        if (size > head->file_bytes)
            return CW_OK; /* left to libsndfile, which says what it thinks of it */
        at += 8 + (size_t)size + (size & 1);
    }
    return CW_OK;
}

static void turn_16(const unsigned char *raw, size_t count, float *out)
{
#pragma omp simd
    for (size_t i = 0; i < count; i++) {
        int16_t v;
        memcpy(&v, raw + 2 * i, sizeof v);
        out[i] = (float)v * 0x1p-15f;
    }
}

/* Four bytes are taken for each sample; the fourth, of the next one or behind the last, is shifted out. */
static void turn_24(const unsigned char *raw, size_t count, float *out)
{
    for (size_t i = 0; i < count; i++) {
        uint32_t v;
        memcpy(&v, raw + 3 * i, sizeof v);
        out[i] = (float)(int32_t)(v << 8) * 0x1p-31f;
    }
}

static void turn_32(const unsigned char *raw, size_t count, float *out)
{
#pragma omp simd
    for (size_t i = 0; i < count; i++) {
        int32_t v;
        memcpy(&v, raw + 4 * i, sizeof v);
        out[i] = (float)v * 0x1p-31f;
    }
}

/* The frames read and turned, as sf_readf_float would give them to the last bit; fewer than asked at a damaged end. */
static sf_count_t read_plain(sound *s, size_t frames, float *out)
{
    size_t frame_bytes = s->channels * s->sample_bytes, at_once = RAW_SAMPLES / s->channels, done = 0;
    while (done < frames) {
        size_t now = frames - done < at_once ? frames - done : at_once;
        sf_count_t bytes = sf_read_raw(s->file, s->raw, (sf_count_t)(now * frame_bytes));
        size_t got = bytes > 0 ? (size_t)bytes / frame_bytes : 0;
        (s->sample_bytes == 2 ? turn_16 : s->sample_bytes == 3 ? turn_24 : turn_32)(s->raw, got * s->channels, out);
        out += got * s->channels;
        done += got;
        if (got < now)
            break;
    }
    return (sf_count_t)done;
}

static cw_status sound_read(void *state, size_t frames, float *out, size_t *got, cw_error *err)
{
    sound *s = state;
    uint64_t left = s->frames - s->at;
    if (frames > left)
        frames = (size_t)left;
    sf_count_t n = 0;
    if (frames > 0)
        n = s->sample_bytes > 0 ? read_plain(s, frames, out) : sf_readf_float(s->file, out, (sf_count_t)frames);
    if (n < (sf_count_t)frames)
        return cw_fail(err, CW_INPUT,
                       "the sound data end at frame %llu of the %llu the header promises (%s). The file is cut off or "
                       "damaged: copy or record it again",
                       (unsigned long long)(s->at + (uint64_t)(n > 0 ? n : 0)), (unsigned long long)s->frames,
                       sf_error(s->file) != 0 ? sf_strerror(s->file) : "no more data");
    if (s->may_hold_nan)
        for (size_t i = 0; i < frames * s->channels; i++)
            if (!isfinite(out[i]))
                return cw_fail(err, CW_INPUT,
                               "sample %llu of channel %zu is %s. The program that wrote the recording went wrong "
                               "there: export it again, as 24-bit integers if it can",
                               (unsigned long long)(s->at + i / s->channels), i % s->channels + 1,
                               isnan(out[i]) ? "not a number" : "infinite");
    s->at += (uint64_t)n;
    *got = frames;
    return CW_OK;
}

static cw_status sound_seek(void *state, uint64_t frame, cw_error *err)
{
    sound *s = state;
    if (frame > s->frames)
        return cw_fail(err, CW_RANGE, "frame %llu lies behind the end (%llu)", (unsigned long long)frame,
                       (unsigned long long)s->frames);
    if (frame == s->at)
        return CW_OK;
    if (frame < s->frames && sf_seek(s->file, (sf_count_t)frame, SF_SEEK_SET) != (sf_count_t)frame)
        return cw_fail(err, CW_INPUT, "the sound file cannot be read from frame %llu: %s", (unsigned long long)frame,
                       sf_strerror(s->file));
    s->at = frame;
    return CW_OK;
}

static void sound_close(void *state)
{
    sound *s = state;
    sf_close(s->file);
    free(s);
}

static cw_status check_shape(const SF_INFO *shape, cw_error *err)
{
    if (shape->channels < 1 || shape->channels > CW_CHANNELS_MOST)
        return cw_fail(err, CW_INPUT,
                       "%d channels; 1 to %d can be used. Export only the channels with a sensor or a contact on them",
                       shape->channels, CW_CHANNELS_MOST);
    if (shape->samplerate < 100)
        return cw_fail(err, CW_INPUT, "a sample rate of %d Hz is too slow for any shutter; record at 44100 Hz or more",
                       shape->samplerate);
    if (shape->frames <= 0)
        return cw_fail(err, CW_INPUT, "the sound file holds no samples; was the recording stopped at once?");
    if (shape->frames == SF_COUNT_MAX || !shape->seekable)
        return cw_fail(err, CW_INPUT,
                       "the sound file does not say how long it is, or cannot be read from the middle; "
                       "convert it to WAV or FLAC first");
    return CW_OK;
}

/* Bytes of a sample when the file holds plain little-endian integers of 16, 24 or 32 bits, as this processor does. */
static size_t plain_bytes(SNDFILE *file, int format)
{
#if __BYTE_ORDER__ != __ORDER_LITTLE_ENDIAN__
    (void)file;
    (void)format;
    return 0;
#else
    int kind = format & SF_FORMAT_TYPEMASK, depth = format & SF_FORMAT_SUBMASK;
    if (kind != SF_FORMAT_WAV && kind != SF_FORMAT_WAVEX && kind != SF_FORMAT_RF64 && kind != SF_FORMAT_W64)
        return 0;
    if (sf_command(file, SFC_RAW_DATA_NEEDS_ENDSWAP, NULL, 0) != SF_FALSE)
        return 0;
    return depth == SF_FORMAT_PCM_16 ? 2 : depth == SF_FORMAT_PCM_24 ? 3 : depth == SF_FORMAT_PCM_32 ? 4 : 0;
#endif
}

cw_status cw_sound_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                        cw_error *err)
{
    (void)options;
    if (!is_mine(head))
        return cw_fail(err, CW_NOT_MINE, "not a sound file");
    cw_source_info info = {.form = CW_SOURCE_SAMPLED};
    if (is_riff(head))
        CW_TRY(check_riff_length(head, &info, err));
    SF_INFO shape = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &shape);
    if (file == NULL)
        return cw_fail(err, CW_INPUT, "begins like a sound file but cannot be read as one: %s", sf_strerror(NULL));
    cw_status status = check_shape(&shape, err);
    sound *s = status == CW_OK ? calloc(1, sizeof *s) : NULL;
    if (s == NULL) {
        sf_close(file);
        return status != CW_OK ? status : cw_fail(err, CW_MEMORY, "no memory to read a sound file");
    }
    int depth = shape.format & SF_FORMAT_SUBMASK;
    s->file = file;
    s->channels = (size_t)shape.channels;
    s->frames = (uint64_t)shape.frames;
    s->may_hold_nan = depth == SF_FORMAT_FLOAT || depth == SF_FORMAT_DOUBLE;
    s->sample_bytes = plain_bytes(file, shape.format);
    info.channels = s->channels;
    info.rate_hz = shape.samplerate;
    info.frames = s->frames;
    info.length_s = (double)s->frames / info.rate_hz;
    if (depth == SF_FORMAT_VORBIS || depth == SF_FORMAT_OPUS)
        cw_source_warn(&info, "the recording is compressed with loss, which moves and rounds edges by an amount nobody "
                              "states; record as WAV or FLAC for figures you can trust");
    if (info.rate_hz < 32000)
        cw_source_warn(&info, "a sample rate of %.0f Hz blurs fast speeds; record at 48000 Hz or more", info.rate_hz);
    source->info = info;
    source->state = s;
    source->calls = (cw_source_calls){.read = sound_read, .seek = sound_seek, .close = sound_close};
    return CW_OK;
}
