/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Torsion of straight bars, Saint-Venant. Rectangles by the exact series (Timoshenko and Goodier, Theory of Elasticity,
 * art. 109), not by the rounded handbook coefficients. */
#ifndef CW_WORKSHOP_BAR_H
#define CW_WORKSHOP_BAR_H

/* Torsion constant J of a rectangle, any units in, their fourth power out: twist per length = T / (G J).
 * Both sides > 0, in either order; NaN otherwise. Tends to b t^3 / 3 for a thin strip. */
double cw_bar_torsion_constant(double side_a, double side_b);

/* Largest shear stress over torque, 1/units^3: at the middle of the longer side. */
double cw_bar_torsion_stress_per_torque(double side_a, double side_b);

/* The same for a round bar: pi d^4/32 and 16/(pi d^3). */
double cw_round_torsion_constant(double diameter);
double cw_round_torsion_stress_per_torque(double diameter);

#endif
