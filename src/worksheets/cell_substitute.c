/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a substitute for a mercury cell makes the meter read, and what corrects it. */
#include <math.h>
#include <string.h>

#include "exposure/cell.h"
#include "exposure/light.h"
#include "worksheets/fields.h"

static const cw_choice cells[] = {{"SR44", "SR44 silver oxide"}, {"LR44", "LR44 alkaline"},
                                  {"PR44", "PR44 zinc-air"},     {"LR9", "LR9 alkaline, made to fit the holder"},
                                  {"CR-1/3N", "CR1/3N lithium"}, {NULL, NULL}};
static const cw_choice old_cells[] = {
    {"MR9", "MR9 mercury button"}, {"MR52", "MR52 mercury"}, {"MR44", "MR44 mercury button"}, {NULL, NULL}};
static const cw_choice circuits[] = {{"series", "Cell, photoresistor and needle in a row"},
                                     {"bridge", "Bridge: the needle is brought to a mark"},
                                     {NULL, NULL}};
static const cw_choice diodes[] = {
    {"none", "None"},       {"schottky", "Small-signal Schottky"},         {"germanium", "Germanium"},
    {"silicon", "Silicon"}, {"measured", "Measured: give its drop below"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("made-for", "The meter was made for", old_cells, "MR9", ""),
    CW_PICK("cell", "Cell to put in", cells, "SR44", ""),
    CW_USUAL_COUNT("cells", "Cells in a row", "1", 1, 4, "of the old kind; the same number of new ones is taken"),
    CW_MAYBE("cell-voltage", "Its measured voltage", CW_VOLTAGE, "V", 0.5, 12,
             "all cells together, under the meter's load"),
    CW_PICK("circuit", "Circuit", circuits, "series",
            "turn the room light down by half: where the needle moves by itself it is a series meter"),
    CW_USUAL("gamma", "Gamma of the photoresistor", CW_PLAIN, NULL, "0.8", 0.3, 1.5,
             "0.6 to 1, from memory; resistance falls as light to this power"),
    CW_USUAL("fixed", "Fixed resistance over the whole", CW_FRACTION, "%", "10 %", 0, 0.6,
             "needle and trimmer, at a middling light"),
    CW_PICK("diode", "Diode in series", diodes, "none", ""),
    CW_MAYBE("drop", "Its measured drop", CW_VOLTAGE, "V", 0.01, 1.5, "at the current below"),
    CW_MAYBE("drop-current", "at a current of", CW_CURRENT, "uA", 1e-7, 0.05, ""),
    CW_USUAL("current-least", "Meter current, dim", CW_CURRENT, "uA", "10 uA", 1e-7, 0.05, "10 to 200 uA are usual"),
    CW_USUAL("current-most", "Meter current, bright", CW_CURRENT, "uA", "200 uA", 1e-7, 0.05, ""),
    CW_USUAL("film-speed", "Film speed", CW_PLAIN, NULL, "100", 3, 6400,
             "for the dial setting that takes the error up"),
};

static const cw_field drop_columns[] = {
    CW_MAY_SHOW("current", "Current", CW_CURRENT, "uA", 3, ""),
    CW_MAY_SHOW("drop", "Diode drops", CW_VOLTAGE, "V", 3, ""),
    CW_MAY_SHOW("meter", "Meter gets", CW_VOLTAGE, "V", 3, ""),
    CW_MAY_SHOW("error", "Exposure error", CW_EXPOSURE_STEP, "EV", 3, "+ = more light on the film"),
};

static const cw_field outputs[] = {
    CW_SHOW("error", "Exposure error without correction", CW_EXPOSURE_STEP, "EV", 3, "+ = more light on the film"),
    CW_JUDGE("matters", "Within a third of a stop?", "with the diode, where one is chosen; at k = 2"),
    CW_SHOW("to-drop", "Voltage to be dropped", CW_VOLTAGE, "V", 3, ""),
    CW_SHOW("dial", "Or set the dial to ISO", CW_PLAIN, NULL, 3,
            "nearest mark that takes the error up, without a diode"),
    CW_TABLE("diode-table", "With the diode", drop_columns, "along the meter's currents"),
    CW_SAY("fit", "Shape and holder", ""),
    CW_MAY_SHOW("capacity", "Capacity, of the order of", CW_CHARGE, "mAh", 2, ""),
    CW_SAY("cell-notes", "This cell", ""),
};

static cw_status diode_table(const cw_sheet_in *in, cw_sheet_out *out, const cw_cell_swap *swap, cw_quantity *worst,
                             cw_error *err)
{
    const double room = 298.15;
    const char *key = cw_in_text(in, "diode");
    double saturation, ideality = 1.05;
    if (strcmp(key, "measured") == 0) {
        double drop = cw_in_number(in, "drop"), current = cw_in_number(in, "drop-current");
        if (isnan(drop) || isnan(current))
            return cw_fail(err, CW_INPUT, "a measured diode needs its drop and the current it was measured at");
        saturation = cw_diode_saturation_a(drop, current, ideality, room);
    } else {
        const cw_diode *diode = cw_diode_find(key);
        saturation = diode->saturation_a;
        ideality = diode->ideality;
    }
    cw_diode_point points[5];
    CW_TRY(cw_diode_along(swap, saturation, ideality, room, cw_in_number(in, "current-least"),
                          cw_in_number(in, "current-most"), CW_COUNT(points), points, err));
    for (size_t i = 0; i < CW_COUNT(points); i++) {
        size_t row = cw_out_row(out, "diode-table");
        cw_out_cell_number(out, "diode-table", row, "current", points[i].current_a);
        cw_out_cell_number(out, "diode-table", row, "drop", points[i].drop_v);
        cw_out_cell_number(out, "diode-table", row, "meter", points[i].meter_v);
        cw_out_cell_number(out, "diode-table", row, "error", points[i].error_ev);
        if (i == 0 || fabs(points[i].error_ev) > fabs(worst->value))
            worst->value = points[i].error_ev;
    }
    worst->u = hypot(worst->u, strcmp(key, "measured") == 0 ? 0.03 : 0.08); /* spread of a kind of diode, judgement */
    return CW_OK;
}

static void say_fit(cw_sheet_out *out, const cw_cell *cell, const cw_cell *old)
{
    if (cell->diameter_m < old->diameter_m - 0.3e-3)
        cw_out_text(out, "fit",
                    "%.1f x %.1f mm in a holder for %.1f x %.1f mm: a ring of %.1f mm wall centres it, %.1f mm of "
                    "height to make up; the ring must not "
                    "bridge plus and minus",
                    cell->diameter_m * 1e3, cell->height_m * 1e3, old->diameter_m * 1e3, old->height_m * 1e3,
                    (old->diameter_m - cell->diameter_m) / 2 * 1e3, (old->height_m - cell->height_m) * 1e3);
    else
        cw_out_text(out, "fit", "%.1f x %.1f mm, the holder takes %.1f x %.1f mm: it goes in", cell->diameter_m * 1e3,
                    cell->height_m * 1e3, old->diameter_m * 1e3, old->height_m * 1e3);
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    const cw_cell *old = cw_cell_find(cw_in_text(in, "made-for")), *cell = cw_cell_find(cw_in_text(in, "cell"));
    double cells_in_row = cw_in_number(in, "cells"), measured = cw_in_number(in, "cell-voltage"),
           gamma = cw_in_number(in, "gamma");
    cw_cell_swap swap = {cw_in_is(in, "circuit", "bridge") ? CW_METER_BRIDGE : CW_METER_SERIES,
                         {old->voltage_v * cells_in_row, old->u_voltage_v * cells_in_row},
                         isnan(measured)
                             ? (cw_quantity){cell->voltage_v * cells_in_row, cell->u_voltage_v * cells_in_row}
                             : (cw_quantity){measured, 0.01},
                         {gamma, 0.1},
                         cw_in_number(in, "fixed")};
    cw_quantity error;
    CW_TRY(cw_cell_swap_error(&swap, &error, err));
    cw_out_quantity(out, "error", error);
    cw_quantity left = error;
    if (!cw_in_is(in, "diode", "none"))
        CW_TRY(diode_table(in, out, &swap, &left, err));
    cw_out_verdict(out, "matters", cw_at_least((cw_quantity){1.0 / 3 - fabs(left.value), left.u}, 0),
                   "%+.2f EV at the worst", left.value);
    cw_out_number(out, "to-drop", swap.cell_v.value - swap.made_for_v.value);
    cw_speed_setting setting;
    CW_TRY(cw_speed_setting_find(cw_in_number(in, "film-speed"), error.value, 1, 0, &setting, err));
    cw_out_number(out, "dial", setting.dial_mark);
    say_fit(out, cell, old);
    cw_out_number(out, "capacity", cell->capacity_c);
    cw_out_text(out, "cell-notes", "%s (%s)", cell->notes, cell->source);
    if (swap.circuit == CW_METER_BRIDGE)
        cw_out_note(out, "A bridge reads the same with any cell of the right order: no correction belongs in it.");
    else if (cell->u_voltage_v > 0.1 && isnan(measured))
        cw_out_note(out, "The voltage of this cell falls as it empties, and the error moves with it: the uncertainty "
                         "shown is mostly that.");
    return CW_OK;
}

static const char *const cautions[] = {"mercury", "battery", NULL};
static const char *const sources[] = {
    "series meter by Ohm's law, own derivation; diode by the law of Shockley",
    "voltages: blaukatz.com, \"Mercury Buttons\"; liquisearch.com, \"Mercury battery substitutes\"",
    "diode constants, sizes, capacities: from memory; a bridge does not mind the cell: blaukatz.com", NULL};
static const char *const example[] = {"cell", "SR44", "circuit", "series", "diode", "schottky", NULL};

extern const cw_worksheet cw_sheet_cell_substitute;
const cw_worksheet cw_sheet_cell_substitute = {
    .name = "cell-substitute",
    .title = "Substitute for a mercury cell",
    .group = "Light",
    .purpose = "The mercury cell is gone for good. Says what the meter reads wrong on the cell that is sold today, "
               "whether a diode or the film-speed dial takes "
               "that up, and whether it fits the holder.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
