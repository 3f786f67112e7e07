/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate's circuit drawn with its values, and the threshold that belongs to the light at hand. */
#include <math.h>
#include <stdio.h>

#include "worksheets/fields.h"

static const double supply_v = 5, channel_mm = 48, text_mm = 2.2;

static const cw_field inputs[] = {
    CW_USUAL("full", "Full light at the sensor", CW_VOLTAGE, "V", "1 V", 0.01, 5,
             "level with the shutter open, less dark"),
    CW_USUAL("load", "Resistor at the photodiode", CW_RESISTANCE, "kohm", "100 kohm", 1e3, 10e6,
             "22 kohm for a laser spot"),
    CW_USUAL("hysteresis", "Resistor for hysteresis", CW_RESISTANCE, "kohm", "1000 kohm", 50e3, 20e6,
             "output to + input"),
    CW_USUAL("source", "Resistor from REF", CW_RESISTANCE, "kohm", "10 kohm", 500, 1e6, "one for each channel"),
};

static const cw_field outputs[] = {
    CW_JUDGE("good", "Does it work at this light?", "hysteresis well below, and REF within its range"),
    CW_SHOW("ref", "Set REF to", CW_VOLTAGE, "V", 3, "then the middle of the two thresholds is at half of full light"),
    CW_SHOW("rising", "Threshold, light coming", CW_VOLTAGE, "V", 3, ""),
    CW_SHOW("falling", "Threshold, light going", CW_VOLTAGE, "V", 3, ""),
    CW_SHOW("window", "Hysteresis", CW_VOLTAGE, "mV", 2, "less than a fifth of full light"),
    CW_SHOW("current", "Photocurrent at full light", CW_CURRENT, "uA", 2, ""),
    CW_SHOW("highest", "REF can be set up to", CW_VOLTAGE, "V", 3, "10 kohm of 57 kohm at 5 V"),
    CW_DRAWN("circuit", "Circuit", ""),
};

/* ---- symbols; x to the right, y up, mm ---- */

static void wire(cw_drawing *d, double x0, double y0, double x1, double y1)
{
    cw_draw_line(d, CW_LAYER_NOTE, (cw_point){x0, y0}, (cw_point){x1, y1});
}

static void say(cw_drawing *d, double x, double y, cw_text_anchor anchor, const char *text)
{
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){x, y}, text_mm, anchor, 0, text);
}

static void box(cw_drawing *d, double x, double y, double half_w, double half_h)
{
    const cw_point corners[] = {
        {x - half_w, y - half_h}, {x + half_w, y - half_h}, {x + half_w, y + half_h}, {x - half_w, y + half_h}};
    cw_draw_path(d, CW_LAYER_CUT, corners, 4, true);
}

/* Upright from `top` to `bottom`; the value right of it, or left. */
static void resistor_up(cw_drawing *d, double x, double top, double bottom, const char *value, bool left)
{
    double middle = (top + bottom) / 2;
    box(d, x, middle, 1.4, 3.6);
    wire(d, x, top, x, middle + 3.6);
    wire(d, x, middle - 3.6, x, bottom);
    say(d, x + (left ? -2.6 : 2.6), middle - text_mm / 2, left ? CW_TEXT_END : CW_TEXT_START, value);
}

static void resistor_flat(cw_drawing *d, double left, double right, double y, const char *value)
{
    double middle = (left + right) / 2;
    box(d, middle, y, 3.6, 1.4);
    wire(d, left, y, middle - 3.6, y);
    wire(d, middle + 3.6, y, right, y);
    say(d, middle, y - 1.6 - 1.4 - text_mm, CW_TEXT_MIDDLE, value);
}

static void capacitor_up(cw_drawing *d, double x, double top, double bottom, const char *value)
{
    double middle = (top + bottom) / 2;
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){x - 2.4, middle + 0.7}, (cw_point){x + 2.4, middle + 0.7});
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){x - 2.4, middle - 0.7}, (cw_point){x + 2.4, middle - 0.7});
    wire(d, x, top, x, middle + 0.7);
    wire(d, x, middle - 0.7, x, bottom);
    bool left = x < 0; /* at the edge of the sheet the room is outside */
    say(d, x + (left ? -3.2 : 3.2), middle - text_mm / 2, left ? CW_TEXT_END : CW_TEXT_START, value);
}

static void ground(cw_drawing *d, double x, double y)
{
    for (int i = 0; i < 3; i++)
        cw_draw_line(d, CW_LAYER_CUT, (cw_point){x - 2.4 + 0.8 * i, y - 0.9 * i},
                     (cw_point){x + 2.4 - 0.8 * i, y - 0.9 * i});
}

static void supply(cw_drawing *d, double x, double y)
{
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){x - 2, y}, (cw_point){x + 2, y});
    say(d, x, y + 1.2, CW_TEXT_MIDDLE, "+5 V");
}

static void joint(cw_drawing *d, double x, double y)
{
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){x, y}, 0.5);
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){x, y}, 0.2);
}

/* The bar of a diode at (x, y + 2 up), its triangle below for up > 0. */
static void diode(cw_drawing *d, double x, double y, double up)
{
    const cw_point triangle[] = {{x - 2, y - 1.8 * up}, {x + 2, y - 1.8 * up}, {x, y + 1.8 * up}};
    cw_draw_path(d, CW_LAYER_CUT, triangle, 3, true);
    cw_draw_line(d, CW_LAYER_CUT, (cw_point){x - 2, y + 1.8 * up}, (cw_point){x + 2, y + 1.8 * up});
}

static void light_arrow(cw_drawing *d, double x, double y)
{
    wire(d, x, y, x + 3.4, y - 2.4);
    wire(d, x + 3.4, y - 2.4, x + 2.1, y - 2.2);
    wire(d, x + 3.4, y - 2.4, x + 3, y - 1.2);
}

/* ---- blocks ---- */

typedef struct {
    char load[24], hysteresis[24], source[24];
} values;

static void draw_channel(cw_drawing *d, double y, char name, int index, const values *v)
{
    char text[24];
    snprintf(text, sizeof text, "Sensor %c", name);
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){-24, y + 24}, 3, CW_TEXT_START, 0, text);
    supply(d, 12, y + 21);
    wire(d, 12, y + 21, 12, y + 4);
    diode(d, 12, y + 11, 1);
    light_arrow(d, 4.6, y + 14);
    light_arrow(d, 4.6, y + 11.5);
    joint(d, 12, y + 18);
    wire(d, 12, y + 18, -8, y + 18);
    capacitor_up(d, -8, y + 18, y + 4, "100 nF");
    ground(d, -8, y + 4);
    joint(d, 12, y + 4);
    resistor_up(d, 12, y + 4, y - 12, v->load, true);
    ground(d, 12, y - 12);
    wire(d, 12, y + 4, 64, y + 4);
    joint(d, 24, y + 4);
    resistor_up(d, 24, y + 4, y - 12, "10 k\u03A9", false);
    snprintf(text, sizeof text, "PC%d", index);
    say(d, 24, y - 12 - text_mm - 1, CW_TEXT_MIDDLE, text);
    const cw_point triangle[] = {{64, y + 8}, {64, y - 8}, {78, y}};
    cw_draw_path(d, CW_LAYER_CUT, triangle, 3, true);
    say(d, 65.5, y + 4 - text_mm / 2, CW_TEXT_START, "\u2212");
    say(d, 65.5, y - 4 - text_mm / 2, CW_TEXT_START, "+");
    say(d, 43, y - 4 - text_mm / 2, CW_TEXT_END, "REF");
    resistor_flat(d, 44, 58, y - 4, v->source);
    wire(d, 58, y - 4, 64, y - 4);
    joint(d, 59, y - 4);
    wire(d, 59, y - 4, 59, y - 15);
    resistor_flat(d, 59, 86, y - 15, v->hysteresis);
    wire(d, 86, y - 15, 86, y);
    joint(d, 86, y);
    wire(d, 78, y, 98, y);
    resistor_up(d, 86, y + 18, y, "4.7 k\u03A9", false);
    supply(d, 86, y + 18);
    snprintf(text, sizeof text, "PD%d", 4 + index);
    say(d, 99.5, y - text_mm / 2, CW_TEXT_START, text);
}

static void draw_threshold(cw_drawing *d, double x, double y)
{
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){x - 4, y + 24}, 3, CW_TEXT_START, 0, "Threshold");
    supply(d, x, y + 16);
    resistor_up(d, x, y + 16, y + 2, "47 k\u03A9", false);
    resistor_up(d, x, y + 2, y - 12, "10 k\u03A9", true);
    ground(d, x, y - 12);
    wire(d, x + 1.4, y - 5, x + 38, y - 5);
    wire(d, x + 1.4, y - 5, x + 2.8, y - 4.2);
    wire(d, x + 1.4, y - 5, x + 2.8, y - 5.8);
    joint(d, x + 8, y - 5);
    joint(d, x + 27, y - 5);
    capacitor_up(d, x + 8, y - 5, y - 17, "100 nF");
    ground(d, x + 8, y - 17);
    capacitor_up(d, x + 27, y - 5, y - 17, "10 \u00B5F");
    say(d, x + 25.4, y - 9, CW_TEXT_END, "+");
    ground(d, x + 27, y - 17);
    say(d, x + 39.5, y - 5 - text_mm / 2, CW_TEXT_START, "REF, PC3");
}

static void draw_contact(cw_drawing *d, double x, double y)
{
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){x - 4, y + 24}, 3, CW_TEXT_START, 0, "Flash contact");
    supply(d, x + 16, y + 18);
    resistor_up(d, x + 16, y + 18, y, "4.7 k\u03A9", true);
    supply(d, x + 26, y + 18);
    wire(d, x + 26, y + 18, x + 26, y);
    diode(d, x + 26, y + 9, 1);
    wire(d, x + 26, y, x + 26, y - 14);
    diode(d, x + 26, y - 7, 1);
    ground(d, x + 26, y - 14);
    capacitor_up(d, x + 34, y, y - 14, "1 nF");
    ground(d, x + 34, y - 14);
    for (int i = 0; i < 3; i++)
        joint(d, x + (i == 0 ? 16 : i == 1 ? 26 : 34), y);
    wire(d, x + 14, y, x + 44, y);
    say(d, x + 45.5, y - text_mm / 2, CW_TEXT_START, "PD7");
    resistor_flat(d, x, x + 14, y, "1 k\u03A9");
    /* the camera's contact: two terminals and an open blade */
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){x - 0.6, y}, 0.6);
    wire(d, x - 1, y - 0.4, x - 4, y - 7);
    cw_draw_circle(d, CW_LAYER_CUT, (cw_point){x - 0.6, y - 8}, 0.6);
    wire(d, x - 0.6, y - 8.6, x - 0.6, y - 14);
    ground(d, x - 0.6, y - 14);
}

static void draw_lamp(cw_drawing *d, double x, double y)
{
    cw_draw_text(d, CW_LAYER_NOTE, (cw_point){x - 4, y + 12}, 3, CW_TEXT_START, 0, "Lamp for calibration");
    say(d, x, y - text_mm / 2, CW_TEXT_START, "PB1");
    resistor_flat(d, x + 8, x + 22, y, "330 \u03A9");
    wire(d, x + 22, y, x + 28, y);
    wire(d, x + 28, y, x + 28, y - 14);
    diode(d, x + 28, y - 7, -1);
    ground(d, x + 28, y - 14);
    say(d, x + 32, y - 8, CW_TEXT_START, "LED");
}

static void resistance_text(double ohm, char *text, size_t size)
{
    if (ohm >= 1e6)
        snprintf(text, size, "%.3g M\u03A9", ohm / 1e6);
    else
        snprintf(text, size, "%.3g k\u03A9", ohm / 1e3);
}

static cw_status draw(const values *v, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Light gate: circuit",
                          "Three photodiodes with their comparators, the threshold, the flash contact and a lamp, with "
                          "the pins of the controller they go to.",
                          &d, err));
    for (int i = 0; i < 3; i++)
        draw_channel(d, -channel_mm * i, (char)('A' + i), i, v);
    draw_threshold(d, 132, 0);
    draw_contact(d, 132, -channel_mm);
    draw_lamp(d, 132, -2 * channel_mm + 6);
    say(d, -24, -2 * channel_mm - 26, CW_TEXT_START,
        "PB0 open: light pulls the pins low, as drawn. Comparator: four in a package, open collector, 100 nF across "
        "its supply.");
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double full = cw_in_number(in, "full"), rh = cw_in_number(in, "hysteresis"), rs = cw_in_number(in, "source"),
           load = cw_in_number(in, "load"), share = rh / (rh + rs), highest = supply_v * 10 / 57;
    /* light: output low, + input at REF share; dark: output at the supply through its pull-up */
    double window = supply_v * (1 - share), ref = (full / 2 - window / 2) / share, falling = ref * share,
           rising = falling + window;
    values v;
    resistance_text(load, v.load, sizeof v.load);
    resistance_text(rh, v.hysteresis, sizeof v.hysteresis);
    resistance_text(rs, v.source, sizeof v.source);
    cw_drawing *drawing;
    CW_TRY(draw(&v, &drawing, err));
    cw_out_drawing(out, "circuit", drawing);
    bool wide = window > full / 5, low = ref<0, high = ref> highest;
    cw_out_verdict(out, "good", wide || low || high ? CW_VERDICT_OUTSIDE : CW_VERDICT_INSIDE,
                   low ? "the hysteresis of %.3g mV is more than the light gives; use more light or a larger resistor"
                   : wide ? "the hysteresis of %.3g mV is more than a fifth of full light; use more light or a larger "
                            "resistor for it"
                   : high
                       ? "%.3g mV of hysteresis is fine, but REF cannot be set so high: use less light, or less than "
                         "47 kohm above the trimmer"
                       : "%.3g mV of hysteresis is less than a fifth of full light, and REF reaches half of it",
                   window * 1e3);
    cw_out_number(out, "ref", ref);
    cw_out_number(out, "rising", rising);
    cw_out_number(out, "falling", falling);
    cw_out_number(out, "window", window);
    cw_out_number(out, "current", full / load);
    cw_out_number(out, "highest", highest);
    return CW_OK;
}

static const char *const cautions[] = {"capacitor", "laser", NULL};
static const char *const sources[] = {
    "two resistors from REF and the output to one input: superposition; the pull-up is left out beside 1 Mohm",
    "pins: firmware/light-gate", NULL};
static const char *const example[] = {"full", "1 V", NULL};

extern const cw_worksheet cw_sheet_gate_circuit;
const cw_worksheet cw_sheet_gate_circuit = {
    .name = "gate-circuit",
    .title = "Circuit of the light gate",
    .group = "Bench",
    .purpose = "The circuit with its values, and where the threshold belongs for the light you have: the middle of its "
               "hysteresis at half of full light, the one adjustment that matters.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
