/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Focus, rangefinder, helicoid, radii, magnifiers against printed examples and against their own laws. */
#include "optics/focus.h"

#include "optics/bench_glass.h"
#include "optics/helicoid.h"
#include "optics/rangefinder.h"
#include "optics/support.h"

/* US Army lesson SS0507, learning event 10 (armycommunications.tpub.com): f 2 in, f/8, circle 0.002 in: hyperfocal 20.8
 * ft, near limit focused there 10.4 ft. The lesson leaves the one focal length out. */
static void hyperfocal_of_the_army_lesson(void **state)
{
    (void)state;
    cw_depth_of_field d;
    cw_error err;
    double inch = 25.4, foot = 0.3048;
    assert_ok(cw_depth_of_field_m(2 * inch, 8, 0.002 * inch, 20.83 * foot, &d, &err), &err);
    assert_near(d.hyperfocal_short_m / foot, 20.83, 0.005);
    assert_near(d.near_m / foot, 10.4, 0.06);
    /* textbook formula with the focal length in: 50 mm, f/8, 0.03: 10.467 m; focused there, near is half of it */
    assert_ok(cw_depth_of_field_m(50, 8, 0.03, 10.467, &d, &err), &err);
    assert_near(d.hyperfocal_m, 10.467, 0.0005);
    assert_near(d.near_m, 10.467 / 2, 0.005);
    assert_ok(cw_depth_of_field_m(50, 8, 0.03, d.hyperfocal_m, &d, &err), &err);
    assert_true(isinf(d.far_m));
}

/* W. J. Smith, Modern Optical Engineering, eq. 9.9 and 9.10: D_near = f D (A + B)/(f A - D B), D_far = f D (A - B)/(f A
 * + D B), D negative, A the pupil, B the blur on the film; written down here as printed and compared. */
static void depth_of_field_is_that_of_smith(void **state)
{
    (void)state;
    check_random random = {961};
    for (int i = 0; i < 200; i++) {
        double f = 20 + 180 * check_uniform(&random), number = 1.4 + 20 * check_uniform(&random), b = 0.03;
        double d = -(1000 + 9000 * check_uniform(&random)), a = f / number;
        double near = f * d * (a + b) / (f * a - d * b), far = f * d * (a - b) / (f * a + d * b);
        cw_depth_of_field mine;
        cw_error err;
        assert_ok(cw_depth_of_field_m(f, number, b, -d / 1000, &mine, &err), &err);
        /* Smith refers the blur to an image at the focal length; against the exact thin lens that is up to b/a in the
         * near limit, and fB/(fA + DB) in the far one */
        assert_near(mine.near_m * 1000 / -near, 1, 1.01 * b / a);
        assert_true(mine.near_m * 1000 < -near);
        assert_int_equal(isinf(mine.far_m) != 0, f * a + d * b <= -f * b);
        if (isfinite(mine.far_m) && far < 0)
            assert_near(mine.far_m * 1000 / -far, 1, 1.01 * (b / a + f * b / (f * a + d * b)));
    }
}

/* Smith eq. 9.8 recomputed: 0.03 at f/2.8: 0.084 mm. Newton: x x' = f^2, 50 mm, 1 m from the front focus: 2.5 mm. */
static void image_distances_and_depth_of_focus(void **state)
{
    (void)state;
    double v, from_film, back;
    cw_error err;
    assert_near(cw_depth_of_focus_mm(2.8, 0.03), 0.084, 1e-12);
    assert_near(cw_blur_mm(-0.084, 2.8), 0.03, 1e-12);
    assert_ok(cw_image_distance_mm(50, 1.050, &v, &err), &err);
    assert_near(v - 50, 2.5, 1e-12);
    assert_ok(cw_image_distance_from_film_mm(50, 1.050 + v / 1000, &from_film, &err), &err);
    assert_near(from_film, v, 1e-9);
    assert_ok(cw_subject_distance_m(50, v, &back, &err), &err);
    assert_near(back, 1.050, 1e-12);
    assert_ok(cw_image_distance_mm(50, INFINITY, &v, &err), &err);
    assert_near(v, 50, 0);
    assert_near(cw_glass_shift_mm(3, 1.5), 1, 1e-12); /* a third of the thickness at n = 1.5 */
    assert_fails(cw_image_distance_mm(50, 0.04, &v, &err), CW_RANGE, &err, "inside the focal length");
    assert_fails(cw_image_distance_from_film_mm(50, 0.19, &v, &err), CW_RANGE, &err, "four focal lengths");
    assert_fails(cw_image_distance_mm(0, 3, &v, &err), CW_RANGE, &err, "above zero");
    assert_fails(cw_subject_distance_m(50, 49.9, &back, &err), CW_RANGE, &err, "nearer the film than infinity");
    /* as good as infinity to a quarter of the depth of focus at f/2: the image is off by exactly that */
    double d = cw_infinity_distance_m(50, 2, 0.03, 0.25);
    assert_ok(cw_image_distance_mm(50, d, &v, &err), &err);
    assert_near(v - 50, 0.25 * 2 * 0.03, 1e-9);
}

/* The definition, register error = v(marked) - v(true), with u against Monte Carlo. */
static void register_error_and_its_uncertainty(void **state)
{
    (void)state;
    cw_focus_reading r = {50, 0.01, 3, 0.02, 3.4, 0.03, 0.015, true}, drawn = r;
    cw_quantity e, one;
    cw_error err;
    assert_ok(cw_register_error_mm(&r, &e, &err), &err);
    double a, b, squares = 0;
    assert_ok(cw_image_distance_from_film_mm(50, 3, &a, &err), &err);
    assert_ok(cw_image_distance_from_film_mm(50, 3.4, &b, &err), &err);
    assert_near(e.value, a - b, 1e-12);
    assert_true(e.value > 0.1); /* focuses beyond its mark: it sits too near the film, a shim goes in */
    check_random random = {31};
    enum { TRIALS = 3000 };
    for (int i = 0; i < TRIALS; i++) {
        drawn.focal_mm = 50 * (1 + 0.01 * check_gaussian(&random));
        drawn.marked_m = 3 + 0.02 * check_gaussian(&random);
        drawn.true_m = 3.4 + 0.03 * check_gaussian(&random);
        assert_ok(cw_register_error_mm(&drawn, &one, &err), &err);
        double x = one.value + 0.015 * check_gaussian(&random) - e.value;
        squares += x * x;
    }
    assert_near(sqrt(squares / TRIALS), e.u, 0.06 * e.u);
    r.marked_m = r.true_m = INFINITY;
    assert_ok(cw_register_error_mm(&r, &e, &err), &err);
    assert_near(e.value, 0, 0);
    assert_near(e.u, 0.015, 1e-12);
}

/* Pairs made with a known alpha and beta and reading noise: the truth lies within the stated uncertainty. */
static void rangefinder_adjusters_are_found(void **state)
{
    (void)state;
    static const double at[] = {INFINITY, 8, 4, 2.2, 1.3, 0.9};
    check_random random = {77};
    int covered = 0, runs = 400;
    for (int run = 0; run < runs; run++) {
        cw_range_pair pairs[CW_COUNT(at)];
        for (size_t i = 0; i < CW_COUNT(at); i++) {
            double x = isinf(at[i]) ? 0 : 1 / at[i];
            pairs[i] = (cw_range_pair){at[i], 1 / (0.043 + 0.978 * x + 0.004 * check_gaussian(&random))};
        }
        cw_rangefinder fit;
        cw_error err;
        assert_ok(cw_rangefinder_fit(CW_COUNT(at), pairs, NAN, &fit, &err), &err);
        /* four degrees of freedom: Student's t 2.776 (JCGM 100, table G.2) */
        covered += fabs(fit.alpha_per_m.value - 0.043) < 2.776 * fit.alpha_per_m.u;
        assert_near(fit.beta.value, 0.978, 0.06);
        assert_true(fit.correlation < 0 && fit.correlation > -1);
    }
    assert_true(covered > runs * 91 / 100 && covered < runs * 99 / 100);
    cw_range_pair two[] = {{INFINITY, 20}, {1, 1.1}};
    cw_rangefinder fit;
    cw_error err;
    assert_ok(cw_rangefinder_fit(2, two, 0.01, &fit, &err), &err);
    assert_near(fit.alpha_per_m.value, 0.05, 1e-12);
    assert_near(fit.beta.value, 1 / 1.1 - 0.05, 1e-12);
    assert_near(fit.alpha_per_m.u, 0.01, 1e-12); /* the far reading alone sets it */
    assert_fails(cw_rangefinder_fit(2, two, NAN, &fit, &err), CW_RANGE, &err, "third pair");
    cw_range_pair same[] = {{2, 2}, {2, 2.1}, {2, 1.9}};
    assert_fails(cw_rangefinder_fit(3, same, NAN, &fit, &err), CW_RANGE, &err, "one far and one near");
    two[0].true_m = 0;
    assert_fails(cw_rangefinder_fit(2, two, 0.01, &fit, &err), CW_RANGE, &err, "above zero");
}

static void range_defocus_is_the_difference_of_images(void **state)
{
    (void)state;
    double a, b, defocus;
    cw_error err;
    assert_ok(cw_image_distance_mm(85, 1.9, &a, &err), &err);
    assert_ok(cw_image_distance_mm(85, 2.0, &b, &err), &err);
    assert_ok(cw_range_defocus_mm(85, 1 / 2.0, 1 / 1.9, &defocus, &err), &err);
    assert_near(defocus, a - b, 1e-9);
    assert_fails(cw_range_defocus_mm(85, 0.5, 12, &defocus, &err), CW_RANGE, &err, "inside the focal length");
    /* a base just as long as needed leaves exactly the depth of focus */
    double base = cw_base_needed_mm(50, 1.5, 0.03, 2.9e-4), left;
    assert_ok(cw_range_defocus_mm(50, 0, 2.9e-4 / (base / 1000), &left, &err), &err);
    assert_near(left, 1.5 * 0.03, 0.001);
    assert_near(cw_effective_base_mm(40, 0.6), 24, 1e-12);
}

static void helicoid_start_is_found_and_the_way_told(void **state)
{
    (void)state;
    cw_helicoid thread = {30, 6, false};
    cw_helicoid_start s;
    cw_error err;
    char words[300];
    assert_ok(cw_helicoid_find_start(&thread, (cw_quantity){10.3, 0.1}, &s, &err), &err);
    assert_near(s.pitch_mm, 5, 1e-12);
    assert_int_equal(s.starts_off, 2);
    assert_near(s.left_mm.value, 0.3, 1e-12);
    assert_true(s.chance_wrong < 1e-6);
    cw_helicoid_advice(&thread, &s, words, sizeof words);
    assert_contains(words, "2 starts (120.0 degrees) further counter-clockwise");
    assert_contains(words, "10.00 mm deeper");
    /* by turning: 120 degrees of this thread move 10 mm, which is what the two starts were worth */
    assert_near(cw_helicoid_travel_mm(&thread, 120), 10, 1e-12);
    assert_near(cw_helicoid_angle_deg(&thread, 10), 120, 1e-12);
    thread.left_hand = true;
    cw_helicoid_advice(&thread, &s, words, sizeof words);
    assert_contains(words, "further clockwise");
    assert_ok(cw_helicoid_find_start(&thread, (cw_quantity){-2.4, 0.2}, &s, &err), &err);
    assert_int_equal(s.starts_off, 0);
    assert_true(s.chance_wrong > 0.2); /* 2.4 of 2.5: it may as well be the neighbour */
    assert_fails(cw_helicoid_find_start(&thread, (cw_quantity){25, 0.2}, &s, &err), CW_RANGE, &err, "half the lead");
    thread.starts = 0;
    assert_fails(cw_helicoid_find_start(&thread, (cw_quantity){1, 0.2}, &s, &err), CW_RANGE, &err, "1 to 64");
}

/* A ball of known radius under the instrument, by plain geometry: feet and middle lie on concentric spheres. */
static void spherometer_finds_the_ball(void **state)
{
    (void)state;
    double radius = 38.72, circle = 12.5, ball = 1.5;
    cw_quantity found, zero = {0, 0};
    cw_error err;
    double convex = (radius + ball) - sqrt((radius + ball) * (radius + ball) - circle * circle);
    double hollow = (radius - ball) - sqrt((radius - ball) * (radius - ball) - circle * circle);
    assert_ok(cw_radius_by_spherometer((cw_quantity){circle, 0.01}, (cw_quantity){convex, 0.005},
                                       (cw_quantity){ball, 0}, true, &found, &err),
              &err);
    assert_near(found.value, radius, 1e-9);
    assert_ok(cw_radius_by_spherometer((cw_quantity){circle, 0.01}, (cw_quantity){hollow, 0.005},
                                       (cw_quantity){ball, 0}, false, &found, &err),
              &err);
    assert_near(found.value, radius, 1e-9);
    /* u by finite differences */
    cw_quantity a, b;
    assert_ok(cw_radius_by_spherometer((cw_quantity){circle, 0}, (cw_quantity){hollow + 0.005, 0},
                                       (cw_quantity){ball, 0}, false, &a, &err),
              &err);
    assert_ok(cw_radius_by_spherometer((cw_quantity){circle + 0.01, 0}, (cw_quantity){hollow, 0},
                                       (cw_quantity){ball, 0}, false, &b, &err),
              &err);
    assert_near(found.u, hypot(a.value - radius, b.value - radius), 2e-3 * found.u + 1e-3);
    assert_ok(cw_radius_by_chord((cw_quantity){20, 0.02}, (cw_quantity){50 - sqrt(2500 - 100), 0.01}, &found, &err),
              &err);
    assert_near(found.value, 50, 1e-9);
    assert_near(cw_foot_circle_mm((cw_quantity){30, 0}).value, 30 / sqrt(3), 1e-12);
    assert_fails(cw_radius_by_chord((cw_quantity){20, 0}, zero, &found, &err), CW_RANGE, &err, "plane has no radius");
    assert_fails(cw_radius_by_chord((cw_quantity){20, 0}, (cw_quantity){11, 0}, &found, &err), CW_RANGE, &err,
                 "half a ball");
}

/* Serway and Faughn, College Physics, ex. 25.3: f 10 cm: 3.50 at the near point, 2.50 relaxed (25 cm). */
static void magnifiers_are_those_of_the_textbook(void **state)
{
    (void)state;
    cw_magnifier m;
    cw_error err;
    double ten[] = {10}, stack[] = {3, 2.5}, nothing[] = {2, -3};
    assert_ok(cw_stack_glasses(1, ten, 0, 63, &m, &err), &err);
    assert_near(m.near_point, 3.50, 1e-12);
    assert_near(m.relaxed, 2.50, 1e-12);
    assert_near(m.working_distance_m, 0.1, 1e-12);
    assert_ok(cw_stack_glasses(2, stack, 0, 63, &m, &err), &err);
    assert_near(m.power_per_m, 5.5, 1e-12); /* powers add */
    /* 20 mm apart: P1 + P2 - d P1 P2 */
    assert_ok(cw_stack_glasses(2, stack, 20, 63, &m, &err), &err);
    assert_near(m.power_per_m, 5.5 - 0.02 * 7.5, 1e-12);
    /* from the front pair to where the light of the eye would meet: the one behind alone images at 400 mm, so 380 mm
     * behind the front pair, and 1/(1/0.38 + 3) m before it */
    assert_near(m.working_distance_m, 1 / (1 / 0.38 + 3), 1e-12);
    assert_fails(cw_stack_glasses(2, nothing, 0, 63, &m, &err), CW_RANGE, &err, "no magnifier");
    assert_fails(cw_stack_glasses(0, ten, 0, 63, &m, &err), CW_RANGE, &err, "at least one");
}

static void grit_steps_never_jump_too_far(void **state)
{
    (void)state;
    size_t count, steps, at[32];
    const cw_grit *all = cw_grits(&count);
    cw_error err;
    for (size_t from = 0; from < count; from++)
        for (size_t to = from; to < count; to++) {
            assert_ok(cw_grit_steps(from, to, at, &steps, &err), &err);
            assert_int_equal(at[0], from);
            assert_int_equal(at[steps - 1], to);
            for (size_t i = 1; i < steps; i++)
                assert_true(all[at[i]].grain_um >= 0.4 * all[at[i - 1]].grain_um);
        }
    assert_fails(cw_grit_steps(3, 1, at, &steps, &err), CW_RANGE, &err, "finer");
}

/* The trade table named in bench_glass.c. */
static void registers_are_those_of_the_table(void **state)
{
    (void)state;
    size_t count;
    const cw_mount *m = cw_mounts(&count);
    double m42 = 0, screw = 0, k = 1;
    for (size_t i = 0; i < count; i++) {
        m42 = strcmp(m[i].key, "m42") == 0 ? m[i].register_mm : m42;
        k = strcmp(m[i].key, "k-mount") == 0 ? m[i].register_mm : k;
        screw = strcmp(m[i].key, "m39x26tpi") == 0 ? m[i].register_mm : screw;
        assert_true(m[i].register_mm > 15 && m[i].register_mm < 80 && m[i].source[0] != '\0');
    }
    assert_near(m42, 45.46, 0);
    assert_near(k, m42, 0);
    assert_near(screw, 28.80, 0);
}

CHECK_MAIN(cmocka_unit_test(hyperfocal_of_the_army_lesson), cmocka_unit_test(depth_of_field_is_that_of_smith),
           cmocka_unit_test(image_distances_and_depth_of_focus), cmocka_unit_test(register_error_and_its_uncertainty),
           cmocka_unit_test(rangefinder_adjusters_are_found),
           cmocka_unit_test(range_defocus_is_the_difference_of_images),
           cmocka_unit_test(helicoid_start_is_found_and_the_way_told), cmocka_unit_test(spherometer_finds_the_ball),
           cmocka_unit_test(magnifiers_are_those_of_the_textbook), cmocka_unit_test(grit_steps_never_jump_too_far),
           cmocka_unit_test(registers_are_those_of_the_table))
