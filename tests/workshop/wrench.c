/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/wrench.h"

#include <math.h>
#include <string.h>

#include "support/check.h"
#include "workshop/bar.h"

static cw_flat_wrench flat(void)
{
    return (cw_flat_wrench){.span_m = 23.4e-3,
                            .slot_width_m = 1.2e-3,
                            .slot_depth_m = 0.8e-3,
                            .tip_m = 1.1e-3,
                            .tip_width_m = 2.2e-3,
                            .tip_length_m = 1.4e-3,
                            .reach_m = 6.3e-3,
                            .plate_m = 1.9e-3,
                            .body_height_m = 14e-3,
                            .length_m = 61e-3,
                            .barrel_m = 19e-3,
                            .barrel_height_m = 8.2e-3,
                            .well_m = 28e-3,
                            .well_depth_m = 4.7e-3,
                            .clearance_m = 0.3e-3,
                            .steel = cw_material_find("tool-steel-annealed"),
                            .ring = cw_material_find("brass-half-hard")};
}

static double limit_of(const cw_wrench_result *r, const char *words)
{
    for (size_t i = 0; i < r->limit_count; i++)
        if (strstr(r->limits[i].what, words) != NULL)
            return r->limits[i].torque_n_m;
    fail_msg("no limit \"%s\"", words);
    return NAN;
}

/* The same plate by double integration of its curvature along the beams, step by step: no energy method. */
static double windup_by_integration(const cw_flat_wrench *w, const cw_flat_shape *s)
{
    double E = w->steel->elastic_pa.value, G = cw_material_shear_modulus_pa(w->steel), F = 1 / w->span_m;
    double at = s->engaged_m / 2, length = w->reach_m - at, tip_part = w->tip_length_m - at;
    /* leg: from the root downwards */
    double slope = 0, sag = 0, shear = 0;
    int steps = 40000;
    for (int i = 0; i < steps; i++) {
        double z = length * (i + 0.5) / steps, dz = length / steps, below = length - z;
        double thick = below < tip_part ? w->tip_m : w->plate_m, I = w->tip_width_m * pow(thick, 3) / 12;
        slope += F * below / (E * I) * dz;
        sag += slope * dz;
        shear += 1.2 * F / (G * w->tip_width_m * thick) * dz;
    }
    /* twist of the bridge: each blade turns by half of the whole twist, on an arm from the bridge's middle */
    double arm = s->roof_m + s->bridge_m / 2 - at;
    double twist = F * arm * w->span_m / (G * cw_bar_torsion_constant(s->bridge_m, w->plate_m));
    /* body: deflection line from the middle (tangent held) out to the hand; relative turn of hands against blades */
    double y = 0, turn = 0, at_blade = 0;
    double half = w->length_m / 2;
    for (int i = 0; i < steps; i++) {
        double x = half * (i + 0.5) / steps, dx = half / steps;
        bool inside = x < w->span_m / 2;
        double M = inside ? x * (1 / w->span_m - 1 / w->length_m) : (half - x) / w->length_m;
        double height = inside ? s->bridge_m : w->body_height_m;
        turn += M / (E * height * pow(w->plate_m, 3) / 12) * dx;
        y += turn * dx;
        if (inside)
            at_blade = y;
    }
    double hands = y / half, blades = at_blade / (w->span_m / 2);
    return 2 * (sag + shear + twist / 2 * arm) / w->span_m + fabs(hands - blades);
}

static void windup_agrees_with_a_step_by_step_integration(void **state)
{
    (void)state;
    cw_flat_wrench w = flat();
    cw_flat_shape s;
    cw_wrench_result r;
    cw_error err;
    assert_ok(cw_flat_wrench_find(&w, &s, &r, &err), &err);
    double direct = windup_by_integration(&w, &s);
    assert_near(r.windup_rad_n_m, direct, 2e-4 * direct); /* 40000 steps across one jump of thickness */
    w.plate_m = 1.1e-3; /* thin plate, no step, tall barrel: bridge twist and blades share */
    w.barrel_height_m = 15e-3;
    assert_ok(cw_flat_wrench_find(&w, &s, &r, &err), &err);
    direct = windup_by_integration(&w, &s);
    assert_near(r.windup_rad_n_m, direct, 2e-4 * direct);
    assert_near(s.bridge_m, 14e-3 - (15.3e-3 - 6.3e-3), 1e-12);
}

static void limits_are_the_stresses_of_the_beams(void **state)
{
    (void)state;
    cw_flat_wrench w = flat();
    cw_flat_shape s;
    cw_wrench_result r;
    cw_error err;
    assert_ok(cw_flat_wrench_find(&w, &s, &r, &err), &err);
    for (size_t i = 1; i < r.limit_count; i++)
        assert_true(r.limits[i].torque_n_m >= r.limits[i - 1].torque_n_m);
    /* bending alone at the step, by hand: F 1.0 mm arm, Z = 2.2 * 1.1^2/6 mm3, 440 MPa -> F 195.2 N; shear lowers it a
     * little */
    double F = 440 * 2.2 * 1.1 * 1.1 / 6 / 1.0, T = F * 23.4e-3;
    double got = limit_of(&r, "filed");
    assert_true(got < T && got > 0.6 * T);
    double bending = 6 * (1 / 23.4e-3) * 1e-3 / (2.2e-3 * 1.1e-3 * 1.1e-3), shear = 1.5 / 23.4e-3 / (2.2e-3 * 1.1e-3);
    assert_near(got, 440e6 / sqrt(bending * bending + 3 * shear * shear), 1e-9);
    /* slot wall: 44 ksi over 2.2 x 0.8 mm on both sides, span apart */
    assert_near(limit_of(&r, "slots"), 44 * 6894757.293168361 * 2.2e-3 * 0.8e-3 * 23.4e-3, 1e-6);
    assert_near(r.tip_force_per_n_m, 1 / 23.4e-3, 1e-9);
    assert_near(r.hand_force_per_n_m, 1 / 61e-3, 1e-9);
}

static void a_stouter_wrench_is_stiffer_and_stronger(void **state)
{
    (void)state;
    cw_flat_wrench w = flat();
    cw_flat_shape s;
    cw_wrench_result slim, stout;
    cw_error err;
    assert_ok(cw_flat_wrench_find(&w, &s, &slim, &err), &err);
    w.plate_m *= 2;
    assert_ok(cw_flat_wrench_find(&w, &s, &stout, &err), &err);
    assert_true(stout.windup_rad_n_m < slim.windup_rad_n_m);
    assert_true(limit_of(&stout, "root") > 3.9 * limit_of(&slim, "root") * 0.99);
    assert_near(limit_of(&stout, "filed"), limit_of(&slim, "filed"), 1e-12);
    /* the modulus scales the wind-up and nothing else */
    cw_material soft = *w.steel;
    soft.elastic_pa.value /= 2;
    w.steel = &soft;
    cw_wrench_result r;
    assert_ok(cw_flat_wrench_find(&w, &s, &r, &err), &err);
    assert_near(r.windup_rad_n_m, 2 * stout.windup_rad_n_m, 1e-12);
    assert_near(r.limits[0].torque_n_m, stout.limits[0].torque_n_m, 1e-12);
}

static void flat_wrenches_that_do_not_fit_are_refused_with_what_would(void **state)
{
    (void)state;
    static const struct {
        size_t offset;
        double value;
        const char *words;
    } rows[] = {
        {offsetof(cw_flat_wrench, tip_m), 1.3e-3,
         "the tip, 1.3 mm thick, does not go into a slot of 1.2 mm; file it to 1.15 mm"},
        {offsetof(cw_flat_wrench, span_m), 0, "distance between the slots 0 mm"},
        {offsetof(cw_flat_wrench, span_m), 5, "distance between the slots 5000 mm"},
        {offsetof(cw_flat_wrench, span_m), NAN, "distance between the slots is not known"},
        {offsetof(cw_flat_wrench, barrel_m), 21.0e-3, "tips of 1.8 mm width would clear it"},
        {offsetof(cw_flat_wrench, barrel_m), 23.3e-3, "leaves no room for a tip"},
        {offsetof(cw_flat_wrench, barrel_height_m), 30e-3, "leaves a bridge of"},
        {offsetof(cw_flat_wrench, well_m), 25e-3, "would go in"},
        {offsetof(cw_flat_wrench, well_depth_m), 9e-3, "make it 9.3 mm"},
        {offsetof(cw_flat_wrench, tip_length_m), 7e-3, "longer than the reach"},
        {offsetof(cw_flat_wrench, tip_length_m), 0.5e-3, "the step would ride on the ring"},
        {offsetof(cw_flat_wrench, slot_depth_m), 9e-3,
         "a reach of 6.3 mm does not get to the floor of slots 9 mm deep"},
        {offsetof(cw_flat_wrench, plate_m), 1.0e-3, "take a plate of 1.1 mm"},
        {offsetof(cw_flat_wrench, tip_width_m), 23.2e-3, "meet each other"},
        {offsetof(cw_flat_wrench, length_m), 20e-3, "length over all"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_flat_wrench w = flat();
        memcpy((char *)&w + rows[i].offset, &rows[i].value, sizeof(double));
        cw_flat_shape s;
        cw_wrench_result r = {.limit_count = 77};
        cw_error err;
        assert_fails(cw_flat_wrench_find(&w, &s, &r, &err), CW_RANGE, &err, rows[i].words);
        assert_int_equal(r.limit_count, 77);
    }
}

static cw_pin_driver pins(void)
{
    return (cw_pin_driver){.span_m = 8.1e-3,
                           .hole_m = 1.05e-3,
                           .hole_depth_m = 0.9e-3,
                           .pin_m = 0.97e-3,
                           .pin_length_m = 1.6e-3,
                           .shank_m = 6.1e-3,
                           .shank_length_m = 83e-3,
                           .blade_width_m = 9.3e-3,
                           .blade_m = 1.3e-3,
                           .blade_length_m = 7e-3,
                           .handle_m = 28e-3,
                           .steel = cw_material_find("driver-steel"),
                           .ring = cw_material_find("brass-half-hard")};
}

static void a_two_pin_driver_adds_pins_blade_and_shank(void **state)
{
    (void)state;
    cw_pin_driver d = pins();
    cw_wrench_result r, bare;
    cw_error err;
    assert_ok(cw_pin_driver_find(&d, &r, &err), &err);
    d.blade_length_m = 0;
    assert_ok(cw_pin_driver_find(&d, &bare, &err), &err);
    double G = 205e9 / 2 / 1.29;
    assert_near(r.windup_rad_n_m - bare.windup_rad_n_m, 7e-3 / (G * cw_bar_torsion_constant(9.3e-3, 1.3e-3)), 1e-12);
    assert_near(limit_of(&r, "shank"), 1500e6 / sqrt(3) * M_PI * pow(6.1e-3, 3) / 16, 1e-9);
    /* pin as a cantilever, by integration of the curvature */
    double arm = 1.6e-3 - 0.45e-3, slope = 0, sag = 0, I = M_PI * pow(0.97e-3, 4) / 64;
    for (int i = 0; i < 20000; i++) {
        double z = arm * (i + 0.5) / 20000, dz = arm / 20000;
        slope += (1 / 8.1e-3) * (arm - z) / (205e9 * I) * dz;
        sag += slope * dz;
    }
    double area = M_PI * pow(0.97e-3, 2) / 4, shear = 10.0 / 9 * arm / 8.1e-3 / (G * area);
    double shank = 83e-3 / (G * M_PI * pow(6.1e-3, 4) / 32);
    assert_near(bare.windup_rad_n_m, 2 * (sag + shear) / 8.1e-3 + shank, 1e-4 * bare.windup_rad_n_m);
}

static void pins_larger_than_their_hole_are_refused(void **state)
{
    (void)state;
    cw_pin_driver d = pins();
    cw_wrench_result r;
    cw_error err;
    d.pin_m = 1.1e-3;
    assert_fails(cw_pin_driver_find(&d, &r, &err), CW_RANGE, &err,
                 "a pin of 1.1 mm does not go into a hole of 1.05 mm");
    d = pins();
    d.square = true;
    assert_fails(cw_pin_driver_find(&d, &r, &err), CW_RANGE, &err, "more over its corners");
    d.pin_m = 0.7e-3;
    assert_ok(cw_pin_driver_find(&d, &r, &err), &err);
    d = pins();
    d.blade_width_m = 8e-3;
    assert_fails(cw_pin_driver_find(&d, &r, &err), CW_RANGE, &err, "it takes 9.07 x 0.97 mm");
    d = pins();
    d.span_m = 1.01e-3;
    assert_fails(cw_pin_driver_find(&d, &r, &err), CW_RANGE, &err, "two holes of 1.05 mm do not stand 1.01 mm apart");
    d.span_m = 1e-9;
    assert_fails(cw_pin_driver_find(&d, &r, &err), CW_RANGE, &err, "distance between the holes");
}

CHECK_MAIN(cmocka_unit_test(windup_agrees_with_a_step_by_step_integration),
           cmocka_unit_test(limits_are_the_stresses_of_the_beams),
           cmocka_unit_test(a_stouter_wrench_is_stiffer_and_stronger),
           cmocka_unit_test(flat_wrenches_that_do_not_fit_are_refused_with_what_would),
           cmocka_unit_test(a_two_pin_driver_adds_pins_blade_and_shank),
           cmocka_unit_test(pins_larger_than_their_hole_are_refused))
