/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/press.h"

#include <math.h>

#include "base/range.h"

static double square(double x)
{
    return x * x;
}

static cw_status check_press(const cw_press *p, cw_error *err)
{
    CW_TRY(cw_check_within("fit diameter", p->fit_diameter_m, CW_LENGTH, "mm", 0.1e-3, 1, err));
    if (!(p->pin_bore_m >= 0 && p->pin_bore_m < 0.95 * p->fit_diameter_m))
        return cw_fail(err, CW_RANGE,
                       "the hole along the pin, %.4g mm, leaves no wall in a pin of %.4g mm; up to %.4g mm works",
                       p->pin_bore_m * 1e3, p->fit_diameter_m * 1e3, 0.95 * p->fit_diameter_m * 1e3);
    if (!(p->hub_outer_m >= 1.05 * p->fit_diameter_m && p->hub_outer_m <= 10))
        return cw_fail(err, CW_RANGE,
                       "a hub of %.4g mm outside has no wall around a pin of %.4g mm; %.4g mm is the least that can be "
                       "computed",
                       p->hub_outer_m * 1e3, p->fit_diameter_m * 1e3, 1.05 * p->fit_diameter_m * 1e3);
    if (!(p->interference_m >= 0 && p->interference_m <= 0.02 * p->fit_diameter_m))
        return cw_fail(err, CW_RANGE,
                       "an interference of %.4g mm on a diameter of %.4g mm; 0 to %.4g mm (2 %%) can be pressed. A "
                       "negative one is a loose pin: ream less or turn larger",
                       p->interference_m * 1e3, p->fit_diameter_m * 1e3, 20 * p->fit_diameter_m);
    CW_TRY(cw_check_within("length of engagement", p->length_m, CW_LENGTH, "mm", 0.05e-3, 1, err));
    return cw_check_within("friction", p->mu, CW_PLAIN, NULL, 0, 2, err);
}

cw_status cw_press_find(const cw_press *press, cw_press_result *result, cw_error *err)
{
    CW_TRY(check_press(press, err));
    const cw_material *in = press->pin, *out = press->hub;
    double d2 = square(press->fit_diameter_m), b2 = square(press->pin_bore_m), D2 = square(press->hub_outer_m);
    double hub_ratio = (D2 + d2) / (D2 - d2), pin_ratio = (d2 + b2) / (d2 - b2);
    double give = press->fit_diameter_m * ((hub_ratio + out->poisson) / out->elastic_pa.value +
                                           (pin_ratio - in->poisson) / in->elastic_pa.value);
    double p = press->interference_m / give;
    double force = press->mu * p * M_PI * press->fit_diameter_m * press->length_m;
    double hoop = p * hub_ratio, radial = -p;
    double equivalent = sqrt(hoop * hoop - hoop * radial + radial * radial);
    double pin_worst = b2 > 0 ? p * 2 * d2 / (d2 - b2) : p;
    *result = (cw_press_result){
        .pressure_pa = p,
        .force_n = force,
        .torque_n_m = force * press->fit_diameter_m / 2,
        .hub_hoop_pa = hoop,
        .pin_hoop_pa = -pin_worst,
        .pin_contact_hoop_pa = -p * pin_ratio,
        .hub_outer_hoop_pa = p * 2 * d2 / (D2 - d2),
        .hub_equivalent_pa = equivalent,
        .hub_reserve = out->yield_pa.value / equivalent,
        .pin_reserve = in->yield_pa.value / pin_worst,
        .hub_warming_k = press->interference_m / (out->expansion_per_k * press->fit_diameter_m),
    };
    return CW_OK;
}

static cw_status check_pin(const cw_pin *pin, cw_error *err)
{
    CW_TRY(cw_check_within("pin diameter", pin->pin_m, CW_LENGTH, "mm", 0.1e-3, 0.2, err));
    CW_TRY(cw_check_within("torque", pin->torque_n_m, CW_TORQUE, "N m", 1e-6, 1e6, err));
    if (pin->kind == CW_PIN_CROSS) {
        CW_TRY(cw_check_within("shaft diameter", pin->shaft_m, CW_LENGTH, "mm", 0.2e-3, 1, err));
        CW_TRY(cw_check_within("wall of the hub", pin->hub_wall_m, CW_LENGTH, "mm", 0.1e-3, 1, err));
        if (pin->pin_m > 0.6 * pin->shaft_m)
            return cw_fail(err, CW_RANGE,
                           "a pin of %.4g mm through a shaft of %.4g mm leaves too little of the shaft; %.4g mm (a "
                           "quarter to a third of the shaft) is usual, %.4g mm the most",
                           pin->pin_m * 1e3, pin->shaft_m * 1e3, 0.3 * pin->shaft_m * 1e3, 0.6 * pin->shaft_m * 1e3);
        return CW_OK;
    }
    CW_TRY(cw_check_within("distance of the pin from the axis", pin->radius_m, CW_LENGTH, "mm", 0.2e-3, 2, err));
    CW_TRY(cw_check_within("plate thickness", pin->plate_m, CW_LENGTH, "mm", 0.1e-3, 0.5, err));
    return cw_check_within("height of the load above the plate", pin->overhang_m, CW_LENGTH, "mm", 0, 0.1, err);
}

cw_status cw_pin_find(const cw_pin *pin, cw_pin_result *result, cw_error *err)
{
    CW_TRY(check_pin(pin, err));
    double d = pin->pin_m, T = pin->torque_n_m, area = M_PI * d * d / 4;
    cw_pin_result r = {.bending_pa = 0, .bending_reserve = INFINITY};
    if (pin->kind == CW_PIN_CROSS) {
        double in_shaft = 6 * T / (d * square(pin->shaft_m));
        double in_hub = T / (d * pin->hub_wall_m * (pin->shaft_m + pin->hub_wall_m));
        r.force_n = T / pin->shaft_m;
        r.bearing_pa = fmax(in_shaft, in_hub);
    } else {
        double t = pin->plate_m;
        r.force_n = T / pin->radius_m;
        r.bearing_pa = r.force_n / (d * t) + 6 * r.force_n * (pin->overhang_m + t / 2) / (d * t * t);
        r.bending_pa = 32 * r.force_n * pin->overhang_m / (M_PI * d * d * d);
        if (r.bending_pa > 0)
            r.bending_reserve = pin->pin->yield_pa.value / r.bending_pa;
    }
    r.shear_pa = r.force_n / area;
    r.shear_reserve = cw_material_shear_yield_pa(pin->pin) / r.shear_pa;
    r.bearing_reserve = pin->around->yield_pa.value / r.bearing_pa;
    r.least_reserve = fmin(r.shear_reserve, fmin(r.bearing_reserve, r.bending_reserve));
    r.weakest = r.least_reserve == r.shear_reserve     ? "shear of the pin"
                : r.least_reserve == r.bearing_reserve ? "bearing of the pin in what holds it"
                                                       : "bending of the pin";
    r.torque_at_yield_n_m = T * r.least_reserve;
    *result = r;
    return CW_OK;
}

cw_status cw_stake_find(const cw_stake *stake, cw_stake_result *result, cw_error *err)
{
    CW_TRY(cw_check_within("neck diameter", stake->pin_m, CW_LENGTH, "mm", 0.2e-3, 0.05, err));
    CW_TRY(cw_check_within("rim over the hole", stake->lip_m, CW_LENGTH, "mm", 0.02e-3, 0.005, err));
    CW_TRY(cw_check_within("rim height", stake->lip_height_m, CW_LENGTH, "mm", 0.02e-3, 0.01, err));
    CW_TRY(cw_check_within("friction under the rim", stake->mu, CW_PLAIN, NULL, 0, 2, err));
    CW_TRY(cw_check_within("share of the clamping that stays", stake->squeeze_share, CW_PLAIN, NULL, 0.05, 0.8, err));
    if (stake->lip_m > stake->pin_m / 2)
        return cw_fail(err, CW_RANGE,
                       "a rim of %.3g mm cannot be spread from a neck of %.3g mm; up to %.3g mm (half) works",
                       stake->lip_m * 1e3, stake->pin_m * 1e3, stake->pin_m / 2 * 1e3);
    double d = stake->pin_m, outer = d + 2 * stake->lip_m, yield = stake->pin->yield_pa.value;
    double ring = M_PI / 4 * (square(outer) - d * d);
    double shear_off = M_PI * d * stake->lip_height_m * cw_material_shear_yield_pa(stake->pin);
    double clamp = stake->squeeze_share * yield * ring;
    *result = (cw_stake_result){
        .pull_out_n = fmin(shear_off, yield * ring),
        .holding_n_m = stake->mu * clamp * (outer * outer * outer - d * d * d) / (3 * (outer * outer - d * d)),
        .staking_n = yield * M_PI / 4 * outer * outer,
        .neck_m = stake->lip_height_m * square(outer / d),
    };
    return CW_OK;
}
