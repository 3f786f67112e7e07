/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Light that comes again belongs to itself and not to the shot before it: blades that fall back open a little, at once
 * and faintly, and a second curtain that is thrown back. Both are ballistic: out at the speed of rebound, back under
 * the pull of the spring. */
#include <math.h>
#include <stdlib.h>

#include "shutter/measure.h"
#include "support/check.h"
#include "support/samples.h"

static const double RATE_HZ = 96000;
enum { FRAMES = 96000, FINE = 8 };

/* Opening of blades driven evenly in `way_s`, shut again from `close_from_s` on, thrown back with `restitution`. */
static double blades(double t, double close_from_s, double way_s, double restitution)
{
    double fall = t - close_from_s, again = fall - way_s, speed = 2 * restitution / way_s;
    if (t < 0)
        return 0;
    if (fall < 0)
        return fmin(t * t / (way_s * way_s), 1);
    if (again < 0)
        return 1 - fall * fall / (way_s * way_s);
    return fmax(speed * again - again * again / (way_s * way_s), 0);
}

/* The blades overlap: the first tenth of their way lets no light through. Area goes with the square of the opening. */
static double through(double opening)
{
    double bare = fmax(opening - 0.1, 0) / 0.9;
    return bare * bare;
}

static cw_measurement *measure_of(float *values, size_t channels, cw_shutter_kind kind)
{
    cw_error err;
    cw_source *source;
    cw_measurement *m;
    cw_measure_setup setup = {.kind = kind, .beam = CW_BEAM_DIFFUSE};
    assert_ok(samples_source(values, channels, FRAMES, RATE_HZ, &source, &err), &err);
    assert_ok(cw_measure(source, &setup, &m, &err), &err);
    cw_source_close(source);
    return m;
}

/* A slow shot for the level and a fast one; blades 1.5 ms open or shut, rebound at 0.45 of their speed, which lets 1.6
 * % of the light through for 0.5 ms: 5 us, less than the eye makes out in the trace. */
static void a_faint_bounce_of_the_blades_is_not_the_shots_light(void **state)
{
    (void)state;
    static const double at_s[] = {0.2, 0.6}, hold_s[] = {0.030, 0.0025};
    const double way_s = 1.5e-3, restitution = 0.45;
    float *values = malloc(FRAMES * sizeof *values);
    check_random random = {.state = 2385};
    double shot_s[2] = {0}, bounce_s = 0;
    for (int i = 0; i < FRAMES; i++) {
        double light = 0;
        for (int f = 0; f < FINE; f++)
            for (int k = 0; k < 2; k++) {
                double t = (i + (double)f / FINE) / RATE_HZ - at_s[k];
                double now = through(blades(t, hold_s[k], way_s, restitution)) / FINE;
                light += now;
                if (t < hold_s[k] + way_s)
                    shot_s[k] += now / RATE_HZ;
                else if (k == 1)
                    bounce_s += now / RATE_HZ;
            }
        values[i] = (float)(0.6 * light + 0.0005 * check_gaussian(&random));
    }
    assert_true(bounce_s > 3e-6 && bounce_s < 10e-6);
    cw_measurement *m = measure_of(values, 1, CW_SHUTTER_LEAF);
    assert_int_equal(m->shot_count, 2);
    const cw_sensor_shot *fast = &m->shots[1].sensors[0];
    assert_int_equal(fast->method, CW_METHOD_AREA);
    /* the level is shared: what it is off by scales both shots alike */
    double level = m->shots[0].sensors[0].exposure_s.value / shot_s[0];
    assert_near(fast->exposure_s.value / level, shot_s[1], 0.4 * bounce_s);
    assert_int_equal(fast->bounce_count, 1);
    assert_near(fast->bounces[0].exposure_s, bounce_s, 0.3 * bounce_s);
    cw_measurement_free(m);
}

/* Thrown back at 0.45 of its speed, the second curtain stands off the last sensor for 26 ms, twenty times as long as
 * the shot was. */
static void a_curtain_thrown_back_for_long_is_not_the_shot(void **state)
{
    (void)state;
    static const double from_s[] = {0.2, 0.2 + 0.0013 + 0.009}, until_s[] = {0.2 + 0.0013, 0.2 + 0.0013 + 0.035};
    float *values = malloc(2 * FRAMES * sizeof *values);
    check_random random = {.state = 41};
    for (int i = 0; i < FRAMES; i++) {
        double light[2] = {0};
        for (int k = 0; k < 2; k++) {
            double up = (i / RATE_HZ - from_s[k]) / 80e-6 + 0.5, down = (until_s[k] - i / RATE_HZ) / 80e-6 + 0.5;
            double now = fmin(fmax(up, 0), 1) * fmin(fmax(down, 0), 1);
            light[1] += now;
            light[0] += k == 0 ? now : 0;
        }
        for (int c = 0; c < 2; c++)
            values[2 * i + c] = (float)(0.5 * light[c] + 0.001 * check_gaussian(&random));
    }
    cw_measurement *m = measure_of(values, 2, CW_SHUTTER_FOCAL_PLANE);
    assert_int_equal(m->shot_count, 1);
    const cw_sensor_shot *thrown = &m->shots[0].sensors[1];
    assert_near(thrown->close_s.value - thrown->open_s.value, 0.0013, 5e-6);
    assert_int_equal(thrown->bounce_count, 1);
    assert_near(thrown->bounces[0].at_s, from_s[1], 0.1e-3);
    cw_measurement_free(m);
}

CHECK_MAIN(cmocka_unit_test(a_faint_bounce_of_the_blades_is_not_the_shots_light),
           cmocka_unit_test(a_curtain_thrown_back_for_long_is_not_the_shot))
