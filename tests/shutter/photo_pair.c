/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Synthetic photographs of a lit film gate with known truth: photon noise, four black levels, vignetting, a gate that
 * fills part of the picture. The scene is made here from the exposure equation, not by the program's code. */
#include "shutter/photo_pair.h"

#include <math.h>
#include <stdio.h> /* before jpeglib.h */

#include <jpeglib.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "dng.h"
#include "support/check.h"

enum { WIDTH = 768, HEIGHT = 512 };

typedef struct {
    double exposure_s; /* time the light falls on the digital sensor, at the middle of the gate */
    double growth;     /* relative growth of the exposure from one end of the gate to the other, to the right */
    double iso, f_number;
    double level; /* counts a second at ISO 100, f/8 */
} scene;

static double inside_gate(size_t x, size_t y)
{
    return x >= WIDTH / 8 && x < WIDTH * 7 / 8 && y >= HEIGHT / 8 && y < HEIGHT * 7 / 8 ? 1 : 0.002;
}

/* Counts above black: H S / N^2, with the panel's fall-off towards the edges. */
static double counts(const scene *s, size_t x, size_t y)
{
    double across = ((double)x / WIDTH - 0.5) / 0.75,
           from_middle = hypot((double)x / WIDTH - 0.5, (double)y / HEIGHT - 0.5);
    double light = s->level * inside_gate(x, y) * (1 - 0.5 * from_middle * from_middle);
    return light * s->exposure_s * (1 + s->growth * across) * (s->iso / 100) * (64 / (s->f_number * s->f_number));
}

static void take_raw(const char *path, const scene *s, uint64_t seed)
{
    static uint16_t pixels[WIDTH * HEIGHT];
    static const double colour[4] = {0.6, 1, 1, 0.7};
    dng_look look = {WIDTH,         HEIGHT, s->exposure_s,       s->f_number, (uint16_t)s->iso,
                     "Digital One", 15000,  {512, 514, 510, 516}};
    check_random random = {seed};
    for (size_t y = 0; y < HEIGHT; y++)
        for (size_t x = 0; x < WIDTH; x++) {
            size_t phase = y % 2 * 2 + x % 2;
            double mean = counts(s, x, y) * colour[phase];
            double value =
                (double)look.black[phase] + mean + sqrt(mean + 9) * check_gaussian(&random); /* read noise 3 */
            pixels[y * WIDTH + x] = (uint16_t)fmin(fmax(round(value), 0), look.white);
        }
    dng_write(path, &look, pixels);
}

typedef struct {
    char folder[300], reference[360], test[360];
} desk;

static desk new_desk(void)
{
    desk made;
    check_folder("photo", made.folder, sizeof made.folder);
    snprintf(made.reference, sizeof made.reference, "%s/reference.dng", made.folder);
    snprintf(made.test, sizeof made.test, "%s/test.dng", made.folder);
    return made;
}

static void clear_desk(const desk *d)
{
    unlink(d->reference);
    unlink(d->test);
    rmdir(d->folder);
}

static cw_photo_setup plain_setup(void)
{
    return (cw_photo_setup){.frame_mm = 36, .reference_s = NAN, .u_reference_relative = NAN, .places = 5};
}

static cw_status compare(const desk *d, const cw_photo_setup *setup, cw_photo_result *result, cw_error *err)
{
    cw_frame *reference = NULL, *test = NULL;
    cw_status status = cw_frame_open(d->reference, &reference, err);
    if (status == CW_OK)
        status = cw_frame_open(d->test, &test, err);
    if (status == CW_OK)
        status = cw_photo_pair(reference, test, NULL, setup, result, err);
    cw_frame_close(reference);
    cw_frame_close(test);
    return status;
}

/* 1/30 s as reference, the camera's shutter gives 1/226 s at the middle and 20 % more towards the right. */
static void the_exposure_and_its_evenness_come_out(void **state)
{
    (void)state;
    static cw_photo_result result;
    cw_error err;
    desk d = new_desk();
    scene reference = {1.0 / 30, 0, 100, 8, 200000}, test = {1.0 / 226, 0.2, 100, 8, 200000};
    take_raw(d.reference, &reference, 1);
    take_raw(d.test, &test, 2);
    cw_photo_setup setup = plain_setup();
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_covers(result.middle_s, 1.0 / 226, 2, 0.05 / 226);
    assert_near(result.middle_s.value, 1.0 / 226, 0.01 / 226); /* without what EXIF leaves open it is good to 1 % */
    assert_near(result.left, 0.125, 0.03);
    assert_near(result.bottom, 0.875, 0.04);
    assert_int_equal(result.shot.sensor_count, 5);
    for (size_t i = 0; i < 5; i++) {
        double across = ((double)i + 0.5) / 5 - 0.5;
        assert_near(result.shot.sensors[i].exposure_s.value, (1 + 0.2 * across) / 226, 0.015 / 226);
        assert_near(result.shot.sensors[i].position_mm, 36 * ((double)i + 0.5) / 5, 1e-9);
        assert_int_equal(result.shot.sensors[i].method, CW_METHOD_PHOTO);
    }
    size_t left = 16 * CW_PHOTO_COLUMNS + 8, right = 16 * CW_PHOTO_COLUMNS + 39;
    assert_near(result.evenness_ev[right] - result.evenness_ev[left], log2((1 + 0.2 * 0.43) / (1 - 0.2 * 0.43)), 0.03);
    assert_true(isnan(result.evenness_ev[0]));
    clear_desk(&d);
}

/* ISO 2720: twice the speed and a stop more aperture are four times the counts, and must cancel. */
static void speed_and_aperture_are_taken_into_account(void **state)
{
    (void)state;
    static cw_photo_result result;
    cw_error err;
    desk d = new_desk();
    scene reference = {1.0 / 30, 0, 100, 8, 100000}, test = {1.0 / 125, 0, 200, 5.656854, 100000};
    take_raw(d.reference, &reference, 3);
    take_raw(d.test, &test, 4);
    cw_photo_setup setup = plain_setup();
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_covers(result.middle_s, 1.0 / 125, 2, 0.08 / 125);
    assert_near(result.middle_s.value, 1.0 / 125, 0.015 / 125);
    assert_true(result.warning_count >= 2);
    assert_contains(result.warnings[0], "ISO 100 and 200");
    setup.reference_s = 1.0 / 60; /* what the person knows goes before EXIF */
    setup.u_reference_relative = 0.02;
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_near(result.middle_s.value, 0.5 / 125, 0.01 / 125);
    clear_desk(&d);
}

static void the_travel_runs_the_way_it_is_said(void **state)
{
    (void)state;
    static cw_photo_result result;
    cw_error err;
    desk d = new_desk();
    scene reference = {1.0 / 30, 0, 100, 8, 200000}, test = {1.0 / 60, 0.3, 100, 8, 200000};
    take_raw(d.reference, &reference, 5);
    take_raw(d.test, &test, 6);
    cw_photo_setup setup = plain_setup();
    setup.travel = CW_TRAVEL_LEFT;
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_true(result.shot.sensors[0].exposure_s.value > 1.1 * result.shot.sensors[4].exposure_s.value);
    setup.travel = CW_TRAVEL_DOWN;
    setup.frame_mm = 24;
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_near(result.shot.sensors[0].exposure_s.value, result.shot.sensors[4].exposure_s.value, 0.01 / 60);
    clear_desk(&d);
}

static void pairs_that_tell_nothing_are_refused(void **state)
{
    (void)state;
    static cw_photo_result result;
    cw_error err;
    desk d = new_desk();
    scene bright = {1.0 / 30, 0, 100, 8, 200000}, dark = {1.0 / 30, 0, 100, 8, 100}, burnt = {1, 0, 100, 8, 200000};
    cw_photo_setup setup = plain_setup();
    take_raw(d.test, &bright, 7);
    take_raw(d.reference, &dark, 8);
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "reference photograph is dark");
    take_raw(d.reference, &bright, 9);
    take_raw(d.test, &burnt, 10);
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "clipped; expose less");
    take_raw(d.test, &bright, 11);
    setup.left = 0.4;
    setup.right = 0.3;
    assert_fails(compare(&d, &setup, &result, &err), CW_RANGE, &err, "film gate from 0.4 to 0.3");
    setup = plain_setup();
    setup.frame_mm = 1;
    assert_fails(compare(&d, &setup, &result, &err), CW_RANGE, &err, "1 mm");
    FILE *text = fopen(d.test, "w");
    fputs("this is no photograph\n", text);
    fclose(text);
    setup = plain_setup();
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "neither a JPEG nor a raw photograph");
    assert_int_equal(truncate(d.reference, 3000), 0);
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "raw photograph");
    clear_desk(&d);
}

/* Inverse of the transfer of IEC 61966-2-1, rounded to 8 bits. */
static uint8_t srgb(double linear)
{
    double v = linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1 / 2.4) - 0.055;
    return (uint8_t)lrint(255 * fmin(fmax(v, 0), 1));
}

static void take_jpeg(const char *path, const scene *s)
{
    static uint8_t row[WIDTH * 3];
    struct jpeg_compress_struct info;
    struct jpeg_error_mgr manager;
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    info.err = jpeg_std_error(&manager);
    jpeg_create_compress(&info);
    jpeg_stdio_dest(&info, file);
    info.image_width = WIDTH;
    info.image_height = HEIGHT;
    info.input_components = 3;
    info.in_color_space = JCS_RGB;
    jpeg_set_defaults(&info);
    jpeg_set_quality(&info, 95, TRUE);
    jpeg_start_compress(&info, TRUE);
    for (size_t y = 0; y < HEIGHT; y++) {
        for (size_t x = 0; x < WIDTH; x++)
            memset(row + 3 * x, srgb(counts(s, x, y) / 15000), 3);
        JSAMPROW rows[1] = {row};
        jpeg_write_scanlines(&info, rows, 1);
    }
    jpeg_finish_compress(&info);
    jpeg_destroy_compress(&info);
    fclose(file);
}

static void a_jpeg_says_less_and_says_so(void **state)
{
    (void)state;
    static cw_photo_result result;
    cw_error err;
    desk d = new_desk();
    scene reference = {1.0 / 30, 0, 100, 8, 300000}, test = {1.0 / 60, 0, 100, 8, 300000};
    take_jpeg(d.reference, &reference);
    take_jpeg(d.test, &test);
    cw_photo_setup setup = plain_setup();
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "does not say how long");
    setup.reference_s = 1.0 / 30;
    assert_ok(compare(&d, &setup, &result, &err), &err);
    assert_covers(result.middle_s, 1.0 / 60, 2, 0.3 / 60);
    assert_true(result.middle_s.u > 0.15 / 60); /* a stop between the frames: a fifth is in doubt */
    assert_contains(result.warnings[result.warning_count - 1], "tone curve is not known");
    assert_int_equal(truncate(d.test, 5000), 0);
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "damaged or cut off");
    take_raw(d.test, &test, 12);
    assert_fails(compare(&d, &setup, &result, &err), CW_INPUT, &err, "one photograph is raw");
    clear_desk(&d);
}

CHECK_MAIN(cmocka_unit_test(the_exposure_and_its_evenness_come_out),
           cmocka_unit_test(speed_and_aperture_are_taken_into_account),
           cmocka_unit_test(the_travel_runs_the_way_it_is_said), cmocka_unit_test(pairs_that_tell_nothing_are_refused),
           cmocka_unit_test(a_jpeg_says_less_and_says_so))
