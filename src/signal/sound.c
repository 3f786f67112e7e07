/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files through libsndfile: WAV, RF64, W64, AIFF, AU, CAF, FLAC, Ogg, MP3; any depth, 1 to 8 channels, streamed.
 */
#include <math.h>
#include <sndfile.h>
#include <stdlib.h>
#include <string.h>

#include "signal/reader.h"
#include "signal/sound_header.h"

/* Samples turned at once: few calls of the system, and what the second cache of a processor holds. */
enum { RAW_SAMPLES = 1 << 15, WIDEST_SAMPLE = 4 };

typedef struct {
    SNDFILE *file;
    cw_sound_shown *shown; /* NULL for a file as it is */
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

/* A frame of MPEG audio begins with eleven bits set (ISO/IEC 11172-3); so does the mark of UTF-16. */
static bool is_mpeg(const cw_file_head *head)
{
    return begins(head, 0, "ID3") || (head->count > 1 && head->bytes[0] == 0xff && (head->bytes[1] & 0xe6) == 0xe2);
}

static bool is_mine(const cw_file_head *head)
{
    static const char *const magics[] = {"RIFF", "RIFX", "RF64", "BW64", "riff", "FORM",
                                         ".snd", "dns.", "caff", "fLaC", "OggS"};
    for (size_t i = 0; i < CW_COUNT(magics); i++)
        if (begins(head, 0, magics[i]))
            return true;
    return is_mpeg(head);
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
    cw_sound_shown_close(s->shown);
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

/* The name of a codec that keeps what is heard and not the shape of a wave, NULL for any other. */
static const char *codec_with_loss(int depth)
{
    switch (depth) {
    case SF_FORMAT_VORBIS:
        return "Ogg Vorbis";
    case SF_FORMAT_OPUS:
        return "Opus";
    case SF_FORMAT_MPEG_LAYER_I:
    case SF_FORMAT_MPEG_LAYER_II:
    case SF_FORMAT_MPEG_LAYER_III:
        return "MPEG audio, as MP3";
    case SF_FORMAT_GSM610:
        return "GSM";
    case SF_FORMAT_IMA_ADPCM:
    case SF_FORMAT_MS_ADPCM:
    case SF_FORMAT_VOX_ADPCM:
    case SF_FORMAT_NMS_ADPCM_16:
    case SF_FORMAT_NMS_ADPCM_24:
    case SF_FORMAT_NMS_ADPCM_32:
    case SF_FORMAT_G721_32:
    case SF_FORMAT_G723_24:
    case SF_FORMAT_G723_40:
        return "ADPCM";
    default:
        return NULL;
    }
}

/* Light goes up and down in steps, which such codecs smear over the block they work on (5 to 25 ms), rob of their rest
 * level or slow down. Measured on simulated releases of known exposure (48 kHz, as libsndfile 1.2 encodes them): one of
 * 1/30 was 14 % short in Vorbis, one of 1/500 89 % in Opus, one of 1/1000 99 % in MP3 and 6 % in ADPCM, all with
 * uncertainties many times smaller. Clicks by ear are another matter: sound_load.c takes these files. */
static cw_status check_codec(int format, cw_error *err)
{
    const char *codec = codec_with_loss(format & SF_FORMAT_SUBMASK);
    if (codec == NULL)
        return CW_OK;
    return cw_fail(err, CW_INPUT,
                   "the recording is compressed with loss (%s), which moves and hides the edges of light by an amount "
                   "nobody can tell afterwards. Record again as WAV or FLAC; converting this file does not bring them "
                   "back",
                   codec);
}

cw_status cw_sound_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                        cw_error *err)
{
    (void)options;
    if (!is_mine(head))
        return cw_fail(err, CW_NOT_MINE, "not a sound file");
    cw_source_info info = {.form = CW_SOURCE_SAMPLED};
    cw_sound_patches patches = {.count = 0};
    cw_sound_shown *shown;
    CW_TRY(cw_sound_check_header(path, head, &info, &patches, err));
    SF_INFO shape = {0};
    SNDFILE *file = cw_sound_open_patched(path, &patches, &shape, &shown);
    if (file == NULL)
        return cw_fail(
            err, CW_INPUT,
            "begins like a sound file but cannot be read as one: %s Export it again, as WAV with plain PCM, or "
            "convert it to that",
            sf_strerror(NULL));
    cw_status status = check_codec(shape.format, err);
    if (status == CW_OK)
        status = check_shape(&shape, err);
    sound *s = status == CW_OK ? calloc(1, sizeof *s) : NULL;
    if (s == NULL) {
        sf_close(file);
        cw_sound_shown_close(shown);
        return status != CW_OK ? status : cw_fail(err, CW_MEMORY, "no memory to read a sound file");
    }
    int depth = shape.format & SF_FORMAT_SUBMASK;
    s->file = file;
    s->shown = shown;
    s->channels = (size_t)shape.channels;
    s->frames = (uint64_t)shape.frames;
    s->may_hold_nan = depth == SF_FORMAT_FLOAT || depth == SF_FORMAT_DOUBLE;
    s->sample_bytes = plain_bytes(file, shape.format);
    info.channels = s->channels;
    info.rate_hz = shape.samplerate;
    info.frames = s->frames;
    info.length_s = (double)s->frames / info.rate_hz;
    if (info.rate_hz < 32000)
        cw_source_warn(&info, "a sample rate of %.0f Hz blurs fast speeds; record at 48000 Hz or more", info.rate_hz);
    source->info = info;
    source->state = s;
    source->calls = (cw_source_calls){.read = sound_read, .seek = sound_seek, .close = sound_close};
    return CW_OK;
}
