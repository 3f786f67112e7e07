/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/bar.h"

#include <math.h>

/* The series fall off as 1/n^5 and faster than exp(-n pi b/2t)/n^2; 199 is far below rounding for both. */
enum { LAST_ODD = 199 };

static void order(double *thin, double *wide)
{
    if (*thin > *wide) {
        double swap = *thin;
        *thin = *wide;
        *wide = swap;
    }
}

double cw_bar_torsion_constant(double side_a, double side_b)
{
    if (!(side_a > 0 && side_b > 0))
        return NAN;
    double t = side_a, b = side_b;
    order(&t, &b);
    double sum = 0;
    for (int n = LAST_ODD; n >= 1; n -= 2)
        sum += tanh(n * M_PI * b / (2 * t)) / pow(n, 5);
    return b * t * t * t / 3 * (1 - 192 / pow(M_PI, 5) * t / b * sum);
}

double cw_bar_torsion_stress_per_torque(double side_a, double side_b)
{
    if (!(side_a > 0 && side_b > 0))
        return NAN;
    double t = side_a, b = side_b;
    order(&t, &b);
    double sum = 0;
    for (int n = LAST_ODD; n >= 1; n -= 2)
        sum += 1 / (n * n *
                    cosh(fmin(n * M_PI * b / (2 * t), 700))); /* cosh overflows beyond, the term is nil long before */
    return t * (1 - 8 / (M_PI * M_PI) * sum) / cw_bar_torsion_constant(t, b);
}

double cw_round_torsion_constant(double diameter)
{
    return diameter > 0 ? M_PI * pow(diameter, 4) / 32 : NAN;
}

double cw_round_torsion_stress_per_torque(double diameter)
{
    return diameter > 0 ? 16 / (M_PI * pow(diameter, 3)) : NAN;
}
