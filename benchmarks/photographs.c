/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What comparing two raw photographs costs against what LibRaw alone takes to unpack them, 24 and 60 megapixels, in one
 * run, and the memory it takes. Goal: under 3 times the unpacking of the pair. The files are uncompressed DNG, the case
 * in which unpacking is cheapest. The fastest of several rounds of each, in turn; the answer is checked. */
#include <libraw/libraw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include "shutter/dng.h"
#include "shutter/photo_pair.h"

enum { ROUNDS = 5 };

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* An even scene with photon noise from a table, so that making it does not take longer than measuring. */
static void make_raw(const char *path, uint32_t width, uint32_t height, double counts, double exposure_s, uint64_t seed)
{
    enum { TABLE = 65536 };
    static uint16_t noise[TABLE];
    check_random random = {seed};
    const dng_look look = {width, height, exposure_s, 8, 100, "Digital One", 15000, {512, 514, 510, 516}};
    for (size_t i = 0; i < TABLE; i++)
        noise[i] = (uint16_t)lrint(513 + counts + sqrt(counts + 9) * check_gaussian(&random));
    uint16_t *pixels = malloc((size_t)width * height * sizeof *pixels);
    uint64_t state = seed * 2 + 1;
    for (size_t i = 0; pixels != NULL && i < (size_t)width * height; i++) {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL; /* Knuth, MMIX */
        pixels[i] = noise[state >> 48];
    }
    dng_write(path, &look, pixels);
    free(pixels);
}

static double unpack_only(const char *const *paths)
{
    double from = now_s();
    for (int i = 0; i < 2; i++) {
        libraw_data_t *raw = libraw_init(0);
        if (raw == NULL || libraw_open_file(raw, paths[i]) != 0 || libraw_unpack(raw) != 0)
            exit(3);
        libraw_close(raw);
    }
    return now_s() - from;
}

static double compare(const char *const *paths, double *exposure_s)
{
    cw_error err;
    cw_frame *reference = NULL, *test = NULL;
    static cw_photo_result result;
    const cw_photo_setup setup = {.frame_mm = 36, .reference_s = 1.0 / 30, .u_reference_relative = 0.01, .places = 5};
    double from = now_s();
    if (cw_frame_open(paths[0], &reference, &err) != CW_OK || cw_frame_open(paths[1], &test, &err) != CW_OK ||
        cw_photo_pair(reference, test, NULL, &setup, &result, &err) != CW_OK) {
        fprintf(stderr, "%s\n", err.text);
        exit(3);
    }
    cw_frame_close(reference);
    cw_frame_close(test);
    *exposure_s = result.middle_s.value;
    return now_s() - from;
}

int main(void)
{
    static const struct {
        const char *name;
        uint32_t width, height;
    } sizes[] = {{"24 MP", 6000, 4000}, {"60 MP", 9504, 6336}};
    char reference[] = "/tmp/photographs-a-XXXXXX", test[] = "/tmp/photographs-b-XXXXXX";
    close(mkstemp(reference));
    close(mkstemp(test));
    const char *const paths[] = {reference, test};
    printf("%-8s %12s %12s %8s %14s %16s\n", "frames", "unpack, s", "compare, s", "ratio", "exposure, s",
           "peak memory, MB");
    int status = 0;
    for (size_t i = 0; i < CW_COUNT(sizes); i++) {
        make_raw(reference, sizes[i].width, sizes[i].height, 6000, 1.0 / 30, 1);
        make_raw(test, sizes[i].width, sizes[i].height, 1500, 4, 2);
        double unpack_s = INFINITY, compare_s = INFINITY, exposure_s = 0;
        for (int round = 0; round < ROUNDS; round++) {
            unpack_s = fmin(unpack_s, unpack_only(paths));
            compare_s = fmin(compare_s, compare(paths, &exposure_s));
        }
        struct rusage used;
        getrusage(RUSAGE_SELF, &used);
        printf("%-8s %12.3f %12.3f %8.2f %14.6f %16.0f\n", sizes[i].name, unpack_s, compare_s, compare_s / unpack_s,
               exposure_s, (double)used.ru_maxrss / 1024);
        if (fabs(exposure_s * 120 - 1) > 0.005) {
            fprintf(stderr, "the exposure found is not 1/120 s\n");
            status = 1;
        }
    }
    unlink(reference);
    unlink(test);
    return status;
}
