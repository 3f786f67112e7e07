/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The simulator against closed forms: uniformly accelerated motion, a viscous curtain, a trapezoid, areas of circles
 * and polygons. All of them elementary mechanics and geometry; each formula stands beside its check. */
#include "support/check.h"

#include <math.h>

#include "sim/sim.h"

static cw_sim *run(const cw_sim_scenario *s)
{
    cw_error err;
    cw_sim *sim = NULL;
    assert_ok(cw_sim_new(s, &sim, &err), &err);
    return sim;
}

static void still(cw_sim_scenario *s, double marked_s)
{
    s->focal.delay_jitter_s = s->focal.tension_jitter = s->leaf.interval_jitter = 0;
    s->speed_count = 1;
    s->speeds[0] = (cw_sim_speed){.marked_s = marked_s, .shots = 1};
}

/* t(x) = sqrt(2 (x + x0)/g): the travel over the frame, and the same exposure everywhere for equal curtains. */
static void a_curtain_from_rest_keeps_its_equation(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.00437);
    s.focal.first.acceleration_m_s2 = 171.3;
    s.focal.second.acceleration_m_s2 = 152.9;
    s.focal.second.start_mm = 5.1;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    double g1 = 171.3e3, g2 = 152.9e3;
    assert_near(t->travel1_s, sqrt(2 * 40 / g1) - sqrt(2 * 4 / g1), 1e-9);
    assert_near(t->travel2_s, sqrt(2 * 41.1 / g2) - sqrt(2 * 5.1 / g2), 1e-9);
    for (int i = 0; i < CW_SIM_PROFILE; i++) {
        double x = 36.0 * i / (CW_SIM_PROFILE - 1);
        double exposure = 0.00437 + sqrt(2 * (x + 5.1) / g2) - sqrt(2 * (x + 4) / g1);
        assert_near(t->profile_s[i], exposure, 1e-9);
    }
    assert_near(t->fully_open_s, 0.00437 + sqrt(2 * 5.1 / g2) - sqrt(2 * 40 / g1), 1e-9);
    cw_sim_free(sim);
}

static void the_acceleration_for_a_travel_gives_that_travel(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_metal_blades(&s);
    still(&s, 0.002);
    cw_sim *sim = run(&s);
    assert_near(cw_sim_truth(sim, 0)->travel1_s, 3e-3, 1e-9);
    cw_sim_free(sim);
}

/* x'' = A - k x' from rest: x = A/k (t - (1 - exp(-k t))/k). */
static void a_viscous_curtain_keeps_its_equation(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.01);
    s.focal.first.acceleration_m_s2 = 330;
    s.focal.first.drag_per_s = 83;
    cw_sim *sim = run(&s);
    double at[2];
    for (int i = 0; i < 2; i++) {
        double low = 0, high = 0.1, way = i == 0 ? 4 : 40;
        for (int k = 0; k < 60; k++) {
            double t = (low + high) / 2;
            *(330e3 / 83 * (t - (1 - exp(-83 * t)) / 83) < way ? &low : &high) = t;
        }
        at[i] = low;
    }
    assert_near(cw_sim_truth(sim, 0)->travel1_s, at[1] - at[0], 1e-9);
    cw_sim_free(sim);
}

/* x'' = A (1 - r (x + x0)/L): an oscillator of omega^2 = A r/L around a centre L/r ahead of the rest. */
static void a_spring_that_runs_down_is_an_oscillator(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.01);
    s.focal.first.acceleration_m_s2 = 210;
    s.focal.first.relaxation = 0.45;
    cw_sim *sim = run(&s);
    double omega = sqrt(210e3 * 0.45 / 40), centre = 40 / 0.45;
    double expected = (acos(1 - 40 / centre) - acos(1 - 4 / centre)) / omega;
    assert_near(cw_sim_truth(sim, 0)->travel1_s, expected, 1e-9);
    cw_sim_free(sim);
}

/* Dry friction from half way: the second half runs with A - friction from the speed reached there. */
static void dry_friction_acts_where_it_begins(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.01);
    s.focal.second.acceleration_m_s2 = 190;
    s.focal.second.friction_m_s2 = 120;
    s.focal.second.friction_from_mm = 21;
    cw_sim *sim = run(&s);
    double v = sqrt(2 * 190e3 * 25), a = 70e3, rest = (sqrt(v * v + 2 * a * 15) - v) / a;
    double expected = v / 190e3 - sqrt(2 * 4 / 190e3) + rest;
    assert_near(cw_sim_truth(sim, 0)->travel2_s, expected, 1e-9);
    cw_sim_free(sim);
}

/* What a beam sees is the mean over its width of what each of its lines sees, and no more: exposure by area is kept by
 * beam width, penumbra and shape. For t(x) concave the mean over width w differs from the middle by t'' w^2/24. */
static void a_wide_beam_sees_the_mean_of_its_lines(void **state)
{
    (void)state;
    double widths[] = {0.31, 2.3, 2.3, 1.7}, penumbras[] = {0, 0, 0.9, 2.6};
    for (int i = 0; i < 4; i++) {
        cw_sim_scenario s;
        cw_sim_focal_plane(&s);
        still(&s, 0.00113); /* the slit, near 3 mm at the first sensor, is narrower than the widest beam */
        s.focal.second.acceleration_m_s2 *= 0.9;
        s.beam.width_mm = widths[i];
        s.beam.penumbra_mm = penumbras[i];
        cw_sim *sim = run(&s);
        double g1 = 1e3 * s.focal.first.acceleration_m_s2, g2 = 1e3 * s.focal.second.acceleration_m_s2;
        for (int sensor = 0; sensor < 3; sensor++) {
            /* The profile of slit and penumbra is the convolution of two boxes: the mean over it is a double mean. */
            double sum = 0, x = s.beam.position_mm[sensor];
            enum { GRID = 400 };
            for (int a = 0; a < GRID; a++)
                for (int b = 0; b < (penumbras[i] > 0 ? GRID : 1); b++) {
                    double blur = penumbras[i] > 0 ? penumbras[i] * ((b + 0.5) / GRID - 0.5) : 0;
                    double at = x + 4 + widths[i] * ((a + 0.5) / GRID - 0.5) + blur;
                    sum += 0.00113 + sqrt(2 * at / g2) - sqrt(2 * at / g1);
                }
            double mean = sum / GRID / (penumbras[i] > 0 ? GRID : 1);
            assert_near(cw_sim_truth(sim, 0)->sensors[sensor].exposure_s, mean, 2e-8);
        }
        cw_sim_free(sim);
    }
}

/* w = v t: an edge at v crosses a beam of w in w/v, here between the instants of first light and full light. */
static void an_edge_crosses_a_beam_in_width_over_speed(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.02);
    s.beam.width_mm = 0.47;
    cw_sim *sim = run(&s);
    const cw_sim_sensor_truth *t = &cw_sim_truth(sim, 0)->sensors[1];
    double v = sqrt(2e3 * s.focal.first.acceleration_m_s2 * 22);
    double full_s = t->first_light_s;
    while (cw_sim_light(sim, 1, full_s) < 1 - 1e-12)
        full_s += 2e-8;
    assert_near(full_s - t->first_light_s, 0.47 / v, 1e-7);
    assert_near(cw_sim_light(sim, 1, t->open_s), 0.5, 1e-9);
    cw_sim_free(sim);
}

/* A disc is uncovered by (u sqrt(1-u^2) + asin u)/pi + 1/2: half way to the middle, u = -1/2, that is
 * 1/3 - sqrt(3)/(4 pi). */
static void a_round_beam_is_covered_like_a_disc(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.02);
    s.beam.width_mm = 3;
    s.beam.round = true;
    cw_sim *sim = run(&s);
    double g = 1e3 * s.focal.first.acceleration_m_s2, start = cw_sim_truth(sim, 0)->start_s;
    double when = start + sqrt(2 * (18 - 0.75 + 4) / g);
    assert_near(cw_sim_light(sim, 1, when), 1 / 3.0 - sqrt(3) / (4 * M_PI), 1e-8);
    cw_sim_free(sim);
}

/* A slit narrower than the beam: the peak is slit over width, the area still the exposure. */
static void a_narrow_slit_never_fills_the_beam(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 2e-4);
    s.beam.width_mm = 2;
    cw_sim *sim = run(&s);
    const cw_sim_sensor_truth *t = &cw_sim_truth(sim, 0)->sensors[1];
    double v = sqrt(2e3 * s.focal.first.acceleration_m_s2 * 22);
    assert_near(t->peak, 2e-4 * v / 2, 0.01);
    assert_near(t->exposure_s, 2e-4, 2e-8);
    assert_near(cw_sim_truth(sim, 0)->sensors[0].peak, 2e-4 * sqrt(2e3 * s.focal.first.acceleration_m_s2 * 8) / 2,
                0.02);
    assert_true(isnan(cw_sim_truth(sim, 0)->sensors[0].open_s)); /* not half of the full light */
    cw_sim_free(sim);
}

/* A second curtain faster than the first catches up: dark from there on. */
static void a_capped_shutter_is_dark_where_it_is_capped(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 2e-3);
    s.focal.first.acceleration_m_s2 *= 0.75;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    assert_true(t->sensors[0].exposure_s > 1e-5);
    assert_near(t->sensors[2].exposure_s, 0, 1e-15);
    assert_true(isnan(t->sensors[2].first_light_s));
    assert_near(t->profile_s[CW_SIM_PROFILE - 1], 0, 0);
    cw_sim_free(sim);
}

/* A stop that gives back 0.5 of the speed sends an undragged curtain back 0.25 of its whole way. */
static void a_rebounding_second_curtain_opens_the_end_of_the_frame_again(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.01);
    s.focal.second.restitution = 0.5;
    cw_sim *sim = run(&s);
    double back = 0.25 * 42; /* from the stop at 38 mm to 27.5 mm */
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    assert_int_equal(t->sensors[1].bounce_count, 0);
    assert_int_equal(t->sensors[2].bounce_count, 1);
    double g = 1e3 * s.focal.second.acceleration_m_s2;
    /* Back over 32 mm and home again, at the middle of the beam; the mean over its width w = 0.5 mm of a square root is
     * less by w^2/(96 z^2) of itself, z = 4.5 mm. */
    double expected = 2 * sqrt(2 * (back - 6) / g) * (1 - 0.25 / (96 * 4.5 * 4.5));
    assert_near(t->sensors[2].bounces[0].exposure_s, expected, 1e-7);
    cw_sim_free(sim);
}

/* The area of a circular opening is s^2; with s = t/T it integrates to T/3 while opening and T/3 while closing. */
static void round_blades_lose_two_thirds_of_each_flank(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_leaf_shutter(&s);
    still(&s, 0.0041);
    s.leaf.blades = 0;
    s.leaf.law = 1;
    s.leaf.opening_s = 1.3e-3;
    s.leaf.closing_s = 1.9e-3;
    s.leaf.governed_from_s = 0;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    /* interval - opening + (opening + closing)/3 = marked */
    assert_near(t->delay_s, 0.0041 + 1.3e-3 - 3.2e-3 / 3, 2e-8);
    assert_near(t->sensors[0].exposure_s, 0.0041, 2e-8);
    assert_near(t->whole_exposure_s, 0.0041, 2e-8);
    double total = t->sensors[0].last_light_s - t->sensors[0].first_light_s;
    assert_near(total, t->delay_s + 1.9e-3, 2e-7);
    /* Half of the light is at s = sqrt(1/2). */
    assert_near(t->sensors[0].open_s - t->start_s, 1.3e-3 * sqrt(0.5), 2e-7);
    assert_near(t->sensors[0].close_s - t->start_s, t->delay_s + 1.9e-3 * (1 - sqrt(0.5)), 2e-7);
    cw_sim_free(sim);
}

/* ISO 516 terms (from the definitions): a trace that opens in 1 ms, stays open 1 ms and closes in 1 ms has the total
 * time 3 ms, the effective time 2 ms and the efficiency 2/3. A focal-plane trace is one when the curtains hardly
 * accelerate over the beam: 1 m/s far from rest, a beam of 1 mm. */
static void a_trapezoid_of_three_milliseconds_is_effective_for_two(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 2e-3);
    s.focal.first.start_mm = s.focal.second.start_mm = 100;
    s.focal.first.acceleration_m_s2 = s.focal.second.acceleration_m_s2 = 1e-3 * 1000 * 1000 / (2 * 118);
    s.beam.width_mm = 1;
    cw_sim *sim = run(&s);
    const cw_sim_sensor_truth *t = &cw_sim_truth(sim, 0)->sensors[1];
    double total_s = t->last_light_s - t->first_light_s;
    assert_near(total_s, 3e-3, 1e-6);
    assert_near(t->exposure_s, 2e-3, 1e-9);
    assert_near(t->exposure_s / total_s, 0.6667, 0.0003);
    assert_near(t->close_s - t->open_s, 2e-3, 1e-8);
    cw_sim_free(sim);
}

/* A first curtain that falls back from its stop covers the end of the frame again: less exposure there, in pieces, and
 * no bounce after the shutter has closed. Undragged it comes back a quarter of its way for half of its speed. */
static void a_rebounding_first_curtain_takes_light_from_the_end(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 0.1);
    s.focal.first.restitution = 0.5;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    double g = 1e3 * s.focal.first.acceleration_m_s2;
    double covered = 2 * sqrt(2 * (10.5 - 6) / g) * (1 - 0.25 / (96 * 4.5 * 4.5));
    assert_near(t->sensors[2].exposure_s, 0.1 - covered, 1e-7);
    assert_int_equal(t->sensors[2].bounce_count, 0);
    assert_near(t->sensors[1].exposure_s, 0.1, 1e-9);
    cw_sim_free(sim);
}

/* A narrow beam at radius rho through a circle is open from s = rho: longest on the axis. */
static void a_point_beam_sees_the_open_time_of_its_radius(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_leaf_shutter(&s);
    still(&s, 0.004);
    s.leaf.blades = 0;
    s.leaf.law = 1;
    s.beam.diffuse = false;
    s.beam.width_mm = 0.05;
    s.beam.sensors = 2;
    s.beam.position_mm[0] = 2.4; /* 0.2 and 0.8 of the radius of 12 mm */
    s.beam.position_mm[1] = 9.6;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    for (int i = 0; i < 2; i++) {
        double rho = i == 0 ? 0.2 : 0.8;
        double expected = t->delay_s + 1.5e-3 * (1 - rho) - 1.5e-3 * rho;
        assert_near(t->sensors[i].exposure_s, expected, 2e-6);
    }
    cw_sim_free(sim);
}

/* star = 1, never clipped at s < cos(pi/n): a regular polygon of apothem s has the area n tan(pi/n) s^2, the disc pi.
 */
static void plain_blades_open_a_regular_polygon(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_leaf_shutter(&s);
    still(&s, 0.01);
    s.leaf.blades = 5;
    s.leaf.star = 1;
    s.leaf.law = 1;
    cw_sim *sim = run(&s);
    double start = cw_sim_truth(sim, 0)->start_s;
    for (int i = 1; i <= 8; i++) {
        double fraction = 0.1 * i; /* cos 36 degrees = 0.809 */
        double expected = 5 * tan(M_PI / 5) * fraction * fraction / M_PI;
        assert_near(cw_sim_light(sim, 0, start + 1.5e-3 * fraction), expected, 2e-6);
    }
    assert_near(cw_sim_light(sim, 0, start + 1.5e-3), 1, 1e-12);
    cw_sim_free(sim);
}

/* The star of n points with inner corners at a and tips at b has the area n a b sin(pi/n). */
static void a_star_has_the_area_of_its_triangles(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_leaf_shutter(&s);
    still(&s, 0.01);
    s.leaf.law = 1;
    s.leaf.star = 1.6;
    cw_sim *sim = run(&s);
    double fraction = 0.4, tip = 1.6 / cos(M_PI / 5);
    double expected = 5 * fraction * fraction * tip * sin(M_PI / 5) / M_PI;
    assert_near(cw_sim_light(sim, 0, cw_sim_truth(sim, 0)->start_s + 1.5e-3 * fraction), expected, 5e-6);
    cw_sim_free(sim);
}

static void fast_speeds_stop_where_the_blades_cannot_turn(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_leaf_shutter(&s);
    still(&s, 1 / 5000.0);
    s.leaf.blades = 0;
    s.leaf.law = 1;
    s.leaf.governed_from_s = 0;
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    assert_near(t->delay_s, 0.8e-3, 1e-12);
    /* Rising and falling lines meet at (interval + closing)/(1 + closing/opening): s = 2.3/3 of full. */
    assert_near(t->sensors[0].peak, pow(2.3 / 3, 2), 1e-4);
    assert_true(t->fully_open_s < 0);
    cw_sim_free(sim);
}

static void the_contact_waits_for_the_open_frame(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    still(&s, 1 / 30.0);
    s.contact =
        (cw_sim_contact){.present = true, .delay_s = 0.41e-3, .bounces = 4, .bounce_s = 0.9e-3, .hold_s = 11e-3};
    cw_sim *sim = run(&s);
    const cw_sim_shot_truth *t = cw_sim_truth(sim, 0);
    double g = 1e3 * s.focal.first.acceleration_m_s2;
    assert_near(t->contact_s[0], t->start_s + sqrt(2 * 41 / g) + 0.41e-3, 1e-8);
    assert_int_equal(t->contact_edge_count, 10);
    for (size_t i = 1; i < t->contact_edge_count; i++)
        assert_true(t->contact_s[i] > t->contact_s[i - 1]);
    assert_true(t->contact_s[8] < t->contact_s[0] + 0.9e-3);
    assert_near(t->contact_s[9], t->contact_s[0] + 11.9e-3, 1e-12);
    cw_sim_free(sim);
}

static void jitter_has_the_spread_that_was_asked_for(void **state)
{
    (void)state;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.focal.delay_jitter_s = 55e-6;
    s.focal.tension_jitter = 0;
    s.speed_count = 1;
    s.speeds[0] = (cw_sim_speed){.marked_s = 0.004, .shots = 400};
    cw_sim *sim = run(&s);
    double sum = 0, squares = 0;
    for (size_t i = 0; i < 400; i++) {
        double d = cw_sim_truth(sim, i)->delay_s - 0.004;
        sum += d;
        squares += d * d;
    }
    assert_near(sum / 400, 0, 3 * 55e-6 / 20);
    assert_near(sqrt(squares / 400), 55e-6, 3 * 55e-6 / sqrt(800));
    cw_sim_free(sim);
}

static void impossible_scenarios_are_refused_by_name(void **state)
{
    (void)state;
    cw_error err;
    cw_sim *sim = NULL;
    cw_sim_scenario s;
    cw_sim_focal_plane(&s);
    s.focal.second.friction_m_s2 = 900;
    assert_fails(cw_sim_new(&s, &sim, &err), CW_RANGE, &err, "second curtain gets to");
    cw_sim_focal_plane(&s);
    s.focal.first.start_mm = NAN;
    assert_fails(cw_sim_new(&s, &sim, &err), CW_RANGE, &err, "focal.first.start_mm is nan");
    cw_sim_focal_plane(&s);
    s.beam.position_mm[2] = 37.9;
    assert_fails(cw_sim_new(&s, &sim, &err), CW_RANGE, &err, "far side of a beam");
    cw_sim_focal_plane(&s);
    s.speeds[1].shots = 5000;
    assert_fails(cw_sim_new(&s, &sim, &err), CW_RANGE, &err, "5000 shots");
    cw_sim_leaf_shutter(&s);
    s.beam.diffuse = false;
    s.beam.width_mm = 1;
    s.beam.position_mm[0] = 13;
    assert_fails(cw_sim_new(&s, &sim, &err), CW_RANGE, &err, "misses the aperture");
    assert_null(sim);
}

CHECK_MAIN(
    cmocka_unit_test(a_curtain_from_rest_keeps_its_equation),
    cmocka_unit_test(the_acceleration_for_a_travel_gives_that_travel),
    cmocka_unit_test(a_viscous_curtain_keeps_its_equation), cmocka_unit_test(a_spring_that_runs_down_is_an_oscillator),
    cmocka_unit_test(dry_friction_acts_where_it_begins), cmocka_unit_test(a_wide_beam_sees_the_mean_of_its_lines),
    cmocka_unit_test(an_edge_crosses_a_beam_in_width_over_speed), cmocka_unit_test(a_round_beam_is_covered_like_a_disc),
    cmocka_unit_test(a_narrow_slit_never_fills_the_beam), cmocka_unit_test(a_capped_shutter_is_dark_where_it_is_capped),
    cmocka_unit_test(a_rebounding_second_curtain_opens_the_end_of_the_frame_again),
    cmocka_unit_test(round_blades_lose_two_thirds_of_each_flank),
    cmocka_unit_test(a_trapezoid_of_three_milliseconds_is_effective_for_two),
    cmocka_unit_test(a_rebounding_first_curtain_takes_light_from_the_end),
    cmocka_unit_test(a_point_beam_sees_the_open_time_of_its_radius),
    cmocka_unit_test(plain_blades_open_a_regular_polygon), cmocka_unit_test(a_star_has_the_area_of_its_triangles),
    cmocka_unit_test(fast_speeds_stop_where_the_blades_cannot_turn),
    cmocka_unit_test(the_contact_waits_for_the_open_frame), cmocka_unit_test(jitter_has_the_spread_that_was_asked_for),
    cmocka_unit_test(impossible_scenarios_are_refused_by_name))
