/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/wrench.h"

#include <math.h>
#include <stdlib.h>

#include "base/range.h"
#include "workshop/bar.h"

#define MM 1e-3

static int by_torque(const void *a, const void *b)
{
    double ta = ((const cw_wrench_limit *)a)->torque_n_m, tb = ((const cw_wrench_limit *)b)->torque_n_m;
    return (ta > tb) - (ta < tb);
}

#define MODEL_SHARE 0.1 /* filing and beam theory; see the header */

static void add_limit(cw_wrench_result *r, const char *what, double torque_n_m, const cw_material *gives)
{
    double share = hypot(gives->yield_pa.u / gives->yield_pa.value, MODEL_SHARE);
    r->limits[r->limit_count++] = (cw_wrench_limit){what, torque_n_m, share * torque_n_m};
    qsort(r->limits, r->limit_count, sizeof r->limits[0], by_torque);
}

static cw_status check_flat_sizes(const cw_flat_wrench *w, cw_error *err)
{
    CW_TRY(cw_check_within("distance between the slots", w->span_m, CW_LENGTH, "mm", 2e-3, 0.2, err));
    CW_TRY(cw_check_within("slot width", w->slot_width_m, CW_LENGTH, "mm", 0.2e-3, 10e-3, err));
    CW_TRY(cw_check_within("slot depth", w->slot_depth_m, CW_LENGTH, "mm", 0.1e-3, 10e-3, err));
    CW_TRY(cw_check_within("tip thickness", w->tip_m, CW_LENGTH, "mm", 0.1e-3, 10e-3, err));
    CW_TRY(cw_check_within("tip width", w->tip_width_m, CW_LENGTH, "mm", 0.3e-3, 30e-3, err));
    CW_TRY(cw_check_within("plate thickness", w->plate_m, CW_LENGTH, "mm", 0.2e-3, 20e-3, err));
    CW_TRY(cw_check_within("filed length of the tip", w->tip_length_m, CW_LENGTH, "mm", 0.1e-3, 50e-3, err));
    CW_TRY(cw_check_within("reach", w->reach_m, CW_LENGTH, "mm", 0.2e-3, 0.1, err));
    CW_TRY(cw_check_within("height of the body", w->body_height_m, CW_LENGTH, "mm", 2e-3, 0.1, err));
    CW_TRY(cw_check_within("clearance", w->clearance_m, CW_LENGTH, "mm", 0, 5e-3, err));
    CW_TRY(cw_check_within("barrel diameter", w->barrel_m, CW_LENGTH, "mm", 0, 0.2, err));
    CW_TRY(cw_check_within("barrel height", w->barrel_height_m, CW_LENGTH, "mm", 0, 0.1, err));
    CW_TRY(cw_check_within("well diameter", w->well_m, CW_LENGTH, "mm", 0, 0.3, err));
    CW_TRY(cw_check_within("well depth", w->well_depth_m, CW_LENGTH, "mm", 0, 0.1, err));
    return cw_check_within("length over all", w->length_m, CW_LENGTH, "mm", w->span_m + w->tip_width_m, 0.5, err);
}

static cw_status check_tip(const cw_flat_wrench *w, cw_error *err)
{
    if (w->reach_m < w->slot_depth_m)
        return cw_fail(err, CW_RANGE,
                       "a reach of %.3g mm does not get to the floor of slots %.3g mm deep; make it %.3g mm",
                       w->reach_m / MM, w->slot_depth_m / MM, (w->slot_depth_m + 0.5 * MM) / MM);
    if (w->tip_m > w->slot_width_m)
        return cw_fail(err, CW_RANGE, "the tip, %.3g mm thick, does not go into a slot of %.3g mm; file it to %.3g mm",
                       w->tip_m / MM, w->slot_width_m / MM,
                       fmax(w->slot_width_m - 0.05 * MM, 0.9 * w->slot_width_m) / MM);
    if (w->tip_m > w->plate_m)
        return cw_fail(err, CW_RANGE,
                       "a tip of %.3g mm cannot be filed from a plate of %.3g mm; take a plate of %.3g mm or more",
                       w->tip_m / MM, w->plate_m / MM, w->tip_m / MM);
    if (w->tip_length_m > w->reach_m)
        return cw_fail(
            err, CW_RANGE,
            "the filed length, %.3g mm, is longer than the reach, %.3g mm; file %.3g mm or lengthen the reach",
            w->tip_length_m / MM, w->reach_m / MM, w->reach_m / MM);
    if (w->plate_m > w->slot_width_m && w->tip_length_m < w->slot_depth_m)
        return cw_fail(
            err, CW_RANGE,
            "the tip is filed thin over %.3g mm only and the slot is %.3g mm deep: the step would ride on the ring; "
            "file %.3g mm",
            w->tip_length_m / MM, w->slot_depth_m / MM, (w->slot_depth_m + 0.2 * MM) / MM);
    if (w->tip_width_m > w->span_m - 0.5 * MM)
        return cw_fail(err, CW_RANGE,
                       "two tips %.3g mm wide meet each other at %.3g mm between slots; up to %.3g mm works",
                       w->tip_width_m / MM, w->span_m / MM, (w->span_m - 0.5 * MM) / MM);
    return CW_OK;
}

static cw_status check_surroundings(const cw_flat_wrench *w, cw_error *err)
{
    double inside = w->span_m - w->tip_width_m, outside = w->span_m + w->tip_width_m;
    double room = w->span_m - w->barrel_m - 2 * w->clearance_m;
    if (w->barrel_m > 0 && w->barrel_m + 2 * w->clearance_m > inside + 1e-9) {
        if (room < 0.3 * MM)
            return cw_fail(
                err, CW_RANGE,
                "a barrel of %.4g mm leaves no room for a tip at slots %.4g mm apart with %.2g mm of clearance; "
                "less clearance, or a wrench that grips from outside",
                w->barrel_m / MM, w->span_m / MM, w->clearance_m / MM);
        return cw_fail(
            err, CW_RANGE,
            "the barrel, %.4g mm, does not pass between blades %.4g mm apart with %.2g mm of clearance; tips of %.3g "
            "mm width would clear it",
            w->barrel_m / MM, inside / MM, w->clearance_m / MM, room / MM);
    }
    if (w->well_m > 0 && outside > w->well_m - 2 * w->clearance_m + 1e-9)
        return cw_fail(
            err, CW_RANGE,
            "the blades are %.4g mm over all and the well is %.4g mm wide; tips of %.3g mm width would go in",
            outside / MM, w->well_m / MM, fmax(0, w->well_m - 2 * w->clearance_m - w->span_m) / MM);
    if (w->well_m > 0 && w->length_m > w->well_m && w->reach_m < w->well_depth_m + w->clearance_m - 1e-9)
        return cw_fail(err, CW_RANGE,
                       "the slots lie %.3g mm deep in their well and the reach is %.3g mm; make it %.3g mm",
                       w->well_depth_m / MM, w->reach_m / MM, (w->well_depth_m + w->clearance_m) / MM);
    return CW_OK;
}

static cw_status find_shape(const cw_flat_wrench *w, cw_flat_shape *shape, cw_error *err)
{
    shape->inside_m = w->span_m - w->tip_width_m;
    shape->roof_m = fmax(w->reach_m, w->barrel_m > 0 ? w->barrel_height_m + w->clearance_m : 0);
    shape->bridge_m = w->body_height_m - (shape->roof_m - w->reach_m);
    shape->tip_play_m = w->slot_width_m - w->tip_m;
    shape->engaged_m = fmin(w->slot_depth_m, w->tip_length_m);
    if (w->plate_m <= w->slot_width_m)
        shape->engaged_m = w->slot_depth_m;
    if (shape->bridge_m < 2 * MM)
        return cw_fail(
            err, CW_RANGE,
            "a barrel %.4g mm high leaves a bridge of %.3g mm above the cutout; a reach of %.4g mm, or a body of %.4g "
            "mm height, leaves 4 mm",
            w->barrel_height_m / MM, shape->bridge_m / MM, (w->reach_m + 4 * MM - shape->bridge_m) / MM,
            (w->body_height_m + 4 * MM - shape->bridge_m) / MM);
    return CW_OK;
}

/* Integral of (a + (b - a) s)^2 over s in 0..1: the moment's square along a beam on which it runs straight from a to b.
 */
static double mean_square(double from, double to)
{
    return (from * from + from * to + to * to) / 3;
}

/* Compliance of both blades, rad per N m: each loaded across by T/span at half the engaged depth. */
static double blade_compliance(const cw_flat_wrench *w, double force_at_m)
{
    double E = w->steel->elastic_pa.value, G = cw_material_shear_modulus_pa(w->steel);
    double tip = fmax(0, w->tip_length_m - force_at_m), leg = w->reach_m - w->tip_length_m, total = tip + leg;
    double tip_I = w->tip_width_m * pow(w->tip_m, 3) / 12, leg_I = w->tip_width_m * pow(w->plate_m, 3) / 12;
    double bend = tip * mean_square(0, tip) / (E * tip_I) + leg * mean_square(tip, total) / (E * leg_I);
    double shear = 1.2 / (G * w->tip_width_m) * (tip / w->tip_m + leg / w->plate_m); /* 6/5, rectangle */
    return 2 * (bend + shear) / (w->span_m * w->span_m);
}

static double body_compliance(const cw_flat_wrench *w, const cw_flat_shape *s, double twist_arm_m)
{
    double E = w->steel->elastic_pa.value, G = cw_material_shear_modulus_pa(w->steel);
    double bridge_I = s->bridge_m * pow(w->plate_m, 3) / 12, arm_I = w->body_height_m * pow(w->plate_m, 3) / 12;
    double at_blade = 0.5 * (1 - w->span_m / w->length_m), arm = (w->length_m - w->span_m) / 2;
    double bend =
        w->span_m * mean_square(0, at_blade) / (E * bridge_I) + 2 * arm * mean_square(0, at_blade) / (E * arm_I);
    double twist = twist_arm_m * twist_arm_m / (w->span_m * G * cw_bar_torsion_constant(s->bridge_m, w->plate_m));
    return bend + twist;
}

cw_status cw_flat_wrench_find(const cw_flat_wrench *w, cw_flat_shape *shape, cw_wrench_result *result, cw_error *err)
{
    CW_TRY(check_flat_sizes(w, err));
    CW_TRY(check_tip(w, err));
    CW_TRY(check_surroundings(w, err));
    cw_flat_shape s;
    CW_TRY(find_shape(w, &s, err));

    double force_at = s.engaged_m / 2, F = 1 / w->span_m; /* all below for a torque of 1 N m */
    double tip_arm = fmax(0, w->tip_length_m - force_at), root_arm = w->reach_m - force_at;
    double twist_arm = (s.roof_m + s.bridge_m / 2) - force_at;
    double yield = w->steel->yield_pa.value;
    cw_wrench_result r = {.tip_force_per_n_m = F, .hand_force_per_n_m = 1 / w->length_m};
    double b = w->tip_width_m, t = w->tip_m, T = w->plate_m;
    /* a tip that is as thick as the plate has no step to yield at */
    if (t < T)
        add_limit(&r, "the tip yields where it is filed",
                  yield / hypot(6 * F * tip_arm / (b * t * t), sqrt(3) * 1.5 * F / (b * t)), w->steel);
    add_limit(&r, "the blade bends at its root",
              yield / hypot(6 * F * root_arm / (b * T * T), sqrt(3) * 1.5 * F / (b * T)), w->steel);
    double bending = 6 * 0.5 * (1 - w->span_m / w->length_m) / (s.bridge_m * T * T);
    double twisting = F * twist_arm * cw_bar_torsion_stress_per_torque(s.bridge_m, T);
    add_limit(&r, "the body twists out of flat", yield / sqrt(bending * bending + 3 * twisting * twisting), w->steel);
    add_limit(&r, "the ring's slots are crushed", w->ring->yield_pa.value * b * s.engaged_m / F, w->ring);
    r.windup_rad_n_m = blade_compliance(w, force_at) + body_compliance(w, &s, twist_arm);
    r.u_windup_rad_n_m = r.windup_rad_n_m * hypot(w->steel->elastic_pa.u / w->steel->elastic_pa.value, MODEL_SHARE);
    *shape = s;
    *result = r;
    return CW_OK;
}

static cw_status check_pin_driver(const cw_pin_driver *d, cw_error *err)
{
    CW_TRY(cw_check_within("distance between the holes", d->span_m, CW_LENGTH, "mm", 1e-3, 0.1, err));
    CW_TRY(cw_check_within("hole diameter", d->hole_m, CW_LENGTH, "mm", 0.3e-3, 10e-3, err));
    CW_TRY(cw_check_within("hole depth", d->hole_depth_m, CW_LENGTH, "mm", 0.2e-3, 20e-3, err));
    CW_TRY(cw_check_within("pin size", d->pin_m, CW_LENGTH, "mm", 0.2e-3, 10e-3, err));
    CW_TRY(cw_check_within("length of the pins", d->pin_length_m, CW_LENGTH, "mm", 0.2e-3, 30e-3, err));
    CW_TRY(cw_check_within("shank diameter", d->shank_m, CW_LENGTH, "mm", 1e-3, 30e-3, err));
    CW_TRY(cw_check_within("shank length", d->shank_length_m, CW_LENGTH, "mm", 5e-3, 0.5, err));
    CW_TRY(cw_check_within("handle diameter", d->handle_m, CW_LENGTH, "mm", 3e-3, 0.1, err));
    CW_TRY(cw_check_within("length of the flat blade", d->blade_length_m, CW_LENGTH, "mm", 0, 0.1, err));
    if (d->hole_m >= d->span_m)
        return cw_fail(err, CW_RANGE,
                       "two holes of %.3g mm do not stand %.3g mm apart, middle to middle; the distance is the larger "
                       "size. Outer edges less one hole diameter gives it",
                       d->hole_m / MM, d->span_m / MM);
    double across = d->square ? d->pin_m * M_SQRT2 : d->pin_m;
    if (across > d->hole_m)
        return cw_fail(err, CW_RANGE, "a %s of %.3g mm%s does not go into a hole of %.3g mm; file it to %.3g mm",
                       d->square ? "square prong" : "pin", d->pin_m / MM, d->square ? " (more over its corners)" : "",
                       d->hole_m / MM, 0.97 * d->hole_m / (d->square ? M_SQRT2 : 1) / MM);
    if (d->pin_m >= d->span_m)
        return cw_fail(err, CW_RANGE, "two pins of %.3g mm do not stand %.3g mm apart; they would be one",
                       d->pin_m / MM, d->span_m / MM);
    if (d->blade_length_m > 0 && (d->blade_width_m < d->span_m + d->pin_m - 1e-9 || d->blade_m < d->pin_m - 1e-9))
        return cw_fail(err, CW_RANGE,
                       "a blade of %.3g x %.3g mm is too small for pins of %.3g mm standing %.4g mm apart; it takes "
                       "%.4g x %.3g mm",
                       d->blade_width_m / MM, d->blade_m / MM, d->pin_m / MM, d->span_m / MM,
                       (d->span_m + d->pin_m) / MM, d->pin_m / MM);
    return CW_OK;
}

cw_status cw_pin_driver_find(const cw_pin_driver *d, cw_wrench_result *result, cw_error *err)
{
    CW_TRY(check_pin_driver(d, err));
    double F = 1 / d->span_m, engaged = fmin(d->hole_depth_m, d->pin_length_m), a = d->pin_m;
    double arm = d->pin_length_m - engaged / 2;
    double I = d->square ? pow(a, 4) / 12 : M_PI * pow(a, 4) / 64, area = d->square ? a * a : M_PI * a * a / 4;
    double shear_form = d->square ? 1.2 : 10.0 / 9, peak_form = d->square ? 1.5 : 4.0 / 3;
    double E = d->steel->elastic_pa.value, G = cw_material_shear_modulus_pa(d->steel), yield = d->steel->yield_pa.value;
    cw_wrench_result r = {.tip_force_per_n_m = F, .hand_force_per_n_m = 2 / d->handle_m};
    double bending = F * arm * (a / 2) / I, shear = peak_form * F / area;
    add_limit(&r, "the pins bend", yield / hypot(bending, sqrt(3) * shear), d->steel);
    add_limit(&r, "the holes are crushed", d->ring->yield_pa.value * a * engaged / F, d->ring);
    add_limit(&r, "the shank twists",
              cw_material_shear_yield_pa(d->steel) / cw_round_torsion_stress_per_torque(d->shank_m), d->steel);
    r.windup_rad_n_m = 2 * (arm * arm * arm / (3 * E * I) + shear_form * arm / (G * area)) / (d->span_m * d->span_m) +
                       d->shank_length_m / (G * cw_round_torsion_constant(d->shank_m));
    if (d->blade_length_m > 0) {
        add_limit(&r, "the flat blade twists",
                  cw_material_shear_yield_pa(d->steel) / cw_bar_torsion_stress_per_torque(d->blade_width_m, d->blade_m),
                  d->steel);
        r.windup_rad_n_m += d->blade_length_m / (G * cw_bar_torsion_constant(d->blade_width_m, d->blade_m));
    }
    r.u_windup_rad_n_m = r.windup_rad_n_m * hypot(d->steel->elastic_pa.u / E, MODEL_SHARE);
    *result = r;
    return CW_OK;
}
