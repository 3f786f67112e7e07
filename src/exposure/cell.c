/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "exposure/cell.h"

#include <math.h>
#include <string.h>

#include "base/propagate.h"
#include "base/range.h"

#define MM 1e-3
#define MAH 3.6
#define BOLTZMANN 1.380649e-23 /* J/K, exact in the SI */
#define CHARGE 1.602176634e-19 /* C, exact */

/* Voltages: blaukatz.com, "Mercury Buttons", and liquisearch.com, "Mercury battery substitutes". Sizes and capacities:
 * IEC 60086 and data-sheet order, from memory. */
#define VOLTAGES "voltage: blaukatz.com, \"Mercury Buttons\"; size and capacity from memory"
static const cw_cell cells[] = {
    {"MR9", "MR9 mercury button (obsolete, banned)", 1.35, 0.01, 1.1, 15.6 * MM, 5.9 * MM, 360 * MAH,
     "flat till about 95 % used; hazardous waste", VOLTAGES},
    {"MR52", "MR52 mercury (obsolete, banned)", 1.35, 0.01, 1.1, 15.9 * MM, 11.1 * MM, 500 * MAH,
     "flat till about 95 % used; hazardous waste", VOLTAGES},
    {"MR44", "MR44 mercury button (obsolete, banned)", 1.35, 0.01, 1.1, 11.6 * MM, 5.4 * MM, 190 * MAH,
     "flat till about 95 % used; hazardous waste", VOLTAGES},
    {"SR44", "SR44 silver oxide", 1.55, 0.02, 1.2, 11.6 * MM, 5.4 * MM, 165 * MAH,
     "very flat, 1.6 fresh; needs a ring to fill a 15.6 mm holder",
     "1.55 nominal: blaukatz.com and liquisearch.com; size and capacity from memory"},
    {"LR44", "LR44 alkaline", 1.35, 0.12, 1.0, 11.6 * MM, 5.4 * MM, 120 * MAH,
     "1.5 fresh falling to 1.0: the meter drifts with it", VOLTAGES},
    {"PR44", "PR44 zinc-air, with vent closed to one hole", 1.37, 0.025, 1.1, 11.6 * MM, 5.4 * MM, 600 * MAH,
     "1.40 fresh, 1.35 in use; dries out in some months once opened, and needs air", VOLTAGES},
    {"LR9", "LR9 alkaline, made to fit the holder", 1.35, 0.12, 1.0, 15.6 * MM, 5.9 * MM, 190 * MAH,
     "1.5 fresh falling to 1.0: the meter drifts with it", VOLTAGES},
    {"CR-1/3N", "CR1/3N lithium", 3.0, 0.1, 2.0, 11.6 * MM, 10.8 * MM, 160 * MAH, "for two cells in a row",
     "from memory"},
};

const cw_cell *cw_cells(size_t *count)
{
    *count = CW_COUNT(cells);
    return cells;
}

const cw_cell *cw_cell_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(cells); i++)
        if (strcmp(cells[i].key, key) == 0)
            return &cells[i];
    return NULL;
}

/* values: made_for_v, cell_v, gamma; context: the share of fixed resistance. NaN when the needle leaves its scale. */
static double series_error(const double *values, const void *context)
{
    double fixed = *(const double *)context, photo = 1 - fixed;
    double shown = values[0] / values[1] - fixed;
    return shown > 0 ? log2(shown / photo) / values[2] : NAN;
}

static cw_status check_swap(const cw_cell_swap *swap, cw_error *err)
{
    CW_TRY(cw_check_within("voltage the meter was made for", swap->made_for_v.value, CW_VOLTAGE, "V", 0.5, 12, err));
    CW_TRY(cw_check_within("voltage of the cell", swap->cell_v.value, CW_VOLTAGE, "V", 0.5, 12, err));
    CW_TRY(cw_check_within("gamma of the photoresistor", swap->gamma.value, CW_PLAIN, NULL, 0.3, 1.5, err));
    return cw_check_within("share of fixed resistance", swap->fixed_share, CW_FRACTION, "%", 0, 0.6, err);
}

cw_status cw_cell_swap_error(const cw_cell_swap *swap, cw_quantity *error_ev, cw_error *err)
{
    CW_TRY(check_swap(swap, err));
    if (swap->circuit == CW_METER_BRIDGE) {
        *error_ev =
            (cw_quantity){0, 0.02}; /* bridges are not balanced to better than that; common practice, no source */
        return CW_OK;
    }
    const cw_quantity inputs[] = {swap->made_for_v, swap->cell_v, swap->gamma};
    cw_quantity error = cw_propagate(CW_COUNT(inputs), inputs, series_error, &swap->fixed_share);
    if (isnan(error.value))
        return cw_fail(err, CW_RANGE,
                       "%.3g V in a meter made for %.3g V drives the needle off its scale at this level; use a cell of "
                       "about %.3g V, or "
                       "a circuit that drops the difference",
                       swap->cell_v.value, swap->made_for_v.value, swap->made_for_v.value);
    *error_ev = error;
    return CW_OK;
}

/* Constants of the order of data sheets: a small-signal Schottky diode drops about 0.15 V at tens of microamperes and
 * 0.2 to 0.3 V at 0.1 to 1 mA; silicon about 0.5 V, germanium 0.1 to 0.2 V. From memory: measure the one in hand. */
static const cw_diode diodes[] = {
    {"schottky", "Small-signal Schottky", 1e-7, 1.05,
     "order of data sheets, from memory; 0.15 V at tens of microamperes: a forum post"},
    {"germanium", "Germanium point contact", 1e-6, 1.3,
     "order of data sheets, from memory; leaks, and drifts with warmth"},
    {"silicon", "Silicon signal diode", 4e-9, 1.9,
     "order of data sheets, from memory; drops far too much for one cell"},
};

const cw_diode *cw_diodes(size_t *count)
{
    *count = CW_COUNT(diodes);
    return diodes;
}

const cw_diode *cw_diode_find(const char *key)
{
    for (size_t i = 0; i < CW_COUNT(diodes); i++)
        if (strcmp(diodes[i].key, key) == 0)
            return &diodes[i];
    return NULL;
}

double cw_diode_drop_v(double saturation_a, double ideality, double current_a, double temperature_k)
{
    return ideality * BOLTZMANN * temperature_k / CHARGE * log1p(current_a / saturation_a);
}

double cw_diode_saturation_a(double drop_v, double current_a, double ideality, double temperature_k)
{
    return current_a / expm1(drop_v * CHARGE / (ideality * BOLTZMANN * temperature_k));
}

cw_status cw_diode_along(const cw_cell_swap *swap, double saturation_a, double ideality, double temperature_k,
                         double least_a, double most_a, size_t n, cw_diode_point *points, cw_error *err)
{
    CW_TRY(check_swap(swap, err));
    CW_TRY(cw_check_within("diode constant Is", saturation_a, CW_CURRENT, "A", 1e-15, 1e-3, err));
    CW_TRY(cw_check_within("ideality of the diode", ideality, CW_PLAIN, NULL, 0.9, 3, err));
    CW_TRY(cw_check_within("temperature", temperature_k, CW_TEMPERATURE, "degC", 233, 343, err));
    CW_TRY(cw_check_within("least meter current", least_a, CW_CURRENT, "uA", 1e-7, 0.1, err));
    CW_TRY(cw_check_within("largest meter current", most_a, CW_CURRENT, "uA", least_a, 0.1, err));
    if (n < 2)
        return cw_fail(err, CW_RANGE, "%zu currents; two at least make a range", n);
    cw_quantity without;
    CW_TRY(cw_cell_swap_error(swap, &without, err));
    for (size_t i = 0; i < n; i++) {
        double current = least_a * pow(most_a / least_a, (double)i / (double)(n - 1));
        double drop = cw_diode_drop_v(saturation_a, ideality, current, temperature_k);
        cw_cell_swap with = *swap;
        with.cell_v.value -= drop;
        cw_quantity error;
        cw_status status = cw_cell_swap_error(&with, &error, err);
        if (status != CW_OK) {
            cw_context(err, "behind a diode that drops %.3g V", drop);
            return status;
        }
        points[i] = (cw_diode_point){current, drop, with.cell_v.value, error.value, without.value};
    }
    return CW_OK;
}
