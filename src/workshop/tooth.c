/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/tooth.h"

#include <math.h>
#include <stddef.h>

#include "base/range.h"

enum { FILLET_POINTS = 2000 };

static double involute(double angle)
{
    return tan(angle) - angle;
}

static cw_status check_tooth(const cw_tooth *t, cw_error *err)
{
    CW_TRY(cw_check_within("teeth", t->teeth, CW_PLAIN, NULL, 6, 1000, err));
    CW_TRY(cw_check_within("pressure angle", t->pressure_angle_rad, CW_ANGLE, "deg", M_PI / 18, M_PI / 6, err));
    CW_TRY(cw_check_within("profile shift", t->shift, CW_PLAIN, NULL, -1, 1.5, err));
    CW_TRY(cw_check_within("addendum over module", t->addendum, CW_PLAIN, NULL, 0.5, 1.3, err));
    CW_TRY(cw_check_within("dedendum over module", t->dedendum, CW_PLAIN, NULL, 0.6, 1.7, err));
    return cw_check_within("tip radius of the cutter over module", t->tip_radius, CW_PLAIN, NULL, 0, 0.5, err);
}

/* A section of the root fillet: half the tooth's thickness there, and its height over the gear's middle, in modules. */
typedef struct {
    double half, height;
} section;

/* The rack rolls on the pitch circle; where its rounded corner, centre (across, deep) from the pitch point, touches the
 * tooth, the common normal passes through the pitch point. `across` runs from the bottom of the root to where the
 * straight flank takes over. */
static section fillet_point(const cw_tooth *t, double corner_m, double across, double deep)
{
    double radius = t->teeth / 2.0, length = hypot(across, deep);
    double x = across + t->tip_radius * across / length, y = deep + t->tip_radius * deep / length + radius;
    double rolled = (across - corner_m) / radius;
    double turned_x = x * cos(rolled) - y * sin(rolled), turned_y = x * sin(rolled) + y * cos(rolled);
    double from_middle = M_PI / t->teeth - atan2(turned_x, turned_y), out = hypot(turned_x, turned_y);
    const section at = {out * sin(from_middle), out * cos(from_middle)};
    return at;
}

cw_status cw_tooth_form_factor(const cw_tooth *tooth, double *factor, cw_error *err)
{
    CW_TRY(check_tooth(tooth, err));
    double a = tooth->pressure_angle_rad, radius = tooth->teeth / 2.0, base = radius * cos(a);
    double tip = radius + tooth->addendum + tooth->shift, tip_angle = acos(base / tip);
    double half_tip =
        M_PI / (2 * tooth->teeth) + 2 * tooth->shift * tan(a) / tooth->teeth + involute(a) - involute(tip_angle);
    if (!(half_tip > 0))
        return cw_fail(err, CW_RANGE, "a tooth of %d with a profile shift of %g is pointed below its tip; less shift",
                       tooth->teeth, tooth->shift);
    double load_height = base / cos(tip_angle - half_tip); /* where the tip load crosses the middle of the tooth */
    double deep = -(tooth->dedendum - tooth->tip_radius) + tooth->shift;
    double corner = M_PI / 4 - (tooth->dedendum - tooth->tip_radius) * tan(a) - tooth->tip_radius / cos(a);
    if (!(deep < 0 && corner > 0))
        return cw_fail(err, CW_RANGE, "a cutter with a tip radius of %g modules has no room for it at %.3g degrees",
                       tooth->tip_radius, a * 180 / M_PI);
    double least = INFINITY;
    for (int i = 0; i <= FILLET_POINTS; i++) {
        double across = -deep / tan(a) * i / FILLET_POINTS;
        section s = fillet_point(tooth, corner, across, deep);
        double arm = load_height - s.height;
        if (arm > 0 && s.half > 0)
            least = fmin(least, 4 * s.half * s.half / (6 * arm));
        else if (!(s.half > 0))
            return cw_fail(err, CW_RANGE,
                           "a tooth of %d with a profile shift of %g is cut away at its root; more shift", tooth->teeth,
                           tooth->shift);
    }
    *factor = least;
    return CW_OK;
}

/* Shigley, table 14-2, from memory. The outline above, which tests/worksheets/worked_routes.py cuts again by rolling a
 * rack, lies 2 to 8 % below it over all of the table. */
double cw_tooth_table_factor(int teeth)
{
    static const struct {
        int teeth;
        double factor;
    } rows[] = {{12, 0.245}, {13, 0.261}, {14, 0.277}, {15, 0.290},  {16, 0.296},  {17, 0.303},
                {18, 0.309}, {19, 0.314}, {20, 0.322}, {21, 0.328},  {22, 0.331},  {24, 0.337},
                {26, 0.346}, {28, 0.353}, {30, 0.359}, {34, 0.371},  {38, 0.384},  {43, 0.397},
                {50, 0.409}, {60, 0.422}, {75, 0.435}, {100, 0.447}, {150, 0.460}, {300, 0.472}};
    if (teeth < rows[0].teeth)
        return NAN;
    for (size_t i = 1; i < CW_COUNT(rows); i++)
        if (teeth <= rows[i].teeth)
            return rows[i - 1].factor + (rows[i].factor - rows[i - 1].factor) * (teeth - rows[i - 1].teeth) /
                                            (rows[i].teeth - rows[i - 1].teeth);
    /* towards the rack, 0.485, as 1/teeth goes to nothing */
    return 0.485 - (0.485 - 0.472) * 300 / teeth;
}

double cw_tooth_velocity_factor(cw_tooth_finish finish, double speed_m_s)
{
    switch (finish) {
    case CW_TOOTH_STILL:
        return 1;
    case CW_TOOTH_CAST:
        return (3.05 + speed_m_s) / 3.05;
    case CW_TOOTH_MILLED:
        return (6.1 + speed_m_s) / 6.1;
    case CW_TOOTH_HOBBED:
        return (3.56 + sqrt(speed_m_s)) / 3.56;
    case CW_TOOTH_GROUND:
        return sqrt((5.56 + sqrt(speed_m_s)) / 5.56);
    }
    return 1;
}

double cw_tooth_stress_pa(double force_n, double face_m, double module_m, double factor, double velocity_factor)
{
    return velocity_factor * force_n / (face_m * module_m * factor);
}
