/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording on disk read at two resolutions, and one channel of it condensed, against its own samples. */
#include "signal/trace.h"

#include <math.h>
#include <sndfile.h>
#include <stdint.h>
#include <stdlib.h>
#include <unistd.h>

#include "support/check.h"

enum { FRAMES = 30000, CHANNELS = 2, BLOCK = 32 };
static const double RATE_HZ = 48000;

/* Noise of sd 0.001 (twelve numbers of Knuth's generator MMIX, from memory), and light on each channel for a while. */
static float sample_at(uint64_t *seed, size_t frame, size_t channel)
{
    static const size_t on[] = {9000, 9700}, off[] = {15000, 15500};
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        *seed = *seed * 6364136223846793005u + 1442695040888963407u;
        sum += (double)(*seed >> 11) * 0x1p-53;
    }
    return (float)(0.001 * sum + (frame >= on[channel] && frame < off[channel] ? 0.625 : 0.03125));
}

static float *write_recording(char *path)
{
    float *samples = malloc(sizeof *samples * FRAMES * CHANNELS);
    uint64_t seed = 5;
    for (size_t i = 0; i < FRAMES * CHANNELS; i++)
        samples[i] = sample_at(&seed, i / CHANNELS, i % CHANNELS);
    SF_INFO info = {.samplerate = (int)RATE_HZ, .channels = CHANNELS, .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    int handle = mkstemps(path, 4);
    assert_true(handle >= 0);
    close(handle);
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    assert_int_equal(sf_writef_float(file, samples, FRAMES), FRAMES);
    sf_close(file);
    return samples;
}

/* Every bin holds the mean of its samples, and the bins touch. */
static void check_bins(const cw_trace *t, const float *samples, size_t from_channel)
{
    double frame = t->at_s[0] * RATE_HZ - (t->frames[0] - 1) / 2;
    for (size_t i = 0; i < t->count; i++) {
        assert_near(t->at_s[i] * RATE_HZ, frame + (t->frames[i] - 1) / 2, 1e-6);
        for (size_t c = 0; c < t->channels; c++) {
            double sum = 0;
            for (size_t f = 0; f < (size_t)t->frames[i]; f++)
                sum += (double)samples[((size_t)(frame + 0.5) + f) * CHANNELS + from_channel + c];
            assert_near(t->value[c][i], sum / t->frames[i], 1e-6);
        }
        frame += t->frames[i];
    }
    size_t singles = 0;
    for (size_t i = 0; i < t->count; i++)
        singles += t->frames[i] == 1;
    for (size_t k = 0; k < t->single_count; k++)
        for (size_t i = t->singles[k].first; i < t->singles[k].end; i++, singles--)
            assert_near(t->frames[i], 1, 0);
    assert_int_equal(singles, 0);
}

static void bins_hold_the_means_of_their_samples(void **state)
{
    (void)state;
    char path[] = "/tmp/cw-trace-XXXXXX.wav";
    float *samples = write_recording(path);
    cw_source *source;
    cw_overview overview;
    cw_trace all = {.count = 0}, own = {.count = 0};
    cw_error err;
    assert_ok(cw_source_open(path, NULL, &source, &err), &err);
    assert_ok(cw_overview_read(source, 0, FRAMES, BLOCK, 4096, &overview, &err), &err);
    static const double quiet[] = {0.05, 0.05};
    for (int again = 0; again < 2; again++) { /* the second time into the room of the first, to the end of the file */
        double to_s = again == 0 ? 0.5 : FRAMES / RATE_HZ;
        assert_ok(cw_trace_read(source, &overview, 0.1, to_s, quiet, 1.5e-3, &all, &err), &err);
        check_bins(&all, samples, 0);
        assert_int_equal(all.single_count, 4); /* two edges on each of two channels */
        assert_near(cw_trace_noise(&all, 1, -INFINITY, 9699 / RATE_HZ), 0.001, 0.00012);
        double edge_s = 9700 / RATE_HZ;
        assert_ok(cw_trace_condense(&all, 1, edge_s - 1e-3, edge_s + 1e-3, 0.5e-3, &own, &err), &err);
        check_bins(&own, samples, 1);
        size_t longest = 0;
        for (size_t k = 0; k < own.single_count; k++) /* another edge may leave one sample behind its last mean */
            longest = own.singles[k].end - own.singles[k].first > longest ? own.singles[k].end - own.singles[k].first
                                                                          : longest;
        assert_near((double)longest, 2e-3 * RATE_HZ, 2);
        assert_true(own.count < all.count);
    }
    cw_trace_free(&all);
    cw_trace_free(&own);
    cw_overview_free(&overview);
    cw_source_close(source);
    unlink(path);
    free(samples);
}

CHECK_MAIN(cmocka_unit_test(bins_hold_the_means_of_their_samples))
