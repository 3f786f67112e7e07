/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Headers of sound files that lie, lack something or belong to another kind of file: read right or refused in words. */
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "signal/source.h"
#include "support/check.h"

enum { FRAMES = 4000, BYTES_MOST = 1 << 17 };

static double sample(size_t frame)
{
    return frame >= 1000 && frame < 3000 ? 0.6875 : -0.03125;
}

/* A WAV put together byte by byte (RIFF WAVE; EBU Tech 3306 for RF64, ITU-R BS.2088 for BW64). */
typedef struct {
    const char *id; /* RIFF, RF64, BW64 */
    unsigned form, channels, rate, bits, frame_bytes;
    size_t chunk_before; /* bytes of another chunk in front of the data */
    unsigned data_size;  /* what the header says; 1: the truth */
    double odd_value;    /* of sample 500; 0: none */
    size_t cut;          /* bytes taken off the end */
} wav;

static size_t put(unsigned char *out, size_t at, unsigned long long value, size_t count)
{
    for (size_t i = 0; i < count; i++)
        out[at + i] = (unsigned char)(value >> (8 * i));
    return at + count;
}

static size_t put_text(unsigned char *out, size_t at, const char *text)
{
    memcpy(out + at, text, 4);
    return at + 4;
}

static size_t put_samples(unsigned char *out, size_t at, const wav *w)
{
    for (size_t i = 0; i < FRAMES; i++) {
        double value = i == 500 && w->odd_value != 0 ? w->odd_value : sample(i);
        float narrow = (float)value;
        if (w->form == 3 && w->bits == 64)
            memcpy(out + at, &value, 8);
        else if (w->form == 3)
            memcpy(out + at, &narrow, 4);
        else
            put(out, at, (unsigned long long)(long long)(value * 32768), 2);
        at += w->form == 3 ? w->bits / 8 : 2;
    }
    return at;
}

static size_t write_wav(const wav *w, unsigned char *out)
{
    bool is_long = strcmp(w->id, "RIFF") != 0;
    size_t data = (size_t)FRAMES * (w->form == 3 ? w->bits / 8 : 2), at = put_text(out, 0, w->id);
    at = put_text(out, put(out, at, is_long ? 0xffffffff : 36 + data, 4), "WAVE");
    if (is_long) {
        at = put(out, put_text(out, at, "ds64"), 28, 4);
        at = put(out, put(out, put(out, put(out, at, data + 72, 8), data, 8), FRAMES, 8), 0, 4);
    }
    at = put(out, put_text(out, at, "fmt "), 16, 4);
    at = put(out, put(out, put(out, at, w->form, 2), w->channels, 2), w->rate, 4);
    at = put(out, put(out, put(out, at, w->rate * w->frame_bytes, 4), w->frame_bytes, 2), w->bits, 2);
    if (w->chunk_before > 0) {
        at = put(out, put_text(out, at, "LIST"), w->chunk_before, 4);
        memset(out + at, 0, w->chunk_before);
        at += w->chunk_before;
    }
    at = put(out, put_text(out, at, "data"), is_long ? 0xffffffff : w->data_size == 1 ? data : w->data_size, 4);
    return put_samples(out, at, w) - w->cut;
}

static cw_status open_bytes(const void *bytes, size_t count, cw_source **source, cw_error *err)
{
    char folder[200], path[256];
    check_folder("sound-forms", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/sound", folder);
    assert_ok(cw_write_file(path, bytes, count, err), err);
    cw_status status = cw_source_open(path, NULL, source, err);
    unlink(path); /* stays readable for who has it open */
    rmdir(folder);
    return status;
}

static void headers_that_say_too_little_are_read_to_the_end(void **state)
{
    (void)state;
    static const struct {
        wav file;
        const char *warning;
    } files[] = {
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 1, 0, 0}, NULL},
        {{"RIFF", 1, 1, 96000, 16, 2, 20000, 1, 0, 0}, NULL},
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 0, 0, 0}, "does not say how long"},
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 0xffffffff, 0, 0}, "does not say how long"},
        {{"RIFF", 1, 1, 96000, 16, 2, 20000, 0, 0, 0}, "does not say how long"},
        {{"RF64", 1, 1, 96000, 16, 2, 0, 1, 0, 0}, NULL},
        {{"BW64", 1, 1, 96000, 16, 2, 0, 1, 0, 0}, NULL},
        {{"RIFF", 3, 1, 96000, 64, 8, 0, 0, 0, 0}, "does not say how long"},
    };
    static unsigned char bytes[BYTES_MOST];
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        static float values[FRAMES];
        size_t got;
        assert_ok(open_bytes(bytes, write_wav(&files[k].file, bytes), &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->frames, FRAMES);
        assert_true(info->rate_hz == 96000);
        assert_int_equal(info->warning_count, files[k].warning != NULL);
        if (files[k].warning != NULL)
            assert_contains(info->warnings[0], files[k].warning);
        assert_ok(cw_source_read(source, FRAMES, values, &got, &err), &err);
        assert_int_equal(got, FRAMES);
        for (size_t i = 0; i < FRAMES; i++)
            assert_near((double)values[i], sample(i), 0x1p-15);
        assert_ok(cw_source_seek(source, 2999, &err), &err);
        assert_ok(cw_source_read(source, 2, values, &got, &err), &err);
        assert_near((double)values[0], 0.6875, 1e-9);
        assert_near((double)values[1], -0.03125, 1e-9);
        cw_source_close(source);
    }
}

static void headers_that_lie_are_refused_in_words(void **state)
{
    (void)state;
    static const struct {
        wav file;
        const char *words;
    } files[] = {
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 1, 0, 3000}, "cut off: its header promises 8000 bytes of samples, 5000 are"},
        {{"RIFF", 1, 1, 96000, 16, 2, 20000, 1, 0, 3000}, "cut off: its header promises 8000 bytes"},
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 9000, 0, 0}, "cut off: its header promises 9000 bytes"},
        {{"RF64", 1, 1, 96000, 16, 2, 0, 1, 0, 3000}, "cut off: its header promises 8000 bytes"},
        {{"BW64", 1, 1, 96000, 16, 2, 0, 1, 0, 3000}, "cut off: its header promises 8000 bytes"},
        {{"RIFF", 1, 1, 96000, 16, 2, 0, 1, 0, 8000}, "holds no samples"},
        {{"RIFF", 1, 0, 96000, 16, 0, 0, 1, 0, 0}, "0 channels"},
        {{"RIFF", 1, 9, 96000, 16, 18, 0, 1, 0, 0}, "9 channels; 1 to 8"},
        {{"RIFF", 1, 1, 0, 16, 2, 0, 1, 0, 0}, "a sample rate of 0 Hz"},
        {{"RIFF", 1, 1, 99, 16, 2, 0, 1, 0, 0}, "a sample rate of 99 Hz is too slow"},
        {{"RIFF", 1, 1, 2000000000, 16, 2, 0, 1, 0, 0}, "a sample rate of 2000000000 Hz"},
        {{"RIFF", 1, 1, 4294967295u, 16, 2, 0, 1, 0, 0}, "a sample rate of 4294967295 Hz"},
        {{"RIFF", 1, 1, 96000, 0, 2, 0, 1, 0, 0}, "1 channels of 0 bits in 2 bytes"},
        {{"RIFF", 1, 2, 96000, 16, 2, 0, 1, 0, 0}, "2 channels of 16 bits in 2 bytes"},
        {{"RIFF", 0x1234, 1, 96000, 16, 2, 0, 1, 0, 0}, "begins like a sound file"},
    };
    static unsigned char bytes[BYTES_MOST];
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        assert_fails(open_bytes(bytes, write_wav(&files[k].file, bytes), &source, &err), CW_INPUT, &err,
                     files[k].words);
    }
}

static void samples_that_are_no_numbers_are_found_by_place(void **state)
{
    (void)state;
    static const struct {
        unsigned bits;
        double odd;
        const char *words;
    } files[] = {{32, NAN, "sample 500 of channel 1 is not a number"},
                 {64, NAN, "sample 500 of channel 1 is not a number"},
                 {32, INFINITY, "sample 500 of channel 1 is infinite"},
                 {64, 1e300, "sample 500 of channel 1 is infinite"}};
    static unsigned char bytes[BYTES_MOST];
    static float values[FRAMES];
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        wav file = {"RIFF", 3, 1, 96000, files[k].bits, files[k].bits / 8, 0, 1, files[k].odd, 0};
        cw_error err;
        cw_source *source = NULL;
        size_t got;
        assert_ok(open_bytes(bytes, write_wav(&file, bytes), &source, &err), &err);
        assert_fails(cw_source_read(source, FRAMES, values, &got, &err), CW_INPUT, &err, files[k].words);
        cw_source_close(source);
    }
}

/* What libsndfile writes in each container, whole and cut off after 60 in 100 of its bytes. */
static char *written(int format, int rate, size_t *count)
{
    char folder[200], path[256], *bytes;
    cw_error err;
    check_folder("sound-written", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/sound", folder);
    SF_INFO info = {.samplerate = rate, .channels = 1, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    float values[FRAMES];
    for (size_t i = 0; i < FRAMES; i++)
        values[i] = (float)sample(i);
    assert_int_equal(sf_writef_float(file, values, FRAMES), FRAMES);
    assert_int_equal(sf_close(file), 0);
    assert_ok(cw_read_file(path, BYTES_MOST, &bytes, count, &err), &err);
    unlink(path);
    rmdir(folder);
    return bytes;
}

static void every_container_that_is_cut_off_is_refused(void **state)
{
    (void)state;
    static const int formats[] = {SF_FORMAT_WAV,  SF_FORMAT_WAVEX, SF_FORMAT_RF64, SF_FORMAT_W64,
                                  SF_FORMAT_AIFF, SF_FORMAT_AU,    SF_FORMAT_CAF,  SF_FORMAT_WAV | SF_ENDIAN_BIG,
                                  SF_FORMAT_FLAC};
    for (size_t k = 0; k < CW_COUNT(formats); k++) {
        cw_error err;
        cw_source *source = NULL;
        size_t count, got;
        float values[FRAMES];
        char *bytes = written(formats[k] | SF_FORMAT_PCM_16, 48000, &count);
        assert_ok(open_bytes(bytes, count, &source, &err), &err);
        assert_ok(cw_source_read(source, FRAMES, values, &got, &err), &err);
        assert_int_equal(got, FRAMES);
        cw_source_close(source);
        source = NULL;
        if (formats[k] != SF_FORMAT_FLAC) {
            assert_fails(open_bytes(bytes, count * 6 / 10, &source, &err), CW_INPUT, &err, "cut off");
        } else { /* compressed: told where the reading fails */
            assert_ok(open_bytes(bytes, count - 40, &source, &err), &err);
            assert_fails(cw_source_read(source, FRAMES, values, &got, &err), CW_INPUT, &err, "cut off or damaged");
            cw_source_close(source);
        }
        free(bytes);
    }
}

/* Codecs with loss hide the edges of light; logarithmic samples only round them (8 bits and a sign near the top: a step
 * of 1/32 of the level), which two equal levels share. */
static void codecs_with_loss_are_refused_by_name(void **state)
{
    (void)state;
    static const struct {
        int format;
        const char *words; /* NULL: read */
    } kinds[] = {{SF_FORMAT_OGG | SF_FORMAT_VORBIS, "compressed with loss (Ogg Vorbis)"},
                 {SF_FORMAT_OGG | SF_FORMAT_OPUS, "compressed with loss (Opus)"},
                 {SF_FORMAT_MPEG | SF_FORMAT_MPEG_LAYER_III, "compressed with loss (MPEG audio, as MP3)"},
                 {SF_FORMAT_WAV | SF_FORMAT_IMA_ADPCM, "compressed with loss (ADPCM)"},
                 {SF_FORMAT_WAV | SF_FORMAT_MS_ADPCM, "compressed with loss (ADPCM)"},
                 {SF_FORMAT_WAV | SF_FORMAT_GSM610, "compressed with loss (GSM)"},
                 {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, NULL},
                 {SF_FORMAT_CAF | SF_FORMAT_ALAC_16, NULL},
                 {SF_FORMAT_WAV | SF_FORMAT_ULAW, NULL},
                 {SF_FORMAT_AU | SF_FORMAT_ALAW, NULL}};
    for (size_t k = 0; k < CW_COUNT(kinds); k++) {
        cw_error err;
        cw_source *source = NULL;
        size_t count, got;
        static float values[2 * FRAMES];
        char *bytes = written(kinds[k].format, 48000, &count);
        if (kinds[k].words != NULL) {
            assert_fails(open_bytes(bytes, count, &source, &err), CW_INPUT, &err, kinds[k].words);
            assert_contains(err.text, "Record again as WAV or FLAC");
            free(bytes);
            continue;
        }
        assert_ok(open_bytes(bytes, count, &source, &err), &err);
        free(bytes);
        assert_int_equal(cw_source_about(source)->warning_count, 0);
        assert_ok(cw_source_read(source, 2 * FRAMES, values, &got, &err), &err);
        for (size_t i = 0; i < FRAMES; i++)
            assert_near((double)values[i], sample(i), fabs(sample(i)) / 32);
        cw_source_close(source);
    }
}

static void other_files_are_called_by_their_kind(void **state)
{
    (void)state;
    static const struct {
        const char *bytes;
        size_t count;
        const char *words;
    } files[] = {
        {"\0\0\0\x20"
         "ftypM4A \0\0\0\0",
         16, "an MP4 sound or film"},
        {"\x1a\x45\xdf\xa3\x01\0\0\0\0\0\0\x1f", 12, "WebM"},
        {"#!AMR\n\x0c\x04", 8, "AMR"},
        {"PK\x03\x04\x14\0\x06\0", 8, "save the sheet as CSV"},
        {"\x1f\x8b\x08\0\0\0\0\0", 8, "gzip; unpack it first"},
        {"\x89PNG\r\n\x1a\n\0\0\0\x0d", 12, "a picture; export the samples themselves"},
        {"\xff\xd8\xff\xe0\0\x10JFIF", 10, "a picture"},
        {"%PDF-1.4\n1 0 obj\n", 17, "a PDF"},
        {"\xef\xbb\xbf \n<!DOCTYPE HTML><html><td>1</td></html>\n", 44, "a web page (HTML)"},
        {"<?xml version=\"1.0\"?><a>1</a>\n", 30, "XML"},
        {"{\"samples\":[1,2,3]}\n", 20, "JSON"},
        {"\x93NUMPY\x01\0v\0", 10, "without a sample rate (NPY)"},
        {"RIFF\x64\0\0\0AVI LIST", 16, "begins like a sound file but cannot be read as one"},
        {"ID3\x04\0\0\0\0\0\0 no frames behind the tag", 36, "begins like a sound file"},
        {"\x01\x02\x03\x04\x05\x06\x07\x08", 8, "neither sound"},
    };
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        assert_fails(open_bytes(files[k].bytes, files[k].count, &source, &err), CW_INPUT, &err, files[k].words);
    }
}

CHECK_MAIN(cmocka_unit_test(headers_that_say_too_little_are_read_to_the_end),
           cmocka_unit_test(headers_that_lie_are_refused_in_words),
           cmocka_unit_test(samples_that_are_no_numbers_are_found_by_place),
           cmocka_unit_test(every_container_that_is_cut_off_is_refused),
           cmocka_unit_test(codecs_with_loss_are_refused_by_name),
           cmocka_unit_test(other_files_are_called_by_their_kind))
