/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drill template for the sensors of the light gate, behind the film gate of 24x36, 6x6 or any other frame. */
#include <math.h>
#include <stdio.h>

#include "worksheets/fields.h"
#include "worksheets/plan.h"

enum { PLACES_MOST = 8 };

static const cw_choice frames[] = {{"36x24", "24x36, curtains run the long way"},
                                   {"24x36", "24x36, curtains run the short way"},
                                   {"56x56", "6x6"},
                                   {"own", "another, given below"},
                                   {NULL, NULL}};

static const cw_field place_columns[] = {
    CW_NEED("at", "From the edge that opens first", CW_LENGTH, "mm", 0, 0.3, "along the travel"),
};

static const cw_field inputs[] = {
    CW_PICK("frame", "Frame", frames, "36x24", "length along the travel first"),
    CW_MAYBE("length", "Frame along the travel", CW_LENGTH, "mm", 5e-3, 0.3, "for another frame"),
    CW_MAYBE("width", "Frame across the travel", CW_LENGTH, "mm", 5e-3, 0.3, "for another frame"),
    {.key = "places",
     .label = "Sensors",
     .kind = CW_KIND_ROWS,
     .columns = place_columns,
     .column_count = CW_COUNT(place_columns),
     .rows_most = PLACES_MOST,
     .help = "left out: three, at a ninth, the half and eight ninths of the frame (4, 18, 32 mm of 36)"},
    CW_USUAL("body", "Diameter of a sensor", CW_LENGTH, "mm", "5 mm", 1e-3, 20e-3, "the hole to drill"),
    CW_USUAL("slit", "Width of the slit", CW_LENGTH, "mm", "0.3 mm", 0.05e-3, 3e-3, "along the travel"),
    CW_USUAL("slit-length", "Length of the slit", CW_LENGTH, "mm", "3 mm", 0.2e-3, 20e-3, "across it"),
    CW_USUAL("margin", "Bar beyond the frame", CW_LENGTH, "mm", "8 mm", 2e-3, 50e-3, "to hold it by"),
    CW_USUAL("speed", "Speed of the curtains", CW_SPEED, "m/s", "5 m/s", 0.2, 30, "a guess will do"),
};

static const cw_field outputs[] = {
    CW_TABLE("drill", "Holes", place_columns, "from the edge of the frame that opens first"),
    CW_SHOW("crossing", "A curtain's edge crosses the slit in", CW_TIME, "us", 2, "slit over speed"),
    CW_SHOW("off-1000", "Off at 1/1000", CW_EXPOSURE_STEP, "EV", 1,
            "with the threshold at 0.45 of full light, not 0.5"),
    CW_SHOW("narrowest", "Fastest exposure that still fills the slit", CW_TIME, "us", 2,
            "the curtains' own slit 1.5 times as wide as the mask's"),
    CW_SHOW("skew", "One degree of skew widens the slit by", CW_LENGTH, "mm", 1, "slit length times the angle"),
    CW_DRAWN("template", "Template, 1:1", "stick it on the bar, punch, drill"),
};

typedef struct {
    double length_m, width_m, body_m, slit_m, slit_length_m, margin_m;
    size_t count;
    double at_m[PLACES_MOST];
} plan;

static void read_frame(const cw_sheet_in *in, plan *p)
{
    static const struct {
        const char *key;
        double length_m, width_m;
    } known[] = {{"36x24", 36e-3, 24e-3}, {"24x36", 24e-3, 36e-3}, {"56x56", 56e-3, 56e-3}};
    p->length_m = cw_in_number(in, "length");
    p->width_m = cw_in_number(in, "width");
    for (size_t i = 0; i < CW_COUNT(known); i++)
        if (cw_in_is(in, "frame", known[i].key)) {
            p->length_m = known[i].length_m;
            p->width_m = known[i].width_m;
        }
}

static cw_status check(const plan *p, cw_error *err)
{
    for (size_t i = 0; i < p->count; i++) {
        if (p->at_m[i] > p->length_m)
            return cw_fail(err, CW_RANGE, "the sensor at %.4g mm lies outside the frame, which is %.4g mm long",
                           p->at_m[i] * 1e3, p->length_m * 1e3);
        if (i > 0 && p->at_m[i] - p->at_m[i - 1] < p->body_m + 0.5e-3)
            return cw_fail(err, CW_RANGE,
                           "the sensors at %.4g and %.4g mm are %.4g mm apart, in order from the first edge they need "
                           "their diameter of %.4g mm and half a millimetre of bar between",
                           p->at_m[i - 1] * 1e3, p->at_m[i] * 1e3, (p->at_m[i] - p->at_m[i - 1]) * 1e3,
                           p->body_m * 1e3);
    }
    if (p->slit_length_m > p->width_m)
        return cw_fail(err, CW_RANGE, "the slit (%.4g mm) is longer than the frame is wide (%.4g mm)",
                       p->slit_length_m * 1e3, p->width_m * 1e3);
    return CW_OK;
}

/* x along the travel from the edge that opens first, y across it from the middle. */
static cw_status draw(const plan *p, cw_drawing **drawing, cw_error *err)
{
    cw_drawing *d;
    CW_TRY(cw_drawing_new("Light gate: places of the sensors",
                          "A bar over the film gate with holes and slits for the sensors along the curtains' travel, "
                          "and a bar of 50 mm to check the print.",
                          &d, err));
    double L = p->length_m, W = p->width_m, m = p->margin_m, top = W / 2 + m, bottom = -top;
    cw_plan_box(d, CW_LAYER_CUT, L / 2, 0, L + 2 * m, W + 2 * m);
    cw_plan_box(d, CW_LAYER_HIDDEN, L / 2, 0, L, W);
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(-m - 3e-3, 0), cw_plan_at(L + m + 3e-3, 0));
    for (size_t i = 0; i < p->count; i++) {
        double x = p->at_m[i];
        cw_plan_circle(d, CW_LAYER_DRILL, x, 0, p->body_m);
        cw_plan_box(d, CW_LAYER_CUT, x, 0, p->slit_m, p->slit_length_m);
        cw_plan_size(d, 0, top, x, top, 5 + 6 * (double)i);
    }
    double y = bottom - 7e-3;
    cw_draw_line(d, CW_LAYER_NOTE, cw_plan_at(0, y), cw_plan_at(12e-3, y));
    cw_draw_line(d, CW_LAYER_NOTE, cw_plan_at(12e-3, y), cw_plan_at(10e-3, y + 1e-3));
    cw_draw_line(d, CW_LAYER_NOTE, cw_plan_at(12e-3, y), cw_plan_at(10e-3, y - 1e-3));
    cw_plan_note(d, 14e-3, y - 1.2e-3, "travel of the curtains");
    cw_draw_dimension(d, cw_plan_at(0, y - 10e-3), cw_plan_at(50e-3, y - 10e-3), 0.5, "50: measure this bar first");
    cw_plan_note(d, 0, y - 18e-3, "dashed: film gate, %.4g along, %.4g across", L * 1e3, W * 1e3);
    cw_plan_note(d, 0, y - 23e-3, "drill %.3g; mask: slit %.3g x %.3g", p->body_m * 1e3, p->slit_m * 1e3,
                 p->slit_length_m * 1e3);
    cw_plan_note(d, 0, y - 28e-3, "left edge opens first; mask towards the curtains");
    *drawing = d;
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    plan p = {.body_m = cw_in_number(in, "body"),
              .slit_m = cw_in_number(in, "slit"),
              .slit_length_m = cw_in_number(in, "slit-length"),
              .margin_m = cw_in_number(in, "margin"),
              .count = cw_in_rows(in, "places")};
    read_frame(in, &p);
    if (!(p.length_m > 0) || !(p.width_m > 0))
        return cw_fail(err, CW_INPUT, "another frame needs its length along the travel and its width across it");
    for (size_t i = 0; i < p.count; i++)
        p.at_m[i] = cw_in_cell_number(in, "places", i, "at");
    if (p.count == 0) {
        const double shares[] = {1.0 / 9, 0.5, 8.0 / 9};
        for (; p.count < CW_COUNT(shares); p.count++)
            p.at_m[p.count] = round(shares[p.count] * p.length_m * 1e3) * 1e-3;
    }
    CW_TRY(check(&p, err));
    cw_drawing *drawing;
    CW_TRY(draw(&p, &drawing, err));
    cw_out_drawing(out, "template", drawing);
    for (size_t i = 0; i < p.count; i++)
        cw_out_cell_number(out, "drill", cw_out_row(out, "drill"), "at", p.at_m[i]);
    double crossing_s = p.slit_m / cw_in_number(in, "speed");
    cw_out_number(out, "crossing", crossing_s);
    cw_out_number(out, "off-1000", log2(1 + (1 - 2 * 0.45) * crossing_s / 1e-3));
    cw_out_number(out, "narrowest", 1.5 * crossing_s);
    cw_out_number(out, "skew", p.slit_length_m * M_PI / 180);
    cw_out_note(out, "Give the holes as they came out, not as they were meant, when you measure: half a millimetre "
                     "shows in the curtain's travel.");
    return CW_OK;
}

static const char *const cautions[] = {"laser", "cutting", NULL};
static const char *const sources[] = {"an edge of speed v crosses a slit w in w/v; a threshold at the share f of full "
                                      "light moves it by (1/2 - f) w/v, the "
                                      "exposure by (1 - 2f) w/v: geometry",
                                      "frames 24 x 36 mm and 56 x 56 mm: nominal, common practice, no source", NULL};
static const char *const example[] = {"frame", "36x24", "places", "4mm;18mm;32mm", NULL};

extern const cw_worksheet cw_sheet_gate_template;
const cw_worksheet cw_sheet_gate_template = {
    .name = "gate-template",
    .title = "Sensor places for the light gate",
    .group = "Bench",
    .purpose =
        "Where to drill the bar that holds the light gate's sensors behind the film gate, at true size, and what "
        "the slit in front of them does to the shortest times.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
