/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Strength of a spur gear's tooth: a short beam loaded at its tip (Lewis). SI units. */
#ifndef CW_WORKSHOP_TOOTH_H
#define CW_WORKSHOP_TOOTH_H

#include "base/error.h"
#include "base/quantity.h"

typedef struct {
    int teeth;
    double module_m;
    double pressure_angle_rad;
    double shift;      /* profile shift x; 0 standard */
    double addendum;   /* over the module: 1, stub teeth 0.8 */
    double dedendum;   /* over the module: 1.25 */
    double tip_radius; /* of the cutter, over the module, 0 to the largest it has room for: 0.3 */
} cw_tooth;

/* Lewis' form factor Y by the tooth's own outline: the least of t^2/(6 l m) over the root fillet that a rack cutter
 * generates, t the tooth's thickness and l its distance below the point where the line of the tip load crosses the
 * middle of the tooth (Lewis' parabola; the derivation stands in Shigley, Mechanical Engineering Design, gears, "the
 * Lewis bending equation"). CW_RANGE: a tooth that is pointed, or cut away by undercut. */
cw_status cw_tooth_form_factor(const cw_tooth *tooth, double *factor, cw_error *err)
    __attribute__((warn_unused_result));

/* Y of the printed table for standard teeth of 20 degrees, full depth, 12 teeth or more; straight between its rows;
 * NaN below 12. Shigley, table 14-2, from memory. */
double cw_tooth_table_factor(int teeth);

/* How the teeth were made, for what speed adds (Barth): the velocity factor Kv >= 1. Shigley, equations 14-4 and 14-6,
 * from memory. */
typedef enum { CW_TOOTH_STILL, CW_TOOTH_CAST, CW_TOOTH_MILLED, CW_TOOTH_HOBBED, CW_TOOTH_GROUND } cw_tooth_finish;

double cw_tooth_velocity_factor(cw_tooth_finish finish, double speed_m_s);

/* Bending stress at the root: Kv W/(b m Y). force_n along the pitch circle, face_m the width of the tooth. */
double cw_tooth_stress_pa(double force_n, double face_m, double module_m, double factor, double velocity_factor);

#endif
