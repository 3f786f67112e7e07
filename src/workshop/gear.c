/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/gear.h"

#include <math.h>
#include <stdlib.h>

#include "base/range.h"

#define MM 1e-3

/* ISO 54, series I and II, up to module 20; and finer ones of instrument work. Millimetres. From memory. */
static const double modules_mm[] = {0.1, 0.12, 0.15,  0.2,  0.25,  0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.7, 0.75, 0.8,
                                    0.9, 1,    1.125, 1.25, 1.375, 1.5, 1.75, 2,   2.25, 2.5, 2.75, 3,   3.5, 4,    4.5,
                                    5,   5.5,  6,     7,    8,     9,   10,   11,  12,   14,  16,   18,  20};
/* Diametral pitches. From memory. */
static const double pitches[] = {2,  2.5, 3,  4,  5,  6,  7,  8,  9,  10, 11, 12, 14, 16, 18,  20,  22,  24,  28, 30,
                                 32, 36,  40, 44, 48, 50, 56, 60, 64, 70, 72, 80, 88, 96, 100, 120, 150, 180, 200};

enum { TABLE = sizeof modules_mm / sizeof modules_mm[0] + sizeof pitches / sizeof pitches[0] };

/* Tips are turned up to this share of the module small. */
#define TIP_UNDERSIZE 0.04
/* Beforehand: one gear in five is shifted, stubbed or not an involute at all; its diameter over the table's range of
 * modules could be anything within +- 15 %. Common practice, no source. */
#define NONE_PRIOR 0.2
#define NONE_SPREAD 0.3

static double normal_below(double z)
{
    return 0.5 * erfc(-z / M_SQRT2);
}

/* Density of the measured diameter when the true one lies anywhere between low and high. */
static double band_density(double measured, double u, double low, double high)
{
    return (normal_below((high - measured) / u) - normal_below((low - measured) / u)) / (high - low);
}

static int by_probability(const void *a, const void *b)
{
    double pa = ((const cw_gear_size *)a)->probability, pb = ((const cw_gear_size *)b)->probability;
    return (pa < pb) - (pa > pb);
}

cw_status cw_gear_identify(cw_quantity outside_m, int teeth, cw_gear_identity *identity, cw_error *err)
{
    CW_TRY(cw_check_within("outside diameter", outside_m.value, CW_LENGTH, "mm", 0.5e-3, 2, err));
    CW_TRY(cw_check_within("number of teeth", teeth, CW_PLAIN, NULL, 6, 400, err));
    if (!(outside_m.u > 0 && outside_m.u <= 0.05 * outside_m.value))
        return cw_fail(
            err, CW_RANGE,
            "an uncertainty of %g mm on a diameter of %g mm; say how far the caliper can be off, 0.02 mm or so, "
            "more than 0 and at most %g mm",
            outside_m.u / MM, outside_m.value / MM, 0.05 * outside_m.value / MM);
    double z2 = teeth + 2, sum = 0;
    cw_gear_size all[TABLE];
    for (size_t i = 0; i < TABLE; i++) {
        bool diametral = i >= CW_COUNT(modules_mm);
        double pitch = diametral ? pitches[i - CW_COUNT(modules_mm)] : NAN;
        double m = diametral ? 0.0254 / pitch : modules_mm[i] * MM, nominal = m * z2;
        all[i] = (cw_gear_size){diametral,
                                m,
                                pitch,
                                nominal,
                                outside_m.value - nominal,
                                band_density(outside_m.value, outside_m.u, nominal - TIP_UNDERSIZE * m, nominal),
                                (outside_m.value / m - z2) / 2};
        sum += all[i].probability;
    }
    double listed = sum * (1 - NONE_PRIOR) / TABLE;
    double none = NONE_PRIOR / TABLE * 2 / (NONE_SPREAD * outside_m.value); /* about two table sizes lie within reach */
    for (size_t i = 0; i < TABLE; i++)
        all[i].probability *= (1 - NONE_PRIOR) / TABLE / (listed + none);
    qsort(all, TABLE, sizeof all[0], by_probability);
    cw_gear_identity found = {.module_m = {outside_m.value / z2, outside_m.u / z2},
                              .none_probability = none / (listed + none)};
    for (size_t i = 0; i < CW_GEAR_SIZES_MOST && all[i].probability > 1e-4; i++)
        found.sizes[found.size_count++] = all[i];
    *identity = found;
    return CW_OK;
}

static double involute(double angle)
{
    return tan(angle) - angle;
}

/* inv(angle) = value, 0 <= value <= 1, by Newton; d inv/d angle = tan^2. */
static double involute_angle(double value)
{
    double angle = cbrt(3 * value);
    for (int i = 0; i < 60; i++) {
        double t = tan(angle), step = (involute(angle) - value) / (t * t);
        angle -= step;
        if (fabs(step) < 1e-14)
            break;
    }
    return angle;
}

static cw_status check_pair(const cw_gear_pair *p, cw_error *err)
{
    CW_TRY(cw_check_within("teeth of gear 1", p->teeth1, CW_PLAIN, NULL, 6, 400, err));
    CW_TRY(cw_check_within("teeth of gear 2", p->teeth2, CW_PLAIN, NULL, 6, 400, err));
    CW_TRY(cw_check_within("module", p->module_m, CW_LENGTH, "mm", 0.05e-3, 0.050, err));
    CW_TRY(cw_check_within("pressure angle", p->pressure_angle_rad, CW_ANGLE, "deg", M_PI / 18, M_PI / 6, err));
    CW_TRY(cw_check_within("profile shift of gear 1", p->shift1, CW_PLAIN, NULL, -1, 1.5, err));
    CW_TRY(cw_check_within("profile shift of gear 2", p->shift2, CW_PLAIN, NULL, -1, 1.5, err));
    CW_TRY(cw_check_within("addendum over module", p->addendum, CW_PLAIN, NULL, 0.5, 1.3, err));
    CW_TRY(cw_check_within("root clearance over module", p->clearance, CW_PLAIN, NULL, 0, 0.5, err));
    if (!(p->tip_wear1_m >= 0 && p->tip_wear2_m >= 0 && fmax(p->tip_wear1_m, p->tip_wear2_m) <= 2 * p->module_m))
        return cw_fail(err, CW_RANGE,
                       "tip wear %g and %g mm; from nothing to the tooth's height of about %g mm can be meant",
                       p->tip_wear1_m / MM, p->tip_wear2_m / MM, 2 * p->module_m / MM);
    if (p->missing < 0 || p->missing >= p->teeth1)
        return cw_fail(err, CW_RANGE, "%d teeth missing of %d", p->missing, p->teeth1);
    return CW_OK;
}

/* The length along the line of action from the pitch point out to a tip circle, over one base pitch. */
static double contact_ratio(const cw_gear_mesh *m, double tip1_m, double tip2_m, double base_pitch_m)
{
    double r1 = tip1_m / 2, r2 = tip2_m / 2, b1 = m->base_diameter1_m / 2, b2 = m->base_diameter2_m / 2;
    double reach1 = r1 > b1 ? sqrt(r1 * r1 - b1 * b1) : 0, reach2 = r2 > b2 ? sqrt(r2 * r2 - b2 * b2) : 0;
    return fmax(0, (reach1 + reach2 - m->centre_m * sin(m->working_angle_rad)) / base_pitch_m);
}

static void tips_and_roots(const cw_gear_pair *p, double shortening, cw_gear_mesh *m)
{
    double mod = p->module_m, clearance = p->clearance;
    /* each tip gives way to the other gear's shift so that the root clearance stays what it is */
    m->tip_diameter1_m = m->pitch_diameter1_m + 2 * mod * (p->addendum + p->shift1 - shortening);
    m->tip_diameter2_m = m->pitch_diameter2_m + 2 * mod * (p->addendum + p->shift2 - shortening);
    m->root_diameter1_m = m->pitch_diameter1_m - 2 * mod * (p->addendum + clearance - p->shift1);
    m->root_diameter2_m = m->pitch_diameter2_m - 2 * mod * (p->addendum + clearance - p->shift2);
    m->whole_depth_m = (m->tip_diameter1_m - m->root_diameter1_m) / 2;
}

cw_status cw_gear_mesh_find(const cw_gear_pair *pair, cw_gear_mesh *mesh, cw_error *err)
{
    CW_TRY(check_pair(pair, err));
    double m = pair->module_m, a = pair->pressure_angle_rad, z = pair->teeth1 + pair->teeth2;
    double shift = pair->shift1 + pair->shift2, free_inv = involute(a) + 2 * shift / z * tan(a);
    if (!(free_inv > 1e-4))
        return cw_fail(err, CW_RANGE,
                       "profile shifts of %g and %g cannot mesh with %d and %d teeth; larger shifts would",
                       pair->shift1, pair->shift2, pair->teeth1, pair->teeth2);
    cw_gear_mesh r = {.pitch_diameter1_m = m * pair->teeth1, .pitch_diameter2_m = m * pair->teeth2};
    r.base_diameter1_m = r.pitch_diameter1_m * cos(a);
    r.base_diameter2_m = r.pitch_diameter2_m * cos(a);
    double base_centre = (r.base_diameter1_m + r.base_diameter2_m) / 2, free_angle = involute_angle(free_inv);
    r.free_centre_m = base_centre / cos(free_angle);
    r.centre_m = isnan(pair->centre_m) ? r.free_centre_m : pair->centre_m;
    if (!(r.centre_m > base_centre && r.centre_m < r.free_centre_m + 2.2 * m))
        return cw_fail(
            err, CW_RANGE,
            "at a centre distance of %.5g mm these gears do not mesh; without backlash it is %.5g mm, and the "
            "teeth lose each other beyond about %.5g mm. Module, teeth or distance is not right",
            r.centre_m / MM, r.free_centre_m / MM, (r.free_centre_m + 2 * m) / MM);
    r.working_angle_rad = acos(base_centre / r.centre_m);
    r.working_diameter1_m = 2 * r.centre_m * pair->teeth1 / z;
    r.working_diameter2_m = 2 * r.centre_m * pair->teeth2 / z;
    r.ratio = (double)pair->teeth2 / pair->teeth1;
    r.circular_pitch_m = M_PI * m;
    tips_and_roots(pair, shift - (r.free_centre_m / m - z / 2), &r);
    /* the working circles' tooth gaps open as the involutes move apart: j = 2 a (inv a_w - inv a_free) */
    r.backlash_m = 2 * r.centre_m * (involute(r.working_angle_rad) - free_inv);
    double base_pitch = M_PI * m * cos(a);
    r.base_pitch_m = base_pitch;
    r.fresh_contact_ratio = contact_ratio(&r, r.tip_diameter1_m, r.tip_diameter2_m, base_pitch);
    r.tip_diameter1_m -= 2 * pair->tip_wear1_m;
    r.tip_diameter2_m -= 2 * pair->tip_wear2_m;
    r.contact_ratio = contact_ratio(&r, r.tip_diameter1_m, r.tip_diameter2_m, base_pitch);
    if (pair->missing > 0) /* a tooth drives for contact_ratio pitches; the next one comes missing + 1 pitches later */
        r.lost_turn_rad = fmax(0, pair->missing + 1 - r.contact_ratio) * 2 * M_PI / pair->teeth1;
    r.drives_smoothly = r.contact_ratio >= 1 && r.lost_turn_rad == 0;
    *mesh = r;
    return CW_OK;
}
