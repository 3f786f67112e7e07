/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The light gate's board at true size, from its parts and joints in workshop/gate_board. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "worksheets/fields.h"
#include "workshop/gate_board.h"

static const double pitch_mm = 2.54, capital_mm = 1.15, strip_half_mm = 0.85, track_half_mm = 0.6;

static const cw_choice sides[] = {{"parts", "side of the parts"}, {"copper", "copper side"}, {NULL, NULL}};
static const cw_choice boards[] = {
    {"strip", "strip board, cut where marked"}, {"etched", "plain board, tracks etched or milled"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("side", "Which side", sides, "parts", "as you look at it: the copper side is the other one mirrored"),
    CW_PICK("board", "Board", boards, "strip", "the same holes for both"),
};

static const cw_field part_columns[] = {
    {.key = "name", .label = "Part", .kind = CW_KIND_TEXT},
    {.key = "value", .label = "Value", .kind = CW_KIND_TEXT},
    {.key = "from", .label = "From", .kind = CW_KIND_TEXT},
    {.key = "to", .label = "To", .kind = CW_KIND_TEXT},
};

static const cw_field outputs[] = {
    CW_SHOW("width", "Board, wide", CW_LENGTH, "mm", 3, "33 holes"),
    CW_SHOW("height", "Board, high", CW_LENGTH, "mm", 3, "20 strips"),
    CW_SHOW("cuts", "Cuts in the strips", CW_PLAIN, NULL, 2, "none on a plain board"),
    CW_TABLE("parts", "Parts and wires", part_columns, "column and strip, counted from 1 at the upper left"),
    CW_DRAWN("layout", "Layout, 1:1", "measure the check bar before you trust it"),
};

typedef struct {
    cw_drawing *d;
    bool copper, etched;
} sheet;

static double side_x(const sheet *s, double column)
{
    return (s->copper ? CW_GATE_COLUMNS - 1 - column : column) * pitch_mm;
}

static cw_point at_hole(const sheet *s, double column, double row)
{
    return (cw_point){side_x(s, column), -row * pitch_mm};
}

static void box(const sheet *s, cw_layer layer, double x, double y, double half_w, double half_h)
{
    const cw_point corners[] = {
        {x - half_w, y - half_h}, {x + half_w, y - half_h}, {x + half_w, y + half_h}, {x - half_w, y + half_h}};
    cw_draw_path(s->d, layer, corners, 4, true);
}

static bool is_used(int column, int row)
{
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t p = 0; p < count; p++)
        for (size_t k = 0; k < parts[p].pin_count; k++)
            if (parts[p].holes[k].column == column && parts[p].holes[k].row == row)
                return true;
    return false;
}

/* ---- copper ---- */

/* One stretch: the whole of it as strip, or from its first to its last lead as a track. */
static void draw_stretch(const sheet *s, int first, int last, int row)
{
    double from = first - 0.4, to = last + 0.4;
    if (s->etched) {
        while (first <= last && !is_used(first, row))
            first++;
        while (last >= first && !is_used(last, row))
            last--;
        if (first > last)
            return;
        from = first - 0.3;
        to = last + 0.3;
    }
    double x0 = side_x(s, from), x1 = side_x(s, to);
    box(s, CW_LAYER_GLASS, (x0 + x1) / 2, -row * pitch_mm, fabs(x1 - x0) / 2,
        s->etched ? track_half_mm : strip_half_mm);
}

/* A hole that a part lies over, on the side of the parts. */
static bool is_covered(int column, int row)
{
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t p = 0; p < count; p++) {
        const cw_gate_hole *a = &parts[p].holes[0], *b = &parts[p].holes[parts[p].pin_count - 1];
        int low = a->row < b->row ? a->row : b->row, high = a->row < b->row ? b->row : a->row;
        bool package = parts[p].kind == CW_GATE_COMPARATOR;
        if (package ? column >= a->column && column <= b->column && row >= 4 && row <= 10
                    : column == a->column && row >= low && row <= high)
            return true;
    }
    return false;
}

static void draw_holes(const sheet *s)
{
    for (int row = 0; row < CW_GATE_ROWS; row++)
        for (int column = 0; column < CW_GATE_COLUMNS; column++) {
            if (is_used(column, row))
                cw_draw_circle(s->d, CW_LAYER_CUT, at_hole(s, column, row), 0.5);
            else if (!s->etched && (s->copper || !is_covered(column, row)))
                cw_draw_circle(s->d, CW_LAYER_DIMENSION, at_hole(s, column, row), 0.2);
        }
}

static void draw_copper(const sheet *s)
{
    for (int row = 0; row < CW_GATE_ROWS; row++)
        for (int column = 0, first, last; column < CW_GATE_COLUMNS; column = last + 2) {
            cw_gate_stretch((cw_gate_hole){column, row}, &first, &last);
            draw_stretch(s, first, last, row);
        }
    size_t count;
    const cw_gate_hole *cuts = cw_gate_cuts(&count);
    for (size_t i = 0; !s->etched && i < count; i++) {
        cw_point p = at_hole(s, cuts[i].column, cuts[i].row);
        cw_draw_line(s->d, CW_LAYER_CUT, (cw_point){p.x_mm - 1, p.y_mm - 1}, (cw_point){p.x_mm + 1, p.y_mm + 1});
        cw_draw_line(s->d, CW_LAYER_CUT, (cw_point){p.x_mm - 1, p.y_mm + 1}, (cw_point){p.x_mm + 1, p.y_mm - 1});
    }
}

/* ---- parts ---- */

static void label(const sheet *s, cw_point at, cw_text_anchor anchor, bool upright, const char *text)
{
    cw_draw_text(s->d, CW_LAYER_NOTE, at, capital_mm, anchor, upright ? M_PI_2 : 0, text);
}

/* A part between two holes of one column: long ones with name and value in their body, short ones named beside. */
static void draw_two_lead(const sheet *s, const cw_gate_part *part)
{
    cw_point a = at_hole(s, part->holes[0].column, part->holes[0].row),
             b = at_hole(s, part->holes[1].column, part->holes[1].row);
    double span = fabs(a.y_mm - b.y_mm), middle = (a.y_mm + b.y_mm) / 2, half = fmin(span / 2 - 0.7, 4.2);
    char text[48];
    bool is_long = span > 2.5 * pitch_mm;
    double down = a.y_mm < b.y_mm ? -1 : 1, body = part->kind == CW_GATE_WIRE ? 0 : fmax(half, 0.5);
    cw_draw_line(s->d, CW_LAYER_NOTE, (cw_point){a.x_mm, a.y_mm - 0.5 * down},
                 (cw_point){a.x_mm, middle + body * down});
    cw_draw_line(s->d, CW_LAYER_NOTE, (cw_point){a.x_mm, b.y_mm + 0.5 * down},
                 (cw_point){a.x_mm, middle - body * down});
    snprintf(text, sizeof text, "%s %s", part->name, part->value);
    if (part->kind == CW_GATE_WIRE) {
        label(s, (cw_point){a.x_mm + 0.3 + capital_mm, middle - 1}, CW_TEXT_START, true, part->name);
        return;
    }
    box(s, CW_LAYER_CUT, a.x_mm, middle, is_long ? 1.15 : 0.8, body);
    if (is_long)
        label(s, (cw_point){a.x_mm + capital_mm / 2, middle}, CW_TEXT_MIDDLE, true, text);
    else
        label(s, (cw_point){a.x_mm + 1.2, middle - capital_mm / 2}, CW_TEXT_START, false, part->name);
    if (part->kind == CW_GATE_DIODE) {
        double bar = b.y_mm + (a.y_mm > b.y_mm ? 0.9 : -0.9);
        cw_draw_line(s->d, CW_LAYER_CUT, (cw_point){a.x_mm - 0.8, bar}, (cw_point){a.x_mm + 0.8, bar});
    }
}

static void draw_package(const sheet *s, const cw_gate_part *part, double half_w, double half_h)
{
    cw_gate_hole first = part->holes[0], last = part->holes[part->kind == CW_GATE_TRIMMER ? 2 : 7];
    cw_point a = at_hole(s, first.column, first.row), b = at_hole(s, last.column, last.row),
             middle = {(a.x_mm + b.x_mm) / 2, (a.y_mm + b.y_mm) / 2};
    box(s, CW_LAYER_CUT, middle.x_mm, middle.y_mm, half_w, half_h);
    char text[24];
    snprintf(text, sizeof text, part->kind == CW_GATE_TRIMMER ? "%s %s" : "%s", part->name, part->value);
    if (part->kind == CW_GATE_COMPARATOR) {
        cw_draw_arc(s->d, CW_LAYER_CUT, (cw_point){middle.x_mm, middle.y_mm + half_h}, 1, M_PI, 2 * M_PI);
        label(s, (cw_point){a.x_mm + 0.9, a.y_mm - capital_mm / 2}, CW_TEXT_START, false, "1");
        label(s, middle, CW_TEXT_MIDDLE, false, text);
    } else {
        label(s, (cw_point){middle.x_mm + half_w - 0.5, middle.y_mm}, CW_TEXT_MIDDLE, true, text);
    }
}

static void draw_pad(const sheet *s, const cw_gate_part *pad)
{
    cw_point p = at_hole(s, pad->holes[0].column, pad->holes[0].row);
    bool leftwards = (pad->holes[0].column == 0) != s->copper;
    box(s, CW_LAYER_CUT, p.x_mm, p.y_mm, 0.9, 0.9);
    label(s, (cw_point){p.x_mm + (leftwards ? -2 : 2), p.y_mm - capital_mm / 2},
          leftwards ? CW_TEXT_END : CW_TEXT_START, false, pad->name);
}

static void draw_parts(const sheet *s)
{
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t p = 0; p < count; p++) {
        if (parts[p].kind == CW_GATE_PAD)
            draw_pad(s, &parts[p]);
        else if (s->copper)
            continue;
        else if (parts[p].kind == CW_GATE_COMPARATOR)
            draw_package(s, &parts[p], 3.1, 9.4);
        else if (parts[p].kind == CW_GATE_TRIMMER)
            draw_package(s, &parts[p], 2.4, 4.75);
        else
            draw_two_lead(s, &parts[p]);
    }
}

/* ---- around it ---- */

static void draw_edge_and_bar(const sheet *s)
{
    double w = (CW_GATE_COLUMNS - 1) * pitch_mm, h = (CW_GATE_ROWS - 1) * pitch_mm, bar_y = -h - 8;
    box(s, CW_LAYER_CUT, w / 2, -h / 2, w / 2 + pitch_mm / 2, h / 2 + pitch_mm / 2);
    cw_draw_dimension(s->d, (cw_point){0, bar_y}, (cw_point){50, bar_y}, 0.5, "50: measure this bar first");
    const char *const lines[] = {
        s->copper ? "Copper side, as you see it with the iron in hand." : "Side of the parts.",
        !s->copper  ? "Strips run from left to right on the other side."
        : s->etched ? "Tinted: tracks. No cuts."
                    : "Tinted: strips. Crosses: cut the strip there.",
        "C1, C3 100 nF; C2 10 \u00B5F, + to REF; C4 1 nF; D1, D2 small signal diodes, bar = cathode;",
        "R17 4.7 k\u03A9, R18 1 k\u03A9, R19 330 \u03A9, standing. W: insulated wire."};
    for (size_t i = 0; i < CW_COUNT(lines); i++)
        cw_draw_text(s->d, CW_LAYER_NOTE, (cw_point){0, bar_y - 7 - 4.0 * (double)i}, 1.8, CW_TEXT_START, 0, lines[i]);
}

static void place_text(cw_gate_hole hole, char *text, size_t size)
{
    snprintf(text, size, "%d, strip %d", hole.column + 1, hole.row + 1);
}

static void list_parts(cw_sheet_out *out)
{
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t p = 0; p < count; p++) {
        char from[32], to[32];
        size_t row = cw_out_row(out, "parts");
        place_text(parts[p].holes[0], from, sizeof from);
        place_text(parts[p].holes[parts[p].pin_count - 1], to, sizeof to);
        cw_out_cell_text(out, "parts", row, "name", "%s", parts[p].name);
        cw_out_cell_text(out, "parts", row, "value", "%s",
                         parts[p].kind == CW_GATE_WIRE  ? "wire"
                         : parts[p].kind == CW_GATE_PAD ? "wire off the board"
                                                        : parts[p].value);
        cw_out_cell_text(out, "parts", row, "from", "%s", from);
        cw_out_cell_text(out, "parts", row, "to", "%s", parts[p].pin_count > 1 ? to : "");
    }
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    sheet s = {.copper = cw_in_is(in, "side", "copper"), .etched = cw_in_is(in, "board", "etched")};
    size_t cuts;
    CW_TRY(cw_gate_check(err));
    CW_TRY(cw_drawing_new(s.copper ? "Light gate: board, copper side" : "Light gate: board, side of the parts",
                          "A board of 33 by 20 holes with the parts of three light channels, a flash contact and a "
                          "lamp; a bar of 50 mm to check the print.",
                          &s.d, err));
    if (s.copper)
        draw_copper(&s);
    draw_holes(&s);
    draw_parts(&s);
    draw_edge_and_bar(&s);
    cw_out_drawing(out, "layout", s.d);
    cw_gate_cuts(&cuts);
    cw_out_number(out, "width", CW_GATE_COLUMNS * pitch_mm * 1e-3);
    cw_out_number(out, "height", CW_GATE_ROWS * pitch_mm * 1e-3);
    cw_out_number(out, "cuts", s.etched ? 0 : (double)cuts);
    list_parts(out);
    cw_out_note(out,
                "The pins of the comparator are those of the usual package of four, from memory: hold them against "
                "your part's sheet before you solder.");
    cw_out_note(out, "Each photodiode has its own 100 nF from cathode to ground, soldered at the diode, not here.");
    return CW_OK;
}

static const char *const cautions[] = {"capacitor", "laser", "cutting", NULL};
static const char *const sources[] = {
    "circuit: docs/light-gate.md; every joint of the layout is checked against it when the sheet runs",
    "holes 2.54 mm apart (0.1 inch): common practice, no source", NULL};
static const char *const example[] = {"side", "parts", "board", "strip", NULL};

extern const cw_worksheet cw_sheet_gate_board;
const cw_worksheet cw_sheet_gate_board = {
    .name = "gate-board",
    .title = "Board of the light gate",
    .group = "Bench",
    .purpose =
        "The circuit of the light gate on strip board or a plain one-sided board, drawn at true size from either "
        "side: where each lead goes, where the strips are cut, where the wires leave.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
