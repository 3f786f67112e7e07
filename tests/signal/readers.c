/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sound files of every depth and rate read the same; VCD in its variants; each refusal by its words. */
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "signal/source.h"
#include "support/check.h"

enum { FRAMES = 4000, CHANNELS = 3 };

static float sample(size_t frame, size_t channel)
{
    return frame > 1000 + 50 * channel && frame < 3000 + 70 * channel ? 0.6875f : -0.03125f;
}

static void write_sound(const char *path, int format, int rate, int channels)
{
    SF_INFO info = {.samplerate = rate, .channels = channels, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (size_t i = 0; i < FRAMES; i++) {
        float frame[16];
        for (size_t c = 0; c < (size_t)channels; c++)
            frame[c] = sample(i, c);
        assert_int_equal(sf_writef_float(file, frame, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
}

static void every_depth_and_container_gives_the_same_samples(void **state)
{
    (void)state;
    static const struct {
        int format, rate;
        double digit;
    } kinds[] = {
        {SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 44100, 0x1p-7},   {SF_FORMAT_WAV | SF_FORMAT_PCM_16, 48000, 0x1p-15},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_24, 96000, 0x1p-23},  {SF_FORMAT_WAV | SF_FORMAT_PCM_32, 192000, 0x1p-23},
        {SF_FORMAT_WAV | SF_FORMAT_FLOAT, 384000, 0x1p-23},  {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 8000, 0x1p-23},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_16, 48000, 0x1p-15}, {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 192000, 0x1p-23},
        {SF_FORMAT_AIFF | SF_FORMAT_PCM_16, 44100, 0x1p-15}, {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 96000, 0x1p-23},
        {SF_FORMAT_W64 | SF_FORMAT_PCM_16, 96000, 0x1p-15},  {SF_FORMAT_AU | SF_FORMAT_PCM_24, 48000, 0x1p-23},
        {SF_FORMAT_CAF | SF_FORMAT_PCM_16, 48000, 0x1p-15},
    };
    char folder[200], path[256];
    check_folder("sound", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/sound", folder); /* no extension: known by content */
    for (size_t k = 0; k < CW_COUNT(kinds); k++) {
        cw_error err;
        cw_source *source;
        float out[FRAMES * CHANNELS];
        write_sound(path, kinds[k].format, kinds[k].rate, CHANNELS);
        assert_ok(cw_source_open(path, NULL, &source, &err), &err);
        const cw_source_info *info = cw_source_about(source);
        assert_int_equal(info->frames, FRAMES);
        assert_int_equal(info->channels, CHANNELS);
        assert_near(info->rate_hz, kinds[k].rate, 0);
        size_t got = 0;
        assert_ok(cw_source_seek(source, 990, &err), &err); /* from the middle first: readers keep their place */
        assert_ok(cw_source_read(source, 20, out, &got, &err), &err);
        assert_near((double)out[12 * CHANNELS], (double)sample(1002, 0), kinds[k].digit);
        assert_ok(cw_source_seek(source, 0, &err), &err);
        assert_ok(cw_source_read(source, FRAMES + 5, out, &got, &err), &err);
        assert_int_equal(got, FRAMES);
        for (size_t i = 0; i < FRAMES * CHANNELS; i++)
            assert_near((double)out[i], (double)sample(i / CHANNELS, i % CHANNELS), kinds[k].digit);
        assert_ok(cw_source_read(source, 5, out, &got, &err), &err);
        assert_int_equal(got, 0);
        cw_source_close(source);
    }
    unlink(path);
    rmdir(folder);
}

/* Every digit a recorder can write, against libsndfile's own conversion, to the last bit; also after a seek. */
static void plain_integers_are_turned_as_libsndfile_does(void **state)
{
    (void)state;
    static const int formats[] = {SF_FORMAT_WAV | SF_FORMAT_PCM_16,
                                  SF_FORMAT_WAV | SF_FORMAT_PCM_24,
                                  SF_FORMAT_WAV | SF_FORMAT_PCM_32,
                                  SF_FORMAT_WAVEX | SF_FORMAT_PCM_24,
                                  SF_FORMAT_W64 | SF_FORMAT_PCM_24,
                                  SF_FORMAT_RF64 | SF_FORMAT_PCM_32,
                                  SF_FORMAT_WAV | SF_FORMAT_PCM_16 | SF_ENDIAN_BIG}; /* RIFX */
    enum { MANY = 30011 }; /* more than is turned at once, and no multiple of anything */
    static float ours[MANY * CHANNELS], theirs[MANY * CHANNELS];
    static int digits[MANY * CHANNELS];
    char folder[200], path[256];
    check_folder("plain", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/plain", folder);
    for (size_t k = 0; k < CW_COUNT(formats); k++) {
        uint32_t dice = 2463534242u; /* xorshift32 */
        for (size_t i = 0; i < CW_COUNT(digits); i++) {
            dice ^= dice << 13;
            dice ^= dice >> 17;
            dice ^= dice << 5;
            digits[i] = i < 2 ? (i == 0 ? INT32_MIN : INT32_MAX) : (int)dice;
        }
        SF_INFO info = {.samplerate = 96000, .channels = CHANNELS, .format = formats[k]};
        SNDFILE *file = sf_open(path, SFM_WRITE, &info);
        assert_non_null(file);
        assert_int_equal(sf_writef_int(file, digits, MANY), MANY);
        assert_int_equal(sf_close(file), 0);
        file = sf_open(path, SFM_READ, &info);
        assert_int_equal(sf_readf_float(file, theirs, MANY), MANY);
        sf_close(file);
        cw_error err;
        cw_source *source;
        size_t got = 0, most = MANY;
        assert_ok(cw_source_open(path, NULL, &source, &err), &err);
        assert_ok(cw_source_read(source, most, ours, &got, &err), &err);
        assert_int_equal(got, MANY);
        assert_memory_equal(ours, theirs, sizeof ours);
        assert_ok(cw_source_seek(source, 12347, &err), &err);
        assert_ok(cw_source_read(source, 17, ours, &got, &err), &err);
        assert_int_equal(got, 17);
        assert_memory_equal(ours, theirs + (size_t)12347 * CHANNELS, 17 * CHANNELS * sizeof *ours);
        cw_source_close(source);
    }
}

static void broken_sound_files_are_refused_in_words(void **state)
{
    (void)state;
    cw_error err;
    cw_source *source = NULL;
    char folder[200], path[256], *bytes;
    size_t count, got;
    check_folder("broken", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/broken.wav", folder);

    write_sound(path, SF_FORMAT_WAV | SF_FORMAT_PCM_16, 48000, CHANNELS);
    assert_ok(cw_read_file(path, 1 << 20, &bytes, &count, &err), &err);
    assert_ok(cw_write_file(path, bytes, count / 2, &err), &err);
    assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, "cut off");
    assert_contains(err.text, "Copy or record it again");
    assert_ok(cw_write_file(path, bytes, 20, &err), &err); /* a header that stops */
    assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, "begins like a sound file");
    bytes[22] = 12; /* channels */
    bytes[32] = 24;
    assert_ok(cw_write_file(path, bytes, count, &err), &err);
    assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, "12 channels; 1 to 8");
    free(bytes);
    assert_ok(cw_write_file(path, "", 0, &err), &err);
    assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, "is empty");
    assert_ok(cw_write_file(path, "\x7f\x45LF\0\0\0\1\2\3", 10, &err), &err);
    assert_fails(cw_source_open(path, NULL, &source, &err), CW_INPUT, &err, "neither sound");
    assert_fails(cw_source_open(folder, NULL, &source, &err), CW_INPUT, &err, "is a folder");
    assert_fails(cw_source_open("no/such/file.wav", NULL, &source, &err), CW_NOT_FOUND, &err, "no/such/file.wav");

    SF_INFO info = {.samplerate = 48000, .channels = 1, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    float values[100] = {[40] = NAN};
    assert_int_equal(sf_writef_float(file, values, 100), 100);
    sf_close(file);
    assert_ok(cw_source_open(path, NULL, &source, &err), &err);
    assert_fails(cw_source_read(source, 100, values, &got, &err), CW_INPUT, &err,
                 "sample 40 of channel 1 is not a number");
    cw_source_close(source);
    unlink(path);
    rmdir(folder);
}

static const char HEAD[] =
    "$date now $end $version x $end $comment a $end\n$timescale 100 ns $end\n$scope module m $end\n"
    "$var wire 1 ! CH0 $end\n$var reg 1 % CH1 [0] $end\n$var wire 8 # bus [7:0] $end\n"
    "$var real 64 r volts $end\n$upscope $end\n$enddefinitions $end\n";

static cw_status open_vcd(const char *head, const char *body, cw_source **source, cw_error *err)
{
    char folder[200], path[256], text[4096];
    check_folder("vcd", folder, sizeof folder);
    snprintf(path, sizeof path, "%s/a.vcd", folder);
    snprintf(text, sizeof text, "%s%s", head, body);
    assert_ok(cw_write_file(path, text, strlen(text), err), err);
    cw_status status = cw_source_open(path, NULL, source, err);
    unlink(path);
    rmdir(folder);
    return status;
}

static void a_vcd_gives_its_one_bit_lines(void **state)
{
    (void)state;
    cw_error err;
    cw_source *source;
    assert_ok(open_vcd(HEAD,
                       "#0 $dumpvars 0! bx % b101 # r1.5 r $end\n#10\n1!\n#25\nb1 %\n#30\n0!\n#40 x! z%\n#50\n0! b0 %\n"
                       "#60 $dumpoff x! $end\n#70 $dumpon 0! $end #90\n",
                       &source, &err),
              &err);
    const cw_source_info *info = cw_source_about(source);
    assert_int_equal(info->form, CW_SOURCE_EDGES);
    assert_int_equal(info->channels, 2);
    assert_string_equal(info->names[1], "CH1[0]");
    assert_near(info->length_s, 9e-6, 1e-15);
    assert_near(info->u_time_s, 100e-9 / sqrt(12), 1e-15);
    assert_contains(info->warnings[0], "bus");
    assert_contains(info->warnings[1], "real");
    static const cw_edge first[] = {{0, 0}, {1e-6, 1}, {3e-6, 0}, {4e-6, -1}, {5e-6, 0}, {6e-6, -1}, {7e-6, 0}};
    size_t count;
    const cw_edge *edges = cw_source_edges(source, 0, &count);
    assert_int_equal(count, CW_COUNT(first));
    for (size_t i = 0; i < count; i++) {
        assert_near(edges[i].at_s, first[i].at_s, 1e-15);
        assert_int_equal(edges[i].level, first[i].level);
    }
    cw_source_close(source);
}

static void broken_vcds_are_refused_in_words(void **state)
{
    (void)state;
    static const struct {
        const char *head, *body, *words;
    } files[] = {
        {"$timescale 1 ns $end $var wire 8 ! data [7:0] $end $enddefinitions $end\n", "#0 b1 !\n#5 b10 !\n",
         "only buses (\"data[7:0]\")"},
        {"$var wire 1 ! A $end $enddefinitions $end\n", "#0 0! #5 1!\n", "no $timescale"},
        {"$timescale 3 weeks $end\n", "", "\"3weeks\" is not understood"},
        {HEAD, "#0 0!\n#50 1!\n#40 0!\n", "line 12: time runs back from 50 to 40"},
        {HEAD, "#0 0!\n1?\n", "line 11: a value for \"?\""},
        {HEAD, "#0 0!\nhello\n", "line 11"},
        {HEAD, "#abc 0!\n", "\"#abc\" is no instant"},
        {HEAD, "", "no instants"},
        {"$timescale 1 ns $end $scope module m", "", "cut off"},
        {"$timescale 1 ns $end $enddefinitions $end #0\n", "", "declares no channels"},
    };
    for (size_t k = 0; k < CW_COUNT(files); k++) {
        cw_error err;
        cw_source *source = NULL;
        assert_fails(open_vcd(files[k].head, files[k].body, &source, &err), CW_INPUT, &err, files[k].words);
    }
}

CHECK_MAIN(cmocka_unit_test(every_depth_and_container_gives_the_same_samples),
           cmocka_unit_test(plain_integers_are_turned_as_libsndfile_does),
           cmocka_unit_test(broken_sound_files_are_refused_in_words), cmocka_unit_test(a_vcd_gives_its_one_bit_lines),
           cmocka_unit_test(broken_vcds_are_refused_in_words))
