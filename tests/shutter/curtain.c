/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The joint fit against curtains of known physics (truth.h), with what one to four sensors can and cannot tell. */
#include <math.h>
#include <string.h>

#include "shutter/truth.h"

static const double one[] = {18}, two[] = {4, 32}, three[] = {4, 18, 32}, four[] = {3, 13, 23, 33};

static const double dial[] = {1.0 / 15, 1.0 / 60, 1.0 / 125, 1.0 / 250, 1.0 / 500, 1.0 / 1000};

enum { SPEEDS = CW_COUNT(dial), REPEATS = 3, SHOTS = SPEEDS * REPEATS };

/* A whole test: every speed of the dial exposed as marked at the middle of the frame. */
static cw_shutter_test *fire_all(const truth_camera *camera, size_t sensors, const double *places, uint64_t seed)
{
    cw_shot shots[SHOTS];
    check_random random = {seed};
    for (size_t j = 0; j < SHOTS; j++) {
        double mark = dial[j / REPEATS];
        shots[j] = truth_fire(camera, truth_release(camera, mark), mark, 2.0 * (double)j, sensors, places,
                              seed != 0 ? &random : NULL);
    }
    cw_test_setup setup = truth_setup(sensors, places);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    return test;
}

static truth_camera lifelike(void)
{
    truth_camera camera = truth_cloth();
    camera.release_sd_s = 30e-6;
    camera.run_sd = 0.003;
    camera.noise_s = 4e-6;
    return camera;
}

static void exact_runs_come_back_exactly(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth();
    camera.second.g_mm_s2 *= 0.9;
    camera.second.x0_mm = 5;
    cw_shutter_test *test = fire_all(&camera, 4, four, 0);
    const cw_curtains *found = &test->curtains;
    assert_int_equal(found->form, CW_CURTAINS_PHYSICAL);
    assert_near(found->travel1_s.value, truth_travel(&camera.first, 36), 1e-7);
    assert_near(found->travel2_s.value, truth_travel(&camera.second, 36), 1e-7);
    assert_int_equal(found->profile_count, SPEEDS * 25);
    for (size_t i = 0; i < found->profile_count; i++) {
        const cw_profile_point *point = &found->profile[i];
        double release = truth_release(&camera, point->marked_s);
        assert_near(point->exposure_s.value, fmax(truth_exposure(&camera, release, point->x_mm), 0), 2e-7);
    }
    cw_shutter_test_free(test);
}

/* Counts how often truth lies within k = 2, over many tests. */
typedef struct {
    size_t inside, all;
} coverage;

static void count(coverage *c, cw_quantity q, double truth)
{
    c->all++;
    c->inside += fabs(q.value - truth) <= 2 * q.u;
}

static double share(coverage c)
{
    return (double)c.inside / (double)c.all;
}

static void two_u_covers_ninety_five_percent(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    coverage exposure = {0, 0}, travel = {0, 0}, profile = {0, 0}, open = {0, 0};
    double u_sum = 0;
    enum { TESTS = 120 };
    for (uint64_t seed = 1; seed <= TESTS; seed++) {
        cw_shutter_test *test = fire_all(&camera, 4, four, seed);
        for (size_t k = 0; k < test->speed_count; k++) {
            const cw_speed *speed = &test->speeds[k];
            double release = truth_release(&camera, speed->marked_s);
            count(&exposure, speed->exposure_s, speed->marked_s);
            count(&open, (cw_quantity){speed->fully_open_s, speed->u_fully_open_s},
                  truth_exposure(&camera, release, 0) - truth_travel(&camera.first, 36));
            u_sum += speed->error_ev.u;
        }
        for (size_t i = 0; i < test->curtains.profile_count; i += 6) {
            const cw_profile_point *point = &test->curtains.profile[i];
            double release = truth_release(&camera, point->marked_s);
            count(&profile, point->exposure_s, truth_exposure(&camera, release, point->x_mm));
        }
        count(&travel, test->curtains.travel1_s, truth_travel(&camera.first, 36));
        count(&travel, test->curtains.travel2_s, truth_travel(&camera.second, 36));
        cw_shutter_test_free(test);
    }
    /* 720 exposures: 95 % within three standard errors (0.8 % each), and no wider than needed */
    assert_true(share(exposure) > 0.93 && share(exposure) < 0.995);
    assert_true(share(profile) > 0.93);
    assert_true(share(open) > 0.93);
    assert_true(share(travel) > 0.92);
    assert_true(u_sum / (TESTS * SPEEDS) < 0.03);
}

static void one_place_tells_the_exposure_and_nothing_else(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    cw_shutter_test *test = fire_all(&camera, 1, one, 7);
    assert_int_equal(test->curtains.form, CW_CURTAINS_NONE);
    assert_true(isnan(test->curtains.travel1_s.value));
    assert_int_equal(test->curtains.profile_count, 0);
    assert_contains(test->curtains.told, "One place");
    for (size_t k = 0; k < test->speed_count; k++) {
        assert_true(isnan(test->speeds[k].evenness_ev));
        assert_true(isnan(test->speeds[k].fully_open_s));
        assert_true(isnan(test->speeds[k].slit_mm.value));
        assert_covers(test->speeds[k].exposure_s, test->speeds[k].marked_s, 3, 0.2 * test->speeds[k].marked_s);
    }
    cw_shutter_test_free(test);
}

static void two_places_tell_a_line_with_room_for_the_bow(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    cw_shutter_test *test = fire_all(&camera, 2, two, 11);
    assert_int_equal(test->curtains.form, CW_CURTAINS_STRAIGHT);
    assert_true(isnan(test->curtains.bow1_s.value));
    assert_true(isnan(test->curtains.drag_s.value));
    assert_contains(test->curtains.told, "straight line");
    assert_covers(test->curtains.travel1_s, 0.012, 2, 1.5e-3);
    assert_true(test->curtains.travel1_s.u > 0.3e-3);
    cw_shutter_test_free(test);
}

static void the_band_widens_beyond_the_outer_sensors(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    camera.second.brake_s = 0.6e-3; /* the curtains bow differently: only then do the forms part */
    cw_shutter_test *test = fire_all(&camera, 3, three, 5);
    const cw_profile_point *points = test->curtains.profile + 5 * 25; /* the fastest speed */
    assert_true(points[24].exposure_s.u > 1.1 * points[20].exposure_s.u);
    assert_true(points[0].exposure_s.u > 2 * points[3].exposure_s.u);
    double release = truth_release(&camera, points[0].marked_s);
    for (size_t i = 0; i < 25; i++)
        assert_covers(points[i].exposure_s, truth_exposure(&camera, release, points[i].x_mm), 3, 0.8e-3);
    cw_shutter_test_free(test);
}

/* Pulled evenly from rest against friction that grows with speed: x = (g t - g (1 - e^(-k t)) / k) / k - x0, solved for
 * t by Newton's method. */
typedef struct {
    double x0_mm, g_mm_s2, k_per_s;
} rubbing;

static double rubbing_arrival(const rubbing *edge, double x_mm)
{
    double way = x_mm + edge->x0_mm, k = edge->k_per_s, g = edge->g_mm_s2, t = sqrt(2 * way / g);
    for (int i = 0; i < 30; i++) {
        double v = g / k * (1 - exp(-k * t));
        t -= (g / k * t - v / k - way) / v;
    }
    return t;
}

/* Run-up of 1 to 12 mm, friction that leaves 60 to 100 % of the speed at the end, scaled to 11 to 15 ms over 36 mm. */
static rubbing rubbing_any(check_random *random, double x0_mm)
{
    rubbing edge = {x0_mm, 1, 1};
    double rub = 0.05 + check_uniform(random), travel = 11e-3 + 4e-3 * check_uniform(random);
    edge.k_per_s = rub / sqrt(2 * (36 + x0_mm)); /* in units of its own, in which g is 1 */
    double unit = travel / (rubbing_arrival(&edge, 36) - rubbing_arrival(&edge, 0));
    edge.k_per_s /= unit;
    edge.g_mm_s2 /= unit * unit;
    return edge;
}

/* What the band has to hold: sensors stand 0.05 or 0.2 mm off their places, the curtains rub and are not alike. */
static void the_band_holds_rubbing_curtains_and_sensors_off_their_places(void **state)
{
    (void)state;
    static const double *const places[] = {two, three, four};
    enum { TESTS = 40, CAMERAS = 3 * TESTS };
    coverage edges = {0, 0}, inside = {0, 0}, travel = {0, 0};
    check_random random = {2385};
    double z2 = 0;
    for (size_t c = 0; c < CAMERAS; c++) {
        size_t sensors = 2 + c % 3;
        double x0 = 1 + 11 * check_uniform(&random), at_mm[4];
        rubbing first = rubbing_any(&random, x0), second = first;
        double off_mm = c % 2 == 0 ? 0.05 : 0.2;
        second.g_mm_s2 *= 1 + 0.04 * check_gaussian(&random);
        second.k_per_s *= exp(0.4 * check_gaussian(&random));
        second.x0_mm *= exp(0.25 * check_gaussian(&random));
        for (size_t i = 0; i < sensors; i++)
            at_mm[i] = places[sensors - 2][i] + off_mm * check_gaussian(&random);
        cw_shot shots[SHOTS];
        double middle_s = rubbing_arrival(&second, 18) - rubbing_arrival(&first, 18);
        for (size_t j = 0; j < SHOTS; j++) {
            double mark = dial[j / REPEATS], release = mark - middle_s + 20e-6 * check_gaussian(&random);
            double run1 = 1 + 0.002 * check_gaussian(&random), run2 = 1 + 0.002 * check_gaussian(&random);
            shots[j] = truth_blank((double)j, mark);
            shots[j].sensor_count = sensors;
            for (size_t i = 0; i < sensors; i++) {
                double open = run1 * rubbing_arrival(&first, at_mm[i]) + 3e-6 * check_gaussian(&random);
                double close = release + run2 * rubbing_arrival(&second, at_mm[i]) + 3e-6 * check_gaussian(&random);
                shots[j].sensors[i] = truth_sensor(places[sensors - 2][i], (double)j + open, (double)j + close, 3e-6);
            }
        }
        cw_test_setup setup = truth_setup(sensors, places[sensors - 2]);
        setup.u_positions_mm = off_mm;
        cw_shutter_test *test = NULL;
        cw_error err;
        assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
        for (size_t i = 0; i < test->curtains.profile_count; i += 6) {
            const cw_profile_point *p = &test->curtains.profile[i];
            double truth =
                p->marked_s - middle_s + rubbing_arrival(&second, p->x_mm) - rubbing_arrival(&first, p->x_mm);
            bool edge = p->x_mm < 0.1 || p->x_mm > 35.9;
            count(edge ? &edges : &inside, p->exposure_s, fmax(truth, 0));
            z2 += edge ? pow((p->exposure_s.value - fmax(truth, 0)) / p->exposure_s.u, 2) : 0;
        }
        count(&travel, test->curtains.travel1_s, rubbing_arrival(&first, 36) - rubbing_arrival(&first, 0));
        count(&travel, test->curtains.travel2_s, rubbing_arrival(&second, 36) - rubbing_arrival(&second, 0));
        cw_shutter_test_free(test);
    }
    print_message(
        "within k = 2: %.3f at the edges, %.3f between, %.3f of the travels; rms of error over u at the edges "
        "%.2f\n",
        share(edges), share(inside), share(travel), sqrt(z2 / (double)edges.all));
    assert_true(share(edges) > 0.95 && share(inside) > 0.95 && share(travel) > 0.95);
    assert_true(z2 / (double)edges.all > 0.1); /* and not because it says nothing */
}

static void a_curtain_that_drags_is_not_forced_into_a_run_from_rest(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    camera.second.brake_s = 2.5e-3;
    cw_shutter_test *test = fire_all(&camera, 4, four, 3);
    assert_covers(test->curtains.travel1_s, truth_travel(&camera.first, 36), 3, 1e-3);
    assert_covers(test->curtains.travel2_s, truth_travel(&camera.second, 36), 3, 1e-3);
    assert_true(test->curtains.drag_s.value + 5 * test->curtains.drag_s.u < 0);
    cw_shutter_test_free(test);
}

static void one_wild_shot_does_not_bend_the_rest(void **state)
{
    (void)state;
    truth_camera camera = lifelike(), stuck = camera;
    stuck.second.brake_s = 8e-3;
    cw_shot shots[SHOTS];
    check_random random = {99};
    for (size_t j = 0; j < SHOTS; j++)
        shots[j] = truth_fire(j == 7 ? &stuck : &camera, truth_release(&camera, dial[j / REPEATS]), dial[j / REPEATS],
                              2.0 * (double)j, 3, three, &random);
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    assert_near(test->curtains.travel2_s.value, 0.012, 0.15e-3);
    assert_contains(test->curtains.told, "1 shots that ran unlike the others");
    bool said = false;
    for (size_t i = 0; i < test->finding_count; i++)
        if (strcmp(test->findings[i].code, "odd-shot") == 0) {
            said = true;
            assert_contains(test->findings[i].evidence, "shot 8");
        }
    assert_true(said);
    cw_shutter_test_free(test);
}

static void struck_incomplete_and_unplaced_are_left_out(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth(), wild = camera;
    wild.first.g_mm_s2 *= 0.25;
    cw_shot shots[6];
    for (size_t j = 0; j < 6; j++)
        shots[j] = truth_fire(j < 2 ? &wild : &camera, truth_release(&camera, 0.008), 0.008, (double)j, 3, three, NULL);
    shots[0].struck = true;
    shots[1].incomplete = true;
    for (size_t j = 0; j < 6; j++) {
        shots[j].sensors[3] = truth_sensor(NAN, (double)j, (double)j + 0.008, 1e-6); /* of unknown place */
        shots[j].sensor_count = 4;
    }
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, 6, &test, &err), &err);
    assert_int_equal(test->speeds[0].shots, 4);
    assert_int_equal(test->shot_count, 6); /* kept and shown */
    assert_near(test->curtains.travel1_s.value, 0.012, 1e-6);
    assert_near(test->speeds[0].exposure_s.value, 0.008, 1e-8);
    cw_shutter_test_free(test);
}

static void places_from_the_other_edge_are_noticed(void **state)
{
    (void)state;
    truth_camera camera = lifelike();
    camera.second.g_mm_s2 *= 0.85;
    cw_shot shots[SHOTS];
    check_random random = {4};
    for (size_t j = 0; j < SHOTS; j++) {
        shots[j] = truth_fire(&camera, truth_release(&camera, dial[j / REPEATS]), dial[j / REPEATS], 2.0 * (double)j, 3,
                              three, &random);
        for (size_t i = 0; i < 3; i++)
            shots[j].sensors[i].position_mm = 36 - three[i];
    }
    double turned[] = {32, 18, 4};
    cw_test_setup setup = truth_setup(3, turned);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, SHOTS, &test, &err), &err);
    assert_covers(test->curtains.travel1_s, 0.012, 2, 1e-3);
    assert_contains(test->curtains.told, "against the places given");
    const cw_profile_point *points = test->curtains.profile + 5 * 25;
    double release = truth_release(&camera, points[0].marked_s);
    assert_covers(points[0].exposure_s, truth_exposure(&camera, release, 36), 3, 0.3e-3); /* their 0 is our 36 */
    cw_shutter_test_free(test);
}

static void light_everywhere_at_once_is_no_curtain(void **state)
{
    (void)state;
    cw_shot shots[6];
    check_random random = {6};
    for (size_t j = 0; j < 6; j++) {
        shots[j] = truth_blank((double)j, 0.008);
        shots[j].sensor_count = 3;
        for (size_t i = 0; i < 3; i++) {
            double open = (double)j + 5e-6 * check_gaussian(&random);
            shots[j].sensors[i] = truth_sensor(three[i], open, open + 0.008, 5e-6);
        }
    }
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_ok(cw_shutter_evaluate(&setup, shots, 6, &test, &err), &err);
    assert_int_equal(test->curtains.form, CW_CURTAINS_NONE);
    assert_contains(test->curtains.told, "is it a focal-plane shutter?");
    assert_near(test->speeds[0].exposure_s.value, 0.008, 2e-5);
    assert_true(test->speeds[0].evenness_ev >= 0);
    cw_shutter_test_free(test);
}

static void what_cannot_be_evaluated_is_refused(void **state)
{
    (void)state;
    truth_camera camera = truth_cloth();
    cw_shot shot = truth_fire(&camera, 0.008, 0.008, 0, 3, three, NULL);
    cw_test_setup setup = truth_setup(3, three);
    cw_shutter_test *test = NULL;
    cw_error err;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 0, &test, &err), CW_RANGE, &err, "no shot");
    assert_fails(cw_shutter_evaluate(&setup, &shot, CW_SHOTS_MOST + 1, &test, &err), CW_RANGE, &err, "at most 4096");
    shot.sensors[1].position_mm = 47;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "47 mm, outside the frame of 36");
    shot.sensors[1].position_mm = -1;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "-1 mm, outside");
    shot.sensors[1].position_mm = 18;
    setup.frame_mm = 0;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "a frame of 0 mm");
    setup.frame_mm = 36;
    setup.u_clock_relative = NAN;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "clock uncertainty");
    setup.u_clock_relative = 0;
    shot.marked_s = NAN;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "has a marked speed");
    shot.marked_s = 0.008;
    shot.struck = true;
    assert_fails(cw_shutter_evaluate(&setup, &shot, 1, &test, &err), CW_RANGE, &err, "struck out or incomplete");
    assert_null(test);
}

CHECK_MAIN(cmocka_unit_test(exact_runs_come_back_exactly), cmocka_unit_test(two_u_covers_ninety_five_percent),
           cmocka_unit_test(one_place_tells_the_exposure_and_nothing_else),
           cmocka_unit_test(two_places_tell_a_line_with_room_for_the_bow),
           cmocka_unit_test(the_band_widens_beyond_the_outer_sensors),
           cmocka_unit_test(the_band_holds_rubbing_curtains_and_sensors_off_their_places),
           cmocka_unit_test(a_curtain_that_drags_is_not_forced_into_a_run_from_rest),
           cmocka_unit_test(one_wild_shot_does_not_bend_the_rest),
           cmocka_unit_test(struck_incomplete_and_unplaced_are_left_out),
           cmocka_unit_test(places_from_the_other_edge_are_noticed),
           cmocka_unit_test(light_everywhere_at_once_is_no_curtain),
           cmocka_unit_test(what_cannot_be_evaluated_is_refused))
