/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/alcohol.h"

#include <math.h>
#include <stddef.h>

#include "base/range.h"

enum { TENTHS = 11, HALVINGS = 60 };

/* kg/m3 at 20 degrees, by tenths of alcohol by mass. */
static const struct {
    double density[TENTHS], u;
} alcohols[CW_ALCOHOL_COUNT] = {
    [CW_ALCOHOL_ISOPROPYL] = {{998.2, 981.6, 968.6, 952.0, 930.2, 906.9, 882.5, 858.4, 834.4, 809.6, 785.4}, 2},
    [CW_ALCOHOL_ETHANOL] = {{998.20, 981.87, 968.64, 953.82, 935.18, 913.84, 891.13, 867.66, 843.44, 817.97, 789.24},
                            0.2},
};

/* Share by which the mix is smaller than its two parts. */
static double shrinkage(const double *density, size_t tenth)
{
    double w = (double)tenth / (TENTHS - 1);
    double apart = w / density[TENTHS - 1] + (1 - w) / density[0];
    return 1 - 1 / (density[tenth] * apart);
}

/* The shrinkage at `tenths` by the parabola through a tenth and its two neighbours. */
static double parabola(const double *density, double middle_tenth, double tenths)
{
    size_t middle = (size_t)fmin(fmax(middle_tenth, 1), TENTHS - 2);
    double x = tenths - (double)middle;
    double before = shrinkage(density, middle - 1), here = shrinkage(density, middle),
           after = shrinkage(density, middle + 1);
    return here + x * (after - before) / 2 + x * x * (before + after - 2 * here) / 2;
}

double cw_alcohol_density(cw_alcohol alcohol, double by_mass)
{
    if (!(by_mass >= 0 && by_mass <= 1))
        return NAN;
    const double *density = alcohols[alcohol].density;
    double tenths = by_mass * (TENTHS - 1), below = floor(tenths), on = tenths - below;
    /* from the parabola of the tenth below over to that of the one above, so that no step is left between them */
    double shrinks = (1 - on) * parabola(density, below, tenths) + on * parabola(density, below + 1, tenths);
    double apart = by_mass / density[TENTHS - 1] + (1 - by_mass) / density[0];
    return 1 / (apart * (1 - shrinks));
}

double cw_alcohol_density_u(cw_alcohol alcohol)
{
    return alcohols[alcohol].u;
}

double cw_alcohol_by_volume(cw_alcohol alcohol, double by_mass)
{
    return by_mass * cw_alcohol_density(alcohol, by_mass) / alcohols[alcohol].density[TENTHS - 1];
}

double cw_alcohol_by_mass(cw_alcohol alcohol, double by_volume)
{
    double low = 0, high = 1;
    for (int i = 0; i < HALVINGS; i++) {
        double middle = (low + high) / 2;
        *(cw_alcohol_by_volume(alcohol, middle) < by_volume ? &low : &high) = middle;
    }
    return (low + high) / 2;
}

/* Mass fraction of what is counted by volume, mass or parts; parts of alcohol in what would be poured, unshrunk. */
static double mass_fraction(cw_alcohol alcohol, double strength, cw_strength_by by)
{
    const double *density = alcohols[alcohol].density;
    if (by == CW_BY_MASS)
        return strength;
    if (by == CW_BY_VOLUME)
        return cw_alcohol_by_mass(alcohol, strength);
    double alcohol_part = strength * density[TENTHS - 1], water = (1 - strength) * density[0];
    return alcohol_part / (alcohol_part + water);
}

cw_status cw_dilute(cw_alcohol alcohol, double stock, double wanted, cw_strength_by by, double amount_m3,
                    cw_dilution *dilution, cw_error *err)
{
    CW_TRY(cw_check_within("strength in the bottle", stock, CW_FRACTION, "%", 0.01, 1, err));
    CW_TRY(cw_check_within("strength wanted", wanted, CW_FRACTION, "%", 0.01, 1, err));
    CW_TRY(cw_check_within("amount", amount_m3, CW_VOLUME, "ml", 1e-6, 0.1, err));
    if (wanted > stock + 1e-12)
        return cw_fail(
            err, CW_RANGE,
            "%.3g %% is wanted from a bottle of %.3g %%; water only thins. Start from a stronger one, or take "
            "%.3g %% or less",
            wanted * 100, stock * 100, stock * 100);
    double water_density = alcohols[alcohol].density[0];
    double have = mass_fraction(alcohol, stock, by), want = mass_fraction(alcohol, wanted, by);
    double have_density = cw_alcohol_density(alcohol, have), want_density = cw_alcohol_density(alcohol, want);
    cw_dilution d = {.by_mass = want, .by_volume = cw_alcohol_by_volume(alcohol, want)};
    if (by == CW_BY_PARTS) { /* the bottle's parts are poured as they are: wanted over stock of the whole */
        d.stock_m3 = amount_m3 * wanted / stock;
        d.water_m3 = amount_m3 - d.stock_m3;
        d.stock_kg = d.stock_m3 * have_density;
        d.water_kg = d.water_m3 * water_density;
        d.by_mass = d.stock_kg * have / (d.stock_kg + d.water_kg);
        d.by_volume = cw_alcohol_by_volume(alcohol, d.by_mass);
        d.made_m3 = (d.stock_kg + d.water_kg) / cw_alcohol_density(alcohol, d.by_mass);
    } else {
        double mass = amount_m3 * want_density;
        d.stock_kg = mass * want / have;
        d.water_kg = fmax(0, mass - d.stock_kg);
        d.stock_m3 = d.stock_kg / have_density;
        d.water_m3 = d.water_kg / water_density;
        d.made_m3 = amount_m3;
    }
    d.shrinks_m3 = fmax(0, d.stock_m3 + d.water_m3 - d.made_m3);
    *dilution = d;
    return CW_OK;
}
