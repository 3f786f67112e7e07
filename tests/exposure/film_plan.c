/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/film_plan.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

static const double marks[] = {1, 0.5, 0.25, 0.125, 1.0 / 15, 1.0 / 30, 1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500};

static cw_plan_need need(void)
{
    return (cw_plan_need){.mended = CW_MENDED_ALL,
                          .frames = 36,
                          .film_speed = 100,
                          .light_ev = 15,
                          .f_number_wide = 2.8,
                          .f_number_small = 22,
                          .focal_m = 45e-3,
                          .nearest_m = 0.8,
                          .blur_m = 0.03e-3,
                          .marks_s = marks,
                          .mark_count = CW_COUNT(marks)};
}

/* US Army lesson SS0507, learning event 10 (armycommunications.tpub.com): f 2 in, N 8, c 0.002 in: hyperfocal 20.8 ft,
 * near limit there 10.4 ft. Smith, Modern Optical Engineering, eq. 9.9 to 9.11. */
static void depth_of_field_of_an_army_lesson(void **state)
{
    (void)state;
    double hyper = 20.833 * 12 * 0.0254, near, far;
    cw_depth_of_field(2 * 0.0254, 8, 0.002 * 0.0254, INFINITY, &near, &far);
    assert_near(near / 0.3048, 20.8, 0.05);
    cw_depth_of_field(2 * 0.0254, 8, 0.002 * 0.0254, hyper, &near, &far);
    assert_near(near / 0.3048, 10.4, 0.11); /* the lesson halves H and leaves f out of it, 0.8 % */
    assert_true(far > 500);                 /* H by the lesson is f short of the lens's own */
    /* Smith, eq. 9.9 and 9.10, from his formula: alike but for the blur over the pupil, here 1/125 */
    double f = 2 * 0.0254, A = f / 8, B = 0.002 * 0.0254, D = -3;
    cw_depth_of_field(f, 8, B, -D, &near, &far);
    assert_near(near, -f * D * (A + B) / (f * A - D * B), B / A * near);
    assert_near(far, -f * D * (A - B) / (f * A + D * B), 2 * B / A * far);
    cw_depth_of_field(50e-3, 2.8, 0.03e-3, 1.0, &near, &far);
    assert_true(near < 1.0 && far > 1.0);
    assert_near(1 / near - 1, 1 - 1 / far, 0.01); /* alike in dioptres */
}

/* "Sunny 16" (common practice, no source): EV 15, f/16 at 1/125 for ISO 125; here ISO 100. Every daylight frame keeps
 * the light within what the aperture ring can do. */
static void a_plan_shows_each_thing_that_was_mended(void **state)
{
    (void)state;
    cw_plan_need n = need();
    cw_plan plan;
    cw_error err;
    assert_ok(cw_film_plan(&n, &plan, &err), &err);
    assert_int_equal(plan.dropped, 0);
    assert_int_equal(plan.frame_count + plan.left_over, 36);
    static const char *const words[] = {"speeds", "infinity",  "nearest", "meter", "aperture",
                                        "seals",  "transport", "flash",   "lens"};
    for (size_t w = 0; w < CW_COUNT(words); w++) {
        size_t hits = 0;
        for (size_t i = 0; i < plan.frame_count; i++)
            hits += strstr(plan.frames[i].proves, words[w]) != NULL;
        assert_true(hits >= 1);
    }
    for (size_t i = 0; i < plan.frame_count; i++) {
        const cw_plan_frame *f = &plan.frames[i];
        assert_int_equal(f->number, i + 1);
        assert_true(f->look_for[0] != '\0' && strlen(f->look_for) < CW_PLAN_WORDS - 1);
        if (isnan(f->error_ev))
            continue;
        /* by the exposure equation, not by the planner's function */
        assert_near(f->error_ev, 15 - log2(f->aperture * f->aperture / f->time_s), 1e-9);
        assert_near(f->wants_ev + f->error_ev, 15, 1e-9);
        assert_true(f->aperture >= 2.8 - 1e-9 && f->aperture <= 22 + 1e-9);
        if (strstr(f->proves, "speeds") != NULL && f->time_s > 0.9 / 250 && f->time_s < 1.1 / 125)
            assert_true(fabs(f->error_ev) <= 0.26 || f->aperture < 3);
        if (strstr(f->proves, "wide open") != NULL)
            assert_near(f->aperture, 2.8, 1e-9);
        if (!isnan(f->near_m))
            assert_true(f->near_m <= f->distance_m && (f->far_m >= f->distance_m));
    }
}

/* Diameter of the blur on the film of a point at d when the lens is set for `set`: thin lens and similar triangles
 * (Hecht, Optics, 5th ed., ch. 5 and 6), not the formula under test. */
static double blur_of(double focal_m, double aperture, double set_m, double d_m)
{
    double film = isinf(set_m) ? focal_m : focal_m * set_m / (set_m - focal_m);
    double image = isinf(d_m) ? focal_m : focal_m * d_m / (d_m - focal_m);
    return focal_m / aperture * fabs(image - film) / image;
}

/* At both ends of what a planned frame calls sharp, the blur is the circle of confusion; nearer and farther it is more.
 */
static void planned_frames_are_sharp_as_far_as_they_say(void **state)
{
    (void)state;
    cw_plan_need n = need();
    cw_plan plan;
    cw_error err;
    size_t tested = 0;
    assert_ok(cw_film_plan(&n, &plan, &err), &err);
    for (size_t i = 0; i < plan.frame_count; i++) {
        const cw_plan_frame *f = &plan.frames[i];
        if (isnan(f->near_m))
            continue;
        tested++;
        assert_int_equal(f->shows, CW_MENDED_FOCUS);
        assert_near(blur_of(n.focal_m, f->aperture, f->distance_m, f->near_m), n.blur_m, 1e-9 * n.blur_m);
        if (isfinite(f->far_m))
            assert_near(blur_of(n.focal_m, f->aperture, f->distance_m, f->far_m), n.blur_m, 1e-9 * n.blur_m);
        assert_true(blur_of(n.focal_m, f->aperture, f->distance_m, 0.9 * f->near_m) > n.blur_m);
    }
    assert_true(tested >= 2);
}

static void a_short_roll_says_what_it_leaves_out(void **state)
{
    (void)state;
    cw_plan_need n = need();
    n.frames = 8;
    cw_plan plan;
    cw_error err;
    assert_ok(cw_film_plan(&n, &plan, &err), &err);
    assert_int_equal(plan.frame_count, 8);
    assert_true(plan.dropped > 10);
    n.mended = CW_MENDED_TRANSPORT;
    assert_ok(cw_film_plan(&n, &plan, &err), &err);
    assert_int_equal(plan.frame_count, 1);
    assert_int_equal(plan.left_over, 7);
    n.mended = 0;
    assert_fails(cw_film_plan(&n, &plan, &err), CW_RANGE, &err, "nothing is marked as mended");
    n = need();
    n.mark_count = 0;
    assert_fails(cw_film_plan(&n, &plan, &err), CW_RANGE, &err, "0 marked speeds");
    n = need();
    n.f_number_small = 2;
    assert_fails(cw_film_plan(&n, &plan, &err), CW_RANGE, &err, "smallest aperture 2");
    n = need();
    n.nearest_m = 0.05;
    assert_fails(cw_film_plan(&n, &plan, &err), CW_RANGE, &err, "nearest distance 0.05 m");
}

CHECK_MAIN(cmocka_unit_test(depth_of_field_of_an_army_lesson),
           cmocka_unit_test(planned_frames_are_sharp_as_far_as_they_say),
           cmocka_unit_test(a_plan_shows_each_thing_that_was_mended),
           cmocka_unit_test(a_short_roll_says_what_it_leaves_out))
