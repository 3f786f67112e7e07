/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/grip.h"

#include <math.h>

#include "base/range.h"

#define MM 1e-3
#define DEG (M_PI / 180)

double cw_ring_torque_even_pressure_n_m(double mu, double force_n, double inner_m, double outer_m)
{
    double r = inner_m, R = outer_m; /* (R^3 - r^3)/(R^2 - r^2) without the difference of like numbers */
    return 2.0 / 3 * mu * force_n * (R * R + R * r + r * r) / (R + r);
}

double cw_ring_torque_even_wear_n_m(double mu, double force_n, double inner_m, double outer_m)
{
    return mu * force_n * (outer_m + inner_m) / 2;
}

double cw_screw_force_n(double torque_n_m, double diameter_m, double k)
{
    return torque_n_m / (k * diameter_m);
}

double cw_rubber_ring_windup_rad_n_m(double inner_m, double outer_m, double height_m, double shear_modulus_pa)
{
    return height_m / (shear_modulus_pa * M_PI / 2 * (pow(outer_m, 4) - pow(inner_m, 4)));
}

double cw_lining_windup_rad_n_m(double radius_m, double height_m, double arc_rad, double lining_m,
                                double shear_modulus_pa)
{
    return lining_m / (shear_modulus_pa * pow(radius_m, 3) * height_m * arc_rad);
}

double cw_lever_windup_rad_n_m(double length_m, double diameter_m, double elastic_pa)
{
    return length_m / (3 * elastic_pa * M_PI * pow(diameter_m, 4) / 64);
}

double cw_lever_yield_n_m(double diameter_m, double yield_pa)
{
    return yield_pa * M_PI * pow(diameter_m, 3) / 32;
}

cw_status cw_friction_ring_find(const cw_friction_ring *ring, cw_friction_ring_result *result, cw_error *err)
{
    CW_TRY(cw_check_within("outside diameter of the rubber", ring->outer_m, CW_LENGTH, "mm", 3e-3, 0.3, err));
    CW_TRY(cw_check_within("inside diameter of the rubber", ring->inner_m, CW_LENGTH, "mm", 0, 0.3, err));
    CW_TRY(cw_check_within("thickness of the rubber", ring->rubber_m, CW_LENGTH, "mm", 0.2e-3, 20e-3, err));
    CW_TRY(cw_check_within("squash of the rubber", ring->squash, CW_FRACTION, "%", 0.02, 0.5, err));
    CW_TRY(cw_check_within("push", ring->push_n, CW_FORCE, "N", 0.1, 400, err));
    CW_TRY(cw_check_within("friction", ring->mu, CW_PLAIN, NULL, 0.02, 3, err));
    CW_TRY(cw_check_within("rise of the glass", ring->glass_rise_m, CW_LENGTH, "mm", -20e-3, 50e-3, err));
    if (ring->inner_m > ring->outer_m - 1 * MM)
        return cw_fail(err, CW_RANGE,
                       "a ring from %.4g to %.4g mm is too narrow to cut; an inside of %.4g mm leaves 1 mm of rubber",
                       ring->inner_m / MM, ring->outer_m / MM, (ring->outer_m - 2 * MM) / MM);
    if (ring->glass_m > 0 && ring->inner_m < ring->glass_m + 0.5 * MM)
        return cw_fail(err, CW_RANGE, "the ring's inside, %.4g mm, lies on glass of %.4g mm; %.4g mm keeps it free",
                       ring->inner_m / MM, ring->glass_m / MM, (ring->glass_m + 0.5 * MM) / MM);
    if (ring->grip_m < ring->outer_m)
        return cw_fail(err, CW_RANGE, "a holder of %.4g mm cannot carry a ring of %.4g mm; make it %.4g mm",
                       ring->grip_m / MM, ring->outer_m / MM, (ring->outer_m + 4 * MM) / MM);
    double r = ring->inner_m / 2, R = ring->outer_m / 2;
    double pressed = ring->rubber_m * (1 - ring->squash);
    bool hollow = ring->glass_m > 0 && ring->glass_rise_m + 0.5 * MM > pressed;
    double worn = cw_ring_torque_even_wear_n_m(ring->mu, ring->push_n, r, R);
    *result = (cw_friction_ring_result){
        .torque_n_m = cw_ring_torque_even_pressure_n_m(ring->mu, ring->push_n, r, R),
        .torque_worn_n_m = worn,
        .pressure_pa = ring->push_n / (M_PI * (R * R - r * r)),
        .push_per_n_m = ring->push_n / worn,
        .hand_force_per_n_m = 2 / ring->grip_m,
        .recess_m = hollow ? ring->glass_rise_m - pressed + 1 * MM : 0,
        .bore_m = hollow ? ring->glass_m + 1 * MM : 0,
    };
    return CW_OK;
}

static cw_status check_collar(const cw_collar *c, double play_m, cw_error *err)
{
    CW_TRY(cw_check_within("diameter to grip", c->bore_m, CW_LENGTH, "mm", 3e-3, 0.3, err));
    CW_TRY(cw_check_within("height of the edge", c->edge_m, CW_LENGTH, "mm", 0.2e-3, 50e-3, err));
    CW_TRY(cw_check_within("wall of the cap", c->wall_m, CW_LENGTH, "mm", 0, c->bore_m / 2, err));
    CW_TRY(cw_check_within("thickness of the collar", c->collar_m, CW_LENGTH, "mm", 0.3e-3, 50e-3, err));
    CW_TRY(cw_check_within("closing force", c->closing_n, CW_FORCE, "N", 0.1, 20e3, err));
    CW_TRY(cw_check_within("lever", c->lever_m, CW_LENGTH, "mm", c->bore_m / 2, 0.5, err));
    CW_TRY(cw_check_within("friction", c->mu, CW_PLAIN, NULL, 0.02, 3, err));
    CW_TRY(cw_check_within("split", c->gap_m, CW_LENGTH, "mm", 0.1e-3, c->bore_m / 2, err));
    if (!(play_m >= 0 && play_m <= c->gap_m / M_PI))
        return cw_fail(
            err, CW_RANGE,
            "the open collar is %.3g mm larger than the cap and a split of %.3g mm takes up %.3g mm (gap over pi); a "
            "split of %.3g mm would close it",
            play_m / MM, c->gap_m / MM, c->gap_m / M_PI / MM, M_PI * play_m / MM);
    return CW_OK;
}

cw_status cw_collar_find(const cw_collar *c, double play_m, cw_collar_result *result, cw_error *err)
{
    CW_TRY(check_collar(c, play_m, err));
    double r = c->bore_m / 2, middle = r + c->collar_m / 2, I = c->edge_m * pow(c->collar_m, 3) / 12;
    double lost = M_PI * play_m * c->collar->elastic_pa.value * I / (3 * M_PI * pow(middle, 3));
    if (lost >= c->closing_n)
        return cw_fail(
            err, CW_RANGE,
            "a closing force of %.3g N only bends this collar round, which takes %.3g N; a thinner collar or %.3g mm "
            "less play would leave force to grip",
            c->closing_n, lost, play_m / 2 / MM);
    double P = c->closing_n - lost, pressure = P / (c->edge_m * r);
    double hoop = c->wall_m > 0 ? pressure * r / c->wall_m : 0;
    *result = (cw_collar_result){
        .torque_n_m = 2 * M_PI * c->mu * P * r,
        .torque_least_n_m = 4 * c->mu * P * r,
        .pressure_pa = pressure,
        .cap_hoop_pa = hoop,
        .cap_reserve = hoop > 0 ? c->cap->yield_pa.value / hoop : INFINITY,
        .closing_most_n = hoop > 0 ? lost + c->cap->yield_pa.value * c->wall_m * c->edge_m : INFINITY,
        .hand_force_per_n_m = 1 / c->lever_m,
        .closes_m = c->gap_m / M_PI,
        .bend_n = lost,
    };
    return CW_OK;
}

/* Board left outside a point at `radius` in direction `angle`, to the block's nearest long or short edge. */
static double board_left(const cw_clamp *c, double radius, double angle)
{
    double x = radius * fabs(cos(angle)), y = radius * fabs(sin(angle));
    return fmin(c->length_m / 2 - x, c->width_m / 2 - y);
}

static double angle_between(double a, double b)
{
    return fabs(remainder(a - b, 2 * M_PI));
}

static cw_status check_clamp_sizes(const cw_clamp *c, cw_error *err)
{
    CW_TRY(cw_check_within("length of the block", c->length_m, CW_LENGTH, "mm", 15e-3, 0.5, err));
    CW_TRY(cw_check_within("width of the block", c->width_m, CW_LENGTH, "mm", 10e-3, 0.5, err));
    CW_TRY(cw_check_within("thickness of the board", c->thickness_m, CW_LENGTH, "mm", 2e-3, 0.1, err));
    CW_TRY(cw_check_within("bore", c->bore_m, CW_LENGTH, "mm", 3e-3, 0.3, err));
    CW_TRY(cw_check_within("lining", c->lining_m, CW_LENGTH, "mm", 0, 10e-3, err));
    CW_TRY(cw_check_within("saw cut", c->kerf_m, CW_LENGTH, "mm", 0.2e-3, 10e-3, err));
    CW_TRY(cw_check_within("screw hole", c->screw_m, CW_LENGTH, "mm", 2e-3, 15e-3, err));
    CW_TRY(cw_check_within("force of a screw", c->screw_n, CW_FORCE, "N", 0.1, 20e3, err));
    CW_TRY(cw_check_within("friction", c->mu, CW_PLAIN, NULL, 0.02, 3, err));
    double r = c->bore_m / 2, wall = 4 * MM;
    if (2 * c->lining_m >= c->bore_m - 2 * MM)
        return cw_fail(err, CW_RANGE, "a lining of %.3g mm fills a bore of %.4g mm; what it holds would be %.3g mm",
                       c->lining_m / MM, c->bore_m / MM, (c->bore_m - 2 * c->lining_m) / MM);
    if (c->width_m < c->bore_m + 2 * wall)
        return cw_fail(
            err, CW_RANGE,
            "a bore of %.4g mm in a block %.4g mm wide leaves %.3g mm of board; a width of %.4g mm leaves 4 mm",
            c->bore_m / MM, c->width_m / MM, (c->width_m - c->bore_m) / 2 / MM, (c->bore_m + 2 * wall) / MM);
    double least = r + c->screw_m / 2 + 2 * MM, most = c->length_m / 2 - c->screw_m / 2 - 2 * MM;
    if (c->screw_at_m < least - 1e-9 || c->screw_at_m > most + 1e-9) {
        if (least > most)
            return cw_fail(err, CW_RANGE,
                           "beside a bore of %.4g mm there is no room for screws of %.3g mm in a block %.4g mm long; "
                           "%.4g mm would do",
                           c->bore_m / MM, c->screw_m / MM, c->length_m / MM,
                           2 * (least + c->screw_m / 2 + 2 * MM) / MM);
        return cw_fail(err, CW_RANGE,
                       "screws %.4g mm from the middle meet the bore or the end of the block; %.4g to %.4g mm works",
                       c->screw_at_m / MM, least / MM, most / MM);
    }
    return CW_OK;
}

static cw_status check_cutouts(const cw_clamp *c, double *least_wall, cw_error *err)
{
    double r = c->bore_m / 2;
    for (size_t i = 0; i < c->cutout_count; i++) {
        const cw_cutout *cut = &c->cutouts[i];
        double degrees = cut->at_rad / DEG;
        if (!(cut->width_m >= 0.5 * MM && cut->width_m < 2 * r))
            return cw_fail(
                err, CW_RANGE,
                "the cutout at %.4g degrees is %.3g mm wide; 0.5 mm to less than the bore, %.4g mm, can be cut",
                degrees, cut->width_m / MM, c->bore_m / MM);
        if (!(cut->depth_m > 0 && isfinite(cut->at_rad)))
            return cw_fail(err, CW_RANGE, "the cutout at %.4g degrees is %.3g mm deep; give a depth above 0", degrees,
                           cut->depth_m / MM);
        double half = cut->width_m / 2, corner = hypot(r + cut->depth_m, half), spread = atan2(half, r + cut->depth_m);
        double left =
            fmin(board_left(c, r + cut->depth_m, cut->at_rad),
                 fmin(board_left(c, corner, cut->at_rad + spread), board_left(c, corner, cut->at_rad - spread)));
        if (left < 2 * MM) {
            double shallower =
                fmax(0, cut->depth_m - (4 * MM - left) / fmax(fabs(cos(cut->at_rad)), fabs(sin(cut->at_rad))));
            return cw_fail(err, CW_RANGE,
                           "the cutout at %.4g degrees, %.4g mm deep, cuts the clamp in two; %.3g mm leaves about 4 mm "
                           "of board, or "
                           "make the block larger",
                           degrees, cut->depth_m / MM, shallower / MM);
        }
        for (int side = 0; side < 2; side++) { /* the screws stand across the saw cut, at 0 and 180 degrees */
            double away = angle_between(cut->at_rad, side * M_PI), along = c->screw_at_m * cos(away),
                   off = c->screw_at_m * sin(away);
            double gap = hypot(fmax(0, along - r - cut->depth_m), fmax(0, off - half)) - c->screw_m / 2;
            if (along > 0 && gap < 1 * MM)
                return cw_fail(
                    err, CW_RANGE,
                    "the cutout at %.4g degrees runs into a screw hole; make it shallower or move the screws", degrees);
            if (along > 0)
                left = fmin(left, gap);
        }
        *least_wall = fmin(*least_wall, left);
    }
    return CW_OK;
}

/* Whether the bore's edge at this angle still touches what it holds: not in the saw cut, not in a cutout. */
static bool touches(const cw_clamp *c, double angle)
{
    double r = c->bore_m / 2;
    if (fabs(r * sin(angle)) < c->kerf_m / 2)
        return false;
    for (size_t i = 0; i < c->cutout_count; i++) {
        double away = angle_between(angle, c->cutouts[i].at_rad);
        if (away < M_PI / 2 && r * sin(away) < c->cutouts[i].width_m / 2)
            return false;
    }
    return true;
}

/* One half, upper or lower: its arc and what it resolves to across the saw cut. Half a thousandth of a turn a step. */
static void half_contact(const cw_clamp *c, double sign, double *arc, double *across)
{
    enum { STEPS = 2000 };
    *arc = *across = 0;
    for (int i = 0; i < STEPS; i++) {
        double angle = sign * M_PI * (i + 0.5) / STEPS, step = M_PI / STEPS;
        if (touches(c, angle)) {
            *arc += step;
            *across += fabs(sin(angle)) * step;
        }
    }
}

/* Thinnest section of a half above the bore's crown: board between bore or cutout and the long edge. */
static double crown_board(const cw_clamp *c)
{
    double left = c->width_m / 2 - c->bore_m / 2;
    for (size_t i = 0; i < c->cutout_count; i++) {
        double away =
            fmin(angle_between(c->cutouts[i].at_rad, M_PI / 2), angle_between(c->cutouts[i].at_rad, -M_PI / 2));
        if (away < M_PI / 3) {
            double top = (c->bore_m / 2 + c->cutouts[i].depth_m) * cos(away) + c->cutouts[i].width_m / 2 * sin(away);
            left = fmin(left, c->width_m / 2 - top);
        }
    }
    return left;
}

cw_status cw_clamp_find(const cw_clamp *c, cw_clamp_result *result, cw_error *err)
{
    CW_TRY(check_clamp_sizes(c, err));
    if (c->cutout_count > CW_CUTOUTS_MOST)
        return cw_fail(err, CW_RANGE, "%zu cutouts; %d can be drawn", c->cutout_count, CW_CUTOUTS_MOST);
    double least_wall = fmin((c->width_m - c->bore_m) / 2, c->screw_at_m - c->screw_m / 2 - c->bore_m / 2);
    CW_TRY(check_cutouts(c, &least_wall, err));
    double r = c->bore_m / 2 - c->lining_m, normal = 0, contact = 0, pressure = 0, P = c->screw_n;
    for (int side = 0; side < 2; side++) {
        double arc, across;
        half_contact(c, side == 0 ? 1 : -1, &arc, &across);
        if (arc < 30 * DEG)
            return cw_fail(err, CW_RANGE,
                           "the cutouts leave only %.3g degrees of the %s half to grip with; 30 degrees are the least",
                           arc / DEG, side == 0 ? "upper" : "lower");
        /* even pressure p: p r b * across = 2 P (two screws); normal force in all p r b * arc */
        normal += 2 * P * arc / across;
        contact += arc;
        pressure = fmax(pressure, 2 * P / (r * c->thickness_m * across));
    }
    double board = crown_board(c), moment = P * (c->screw_at_m - r / 2); /* even pressure: its two halves act at r/2 */
    double bending = 6 * moment / (c->thickness_m * board * board);
    *result = (cw_clamp_result){
        .held_m = 2 * r,
        .torque_n_m = c->mu * normal * r,
        .torque_least_n_m = 4 * c->mu * P * r,
        .contact_rad = contact,
        .pressure_pa = pressure,
        .least_wall_m = fmin(least_wall, board),
        .bending_pa = bending,
        .bending_reserve = c->board->yield_pa.value / bending,
        .screw_most_n = P * c->board->yield_pa.value / bending,
    };
    return CW_OK;
}
