/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/driver.h"

#include <math.h>
#include <string.h>
#include <strings.h>

#include "base/range.h"
#include "workshop/bar.h"

#define MM 1e-3

static cw_status check_driver(const cw_driver *d, cw_error *err)
{
    CW_TRY(cw_check_within("slot width", d->slot_m, CW_LENGTH, "mm", 0.1e-3, 5e-3, err));
    CW_TRY(cw_check_within("slot depth", d->depth_m, CW_LENGTH, "mm", 0.1e-3, 10e-3, err));
    CW_TRY(cw_check_within("head diameter", d->head_m, CW_LENGTH, "mm", 0.5e-3, 50e-3, err));
    CW_TRY(cw_check_within("tip thickness", d->tip_m, CW_LENGTH, "mm", 0.05e-3, 5e-3, err));
    CW_TRY(cw_check_within("tip width", d->tip_width_m, CW_LENGTH, "mm", 0.2e-3, 50e-3, err));
    CW_TRY(cw_check_within("taper of the tip", d->taper_rad, CW_ANGLE, "deg", 0, M_PI / 3, err));
    CW_TRY(cw_check_within("friction", d->mu, CW_PLAIN, NULL, 0, 1.5, err));
    if (d->slot_m >= d->head_m)
        return cw_fail(err, CW_RANGE,
                       "a slot of %.3g mm in a head of %.3g mm; the slot is the narrow size, less than the head",
                       d->slot_m / MM, d->head_m / MM);
    if (d->tip_m > d->slot_m)
        return cw_fail(err, CW_RANGE, "the tip, %.3g mm, is thicker than its slot, %.3g mm; hone it to %.3g mm",
                       d->tip_m / MM, d->slot_m / MM, 0.96 * d->slot_m / MM);
    if (d->tip_width_m > 1.02 * d->head_m)
        return cw_fail(err, CW_RANGE,
                       "the tip, %.3g mm wide, stands out over a head of %.3g mm and scars what lies around it; "
                       "%.3g mm would do",
                       d->tip_width_m / MM, d->head_m / MM, 0.95 * d->head_m / MM);
    if (!(isnan(d->core_m) || (d->core_m > 0.1e-3 && d->core_m < d->head_m)))
        return cw_fail(err, CW_RANGE,
                       "a screw core of %.3g mm under a head of %.3g mm; the core is thinner than the head",
                       d->core_m / MM, d->head_m / MM);
    return CW_OK;
}

cw_status cw_driver_find(const cw_driver *driver, cw_driver_result *result, cw_error *err)
{
    CW_TRY(check_driver(driver, err));
    double b = driver->tip_width_m, half = driver->taper_rad / 2;
    /* thickness where the slot's mouth stops a tapered tip, or the end on the slot's floor does */
    double at_mouth = driver->tip_m + 2 * driver->depth_m * tan(half);
    double seated = fmin(at_mouth, driver->slot_m), engaged = driver->depth_m;
    if (at_mouth > driver->slot_m)
        engaged = (driver->slot_m - driver->tip_m) / (2 * tan(half));
    double play = driver->slot_m - seated;
    /* a tapered tip bears on the mouth's edge, a parallel one over its depth; an edge takes a fifth of its depth to
     * bear */
    double bearing = half > 0 ? fmax(engaged, 0) * 0.2 : driver->depth_m;
    double arm = 2 * b / 3; /* between the centres of two triangles of pressure, each b/2 long */
    double slot_force = driver->screw->yield_pa.value * bearing * (b / 2) / 2;
    double climb = tan(half - atan(driver->mu));
    *result = (cw_driver_result){
        .best_tip_m = 0.96 * driver->slot_m,
        .best_width_m = 0.95 * driver->head_m,
        .taper_most_rad = 2 * atan((driver->slot_m - driver->tip_m) / (2 * driver->depth_m)),
        .play_m = play,
        .tilt_rad = asin(fmin(1, play / b)),
        .tip_torque_n_m = cw_material_shear_yield_pa(driver->tip) / cw_bar_torsion_stress_per_torque(b, driver->tip_m),
        .slot_torque_n_m = slot_force * arm,
        .screw_torque_n_m = isnan(driver->core_m) ? NAN
                                                  : cw_material_shear_yield_pa(driver->screw) /
                                                        cw_round_torsion_stress_per_torque(driver->core_m),
        .press_per_torque = climb > 0 ? 2 * climb / arm : 0,
    };
    return CW_OK;
}

#define ISO_RECESS "ISO 4757 and ISO 8764-1, from memory"
#define JIS_RECESS "JIS B 1012 type S, a screw maker's published table"
#define ASME_RECESS "ASME B18.6.3 (boltingspecialist.com)"
static const cw_recess recesses[] = {
    {"M1.2", 0, 1.8 * MM, 0.45 * MM, 1.3 * MM, JIS_RECESS},
    {"M1.4", 0, 2.0 * MM, 0.5 * MM, 1.55 * MM, JIS_RECESS},
    {"M1.6", 0, 2.4 * MM, 0.55 * MM, 1.65 * MM, JIS_RECESS},
    {"M1.7", 0, 2.5 * MM, 0.5 * MM, 1.7 * MM, JIS_RECESS},
    {"M2", 0, 3.0 * MM, 0.6 * MM, 2.0 * MM, JIS_RECESS},
    {"M2.3", 0, 3.5 * MM, 0.7 * MM, 2.2 * MM, JIS_RECESS},
    {"M2.5", 1, NAN, NAN, NAN, ISO_RECESS},
    {"M3", 1, NAN, NAN, NAN, ISO_RECESS},
    {"M3.5", 2, NAN, NAN, NAN, ISO_RECESS},
    {"M4", 2, NAN, NAN, NAN, ISO_RECESS},
    {"M5", 2, NAN, NAN, NAN, ISO_RECESS},
    {"M6", 3, NAN, NAN, NAN, ISO_RECESS},
    {"M8", 4, NAN, NAN, NAN, ISO_RECESS},
    {"M10", 4, NAN, NAN, NAN, ISO_RECESS},
    {"#0", 0, NAN, NAN, NAN, ASME_RECESS},
    {"#1", 0, NAN, NAN, NAN, ASME_RECESS},
    {"#2", 1, NAN, NAN, NAN, ASME_RECESS},
    {"#3", 1, NAN, NAN, NAN, ASME_RECESS},
    {"#4", 1, NAN, NAN, NAN, ASME_RECESS},
    {"#5", 2, NAN, NAN, NAN, ASME_RECESS},
    {"#6", 2, NAN, NAN, NAN, ASME_RECESS},
    {"#8", 2, NAN, NAN, NAN, ASME_RECESS},
    {"#10", 2, NAN, NAN, NAN, ASME_RECESS},
    {"#12", 3, NAN, NAN, NAN, ASME_RECESS},
    {"1/4", 3, NAN, NAN, NAN, ASME_RECESS},
    {"5/16", 4, NAN, NAN, NAN, ASME_RECESS},
    {"3/8", 4, NAN, NAN, NAN, ASME_RECESS},
};

const cw_recess *cw_recesses(size_t *count)
{
    *count = CW_COUNT(recesses);
    return recesses;
}

const cw_recess *cw_recess_find(const char *thread)
{
    for (size_t i = 0; i < CW_COUNT(recesses); i++)
        if (strcasecmp(recesses[i].thread, thread) == 0)
            return &recesses[i];
    return NULL;
}
