/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/bench_glass.h"

#include <math.h>

cw_status cw_radius_by_spherometer(cw_quantity foot_radius_mm, cw_quantity height_mm, cw_quantity ball_radius_mm,
                                   bool convex, cw_quantity *radius_mm, cw_error *err)
{
    double r = foot_radius_mm.value, h = height_mm.value, b = ball_radius_mm.value;
    if (!(r > 0 && h > 0 && b >= 0))
        return cw_fail(err, CW_RANGE,
                       "foot circle %g mm, height %g mm, balls %g mm: the height must be above zero (a plane "
                       "has no radius), the others not below",
                       r, h, b);
    if (h > r)
        return cw_fail(err, CW_RANGE,
                       "a height of %g mm over a foot circle of radius %g mm is more than half a ball; is it in "
                       "another unit?",
                       h, r);
    double by_r = r / h, by_h = 0.5 - r * r / (2 * h * h);
    double radius = (r * r + h * h) / (2 * h) + (convex ? -b : b);
    if (!(radius > 0))
        return cw_fail(err, CW_RANGE,
                       "the balls of %g mm are larger than the face is round; check which are feet and which is "
                       "face",
                       b);
    *radius_mm = (cw_quantity){radius, sqrt(pow(by_r * foot_radius_mm.u, 2) + pow(by_h * height_mm.u, 2) +
                                            ball_radius_mm.u * ball_radius_mm.u)};
    return CW_OK;
}

cw_quantity cw_foot_circle_mm(cw_quantity side_mm)
{
    return (cw_quantity){side_mm.value / sqrt(3), side_mm.u / sqrt(3)};
}

cw_status cw_radius_by_chord(cw_quantity chord_mm, cw_quantity height_mm, cw_quantity *radius_mm, cw_error *err)
{
    cw_quantity half = {chord_mm.value / 2, chord_mm.u / 2};
    return cw_radius_by_spherometer(half, height_mm, (cw_quantity){0, 0}, true, radius_mm, err);
}

cw_status cw_stack_glasses(size_t count, const double *powers_per_m, double gap_mm, double pupils_mm, cw_magnifier *out,
                           cw_error *err)
{
    if (count < 1)
        return cw_fail(err, CW_RANGE, "no glasses; give at least one power in dioptres");
    /* parallel light from the eye's side, so through the pair behind first: its slope after each, at unit height */
    double height = 1, slope = 0;
    for (size_t i = count; i-- > 0;) {
        if (!isfinite(powers_per_m[i]) || fabs(powers_per_m[i]) > 100)
            return cw_fail(err, CW_RANGE, "glasses %zu of %g dioptres; -100 to 100 can be stacked", i + 1,
                           powers_per_m[i]);
        slope -= height * powers_per_m[i];
        if (i > 0)
            height += slope * gap_mm / 1000;
    }
    double power = -slope;
    if (!(power > 0.1) || !(height > 0))
        return cw_fail(err, CW_RANGE, "together they have %.2f dioptres: no magnifier. Is a sign turned round?", power);
    double distance = height / power;
    *out = (cw_magnifier){.power_per_m = power,
                          .working_distance_m = distance,
                          .relaxed = 0.25 * power,
                          .near_point = 0.25 * power + 1,
                          .convergence_deg = 2 * atan(pupils_mm / 2000 / distance) * 57.29577951308232};
    return CW_OK;
}

/* Median grain, micrometres: FEPA 42-1 and 42-2, from memory. */
static const cw_grit grits[] = {{"F80", 185},   {"F120", 109},  {"F180", 69},   {"F220", 58},
                                {"F240", 44.5}, {"F280", 36.5}, {"F320", 29.2}, {"F400", 17.3},
                                {"F500", 12.8}, {"F600", 9.3},  {"F800", 6.5},  {"F1000", 4.5}};

const cw_grit *cw_grits(size_t *count)
{
    *count = CW_COUNT(grits);
    return grits;
}

cw_status cw_grit_steps(size_t from, size_t to, size_t *indices, size_t *steps, cw_error *err)
{
    if (from >= CW_COUNT(grits) || to >= CW_COUNT(grits) || to < from)
        return cw_fail(err, CW_RANGE, "the last grit must be as fine as the first or finer");
    size_t count = 0, at = from;
    indices[count++] = at;
    while (at < to) {
        size_t next = at + 1;
        while (next < to && grits[next + 1].grain_um >= 0.4 * grits[at].grain_um)
            next++;
        at = next;
        indices[count++] = at;
    }
    *steps = count;
    return CW_OK;
}

/* A trade table seen at camerabilia.blogspot.com, "Flange Focal Distances"; one row of it (an M42 at 28.8) is wrong and
 * is not used. The C-mount from memory. */
static const char trade_table[] = "trade table (camerabilia.blogspot.com, Flange Focal Distances)";
static const cw_mount mounts[] = {
    {"m39x26tpi", "M39x26tpi", 28.80, trade_table},
    {"m-mount", "M-mount", 27.80, trade_table},
    {"m42", "M42", 45.46, trade_table},
    {"k-mount", "K-mount", 45.46, trade_table},
    {"f-mount", "F-mount", 46.50, trade_table},
    {"sr-mount", "SR/MD-mount", 43.50, trade_table},
    {"fd-mount", "FD-mount", 42.00, trade_table},
    {"om-mount", "OM-mount", 46.00, trade_table},
    {"cy-mount", "C/Y-mount", 45.50, trade_table},
    {"r-mount", "R-mount", 47.00, trade_table},
    {"a-mount", "A-mount", 44.50, trade_table},
    {"ef-mount", "EF-mount", 44.00, trade_table},
    {"ar-mount", "AR-mount", 40.70, trade_table},
    {"m39x1", "M39x1 (reflex)", 45.20, trade_table},
    {"t2", "T2 (M42x0.75)", 55.00, trade_table},
    {"e-mount", "E-mount", 18.00, trade_table},
    {"four-thirds", "Four-thirds", 38.67, trade_table},
    {"c-mount", "C-mount", 17.526, "0.690 in, from memory"},
};

const cw_mount *cw_mounts(size_t *count)
{
    *count = CW_COUNT(mounts);
    return mounts;
}
