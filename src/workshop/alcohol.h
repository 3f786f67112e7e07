/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Alcohol thinned with water: the two together take up less room than apart. SI units, 20 degrees Celsius. */
#ifndef CW_WORKSHOP_ALCOHOL_H
#define CW_WORKSHOP_ALCOHOL_H

#include "base/error.h"

typedef enum { CW_ALCOHOL_ISOPROPYL, CW_ALCOHOL_ETHANOL, CW_ALCOHOL_COUNT } cw_alcohol;

/* Density of the mix by its mass fraction of alcohol, kg/m3, the shrinkage by parabolas through three tenths.
 * Ethanol: OIML R 22, isopropyl alcohol: Perry's Chemical Engineers' Handbook, densities of aqueous solutions; both
 * from memory, to about 0.2 and 2 kg/m3; their excess volumes are those the literature gives
 * (tests/workshop/alcohol.c). NaN outside 0 to 1. */
double cw_alcohol_density(cw_alcohol alcohol, double by_mass);
double cw_alcohol_density_u(cw_alcohol alcohol); /* how well it is known, k = 1 */

/* Fraction by volume: volume the alcohol in it had when pure, over the volume of the mix, both at 20 degrees (what
 * stands on a bottle), to and from the fraction by mass. */
double cw_alcohol_by_volume(cw_alcohol alcohol, double by_mass);
double cw_alcohol_by_mass(cw_alcohol alcohol, double by_volume);

typedef enum {
    CW_BY_VOLUME, /* as on the bottle; what shrinks is made up with water */
    CW_BY_MASS,
    CW_BY_PARTS /* parts measured before mixing, "70 to 30": nothing made up */
} cw_strength_by;

typedef struct {
    double stock_m3, water_m3; /* to pour together */
    double stock_kg, water_kg; /* the same by weight */
    double by_volume, by_mass; /* of the mix */
    double made_m3;            /* what the mix fills */
    double shrinks_m3;         /* poured less made */
} cw_dilution;

/* stock, wanted   fraction of alcohol in the bottle and in the mix, both counted `by`
 * amount_m3       of the mix; with CW_BY_PARTS of what is poured together; 1 ml to 100 l
 * CW_RANGE        wanted above the stock ("water only thins"), fractions outside 1 % to 100 % */
cw_status cw_dilute(cw_alcohol alcohol, double stock, double wanted, cw_strength_by by, double amount_m3,
                    cw_dilution *dilution, cw_error *err) __attribute__((warn_unused_result));

#endif
