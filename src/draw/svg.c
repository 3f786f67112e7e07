/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/svg.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/manner.h"
#include "base/utf8.h"
#include "draw/model.h"
#include "draw/words.h"

enum { WORDS_MOST = 1 << 20 };

void cw_svg_number(cw_buf *out, double value)
{
    if (!isfinite(value)) {
        out->failed = true;
        return;
    }
    char text[340];
    snprintf(text, sizeof text, "%.3f", value);
    char *end = text + strlen(text) - 1;
    while (*end == '0')
        *end-- = '\0';
    if (*end == '.')
        *end = '\0';
    cw_buf_text(out, strcmp(text, "-0") == 0 ? "0" : text);
}

void cw_svg_place(cw_buf *out, double x, double y)
{
    cw_svg_number(out, round(x * 100) / 100);
    cw_buf_char(out, ' ');
    cw_svg_number(out, round(y * 100) / 100);
}

void cw_svg_attribute(cw_buf *out, const char *name, double value)
{
    cw_buf_printf(out, " %s=\"", name);
    cw_svg_number(out, value);
    cw_buf_char(out, '"');
}

/* A text of the program as its reader reads it; in a file, where there is no reader, as it is. */
static void put_words(cw_buf *out, const char *text)
{
    cw_buf told = cw_buf_new(WORDS_MOST);
    const char *own = cw_words_of(text);
    cw_xml_text(out, own == text && cw_sentence_of(text, &told) ? cw_buf_string(&told) : own);
    cw_buf_free(&told);
}

void cw_svg_words(cw_buf *out, double x, double y, double size, const char *anchor, double turn_deg, const char *text)
{
    cw_buf_text(out, "<text");
    cw_svg_attribute(out, "x", x);
    cw_svg_attribute(out, "y", y);
    cw_svg_attribute(out, "font-size", size);
    if (strcmp(anchor, "start") != 0)
        cw_buf_printf(out, " text-anchor=\"%s\"", anchor);
    if (turn_deg != 0) {
        cw_buf_text(out, " transform=\"rotate(");
        cw_svg_number(out, turn_deg);
        cw_buf_char(out, ' ');
        cw_svg_place(out, x, y);
        cw_buf_text(out, ")\"");
    }
    cw_buf_char(out, '>');
    put_words(out, text);
    cw_buf_text(out, "</text>\n");
}

void cw_svg_names(cw_buf *out, const char *title, const char *description)
{
    cw_buf_text(out, "<title>");
    put_words(out, title);
    cw_buf_text(out, "</title>\n");
    if (description == NULL || *description == '\0')
        return;
    cw_buf_text(out, "<desc>");
    put_words(out, description);
    cw_buf_text(out, "</desc>\n");
}

/* Where the drawing lies in the picture: SVG's y runs down. */
typedef struct {
    double left_mm, top_mm;
} frame;

static void pair(cw_buf *out, char command, frame f, double x_mm, double y_mm)
{
    cw_buf_char(out, command);
    cw_svg_number(out, x_mm - f.left_mm);
    cw_buf_char(out, ' ');
    cw_svg_number(out, f.top_mm - y_mm);
}

static void write_path(cw_buf *out, const cw_layer_look *look, frame f, const cw_item *item, const cw_point *points)
{
    cw_buf_text(out, "<path d=\"");
    for (size_t i = 0; i < item->point_count; i++)
        pair(out, i == 0 ? 'M' : 'L', f, points[i].x_mm, points[i].y_mm);
    cw_buf_text(out, item->closed ? "Z\"" : "\"");
    if (item->filled)
        cw_buf_text(out, " fill=\"currentColor\" stroke=\"none\"");
    else if (item->closed && look->filled)
        cw_buf_printf(out, " fill=\"" CW_TINT_SVG "\" fill-opacity=\"%g\"", CW_TINT_OPACITY);
    cw_buf_text(out, "/>\n");
}

static void write_arc(cw_buf *out, frame f, const cw_item *item, cw_point centre)
{
    double r = item->radius_mm, span = item->end_rad - item->start_rad;
    if (item->kind == CW_ITEM_CIRCLE || span > 2 * M_PI - 1e-9) {
        cw_buf_text(out, "<circle");
        cw_svg_attribute(out, "cx", centre.x_mm - f.left_mm);
        cw_svg_attribute(out, "cy", f.top_mm - centre.y_mm);
        cw_svg_attribute(out, "r", r);
        cw_buf_text(out, "/>\n");
        return;
    }
    cw_buf_text(out, "<path d=\"");
    pair(out, 'M', f, centre.x_mm + r * cos(item->start_rad), centre.y_mm + r * sin(item->start_rad));
    cw_buf_char(out, 'A');
    cw_svg_number(out, r);
    cw_buf_char(out, ' ');
    cw_svg_number(out, r);
    /* Counter-clockwise with y upwards is against SVG's positive sweep. */
    cw_buf_printf(out, " 0 %d 0", span > M_PI ? 1 : 0);
    pair(out, ' ', f, centre.x_mm + r * cos(item->end_rad), centre.y_mm + r * sin(item->end_rad));
    cw_buf_text(out, "\"/>\n");
}

static void write_text(cw_buf *out, frame f, const cw_item *item, cw_point at)
{
    static const char *const anchors[] = {
        [CW_TEXT_START] = "start", [CW_TEXT_MIDDLE] = "middle", [CW_TEXT_END] = "end"};
    cw_buf_text(out, "<g stroke=\"none\" fill=\"currentColor\">");
    cw_svg_words(out, at.x_mm - f.left_mm, f.top_mm - at.y_mm, item->height_mm / CW_CAPITAL_HEIGHT,
                 anchors[item->anchor], -item->angle_rad * 180 / M_PI, item->text);
    cw_buf_text(out, "</g>\n");
}

static void write_layer(cw_buf *out, frame f, const cw_drawing *drawing, cw_layer layer)
{
    const cw_layer_look *look = &cw_layer_looks()[layer];
    bool opened = false;
    for (size_t i = 0; i < drawing->item_count; i++) {
        const cw_item *item = &drawing->items[i];
        const cw_point *points = drawing->points + item->first_point;
        if (item->layer != layer)
            continue;
        if (!opened) {
            cw_buf_printf(out, "<g class=\"cw-%s\" fill=\"none\" stroke=\"%s\"", look->name, look->stroke);
            cw_svg_attribute(out, "stroke-width", look->width_mm);
            for (int k = 0; k < look->dash_count; k++)
                cw_buf_printf(out, "%s%g", k == 0 ? " stroke-dasharray=\"" : " ", look->dashes_mm[k]);
            cw_buf_text(out, look->dash_count > 0 ? "\">\n" : ">\n");
            opened = true;
        }
        if (item->kind == CW_ITEM_PATH)
            write_path(out, look, f, item, points);
        else if (item->kind == CW_ITEM_TEXT)
            write_text(out, f, item, *points);
        else
            write_arc(out, f, item, *points);
    }
    if (opened)
        cw_buf_text(out, "</g>\n");
}

cw_status cw_drawing_svg(const cw_drawing *drawing, cw_buf *out, cw_error *err)
{
    static const double EDGE_MM = 2; /* room for half a line and what a text is wider than its estimate */
    CW_TRY(cw_drawing_check(drawing, err));
    cw_point least, most;
    if (!cw_drawing_bounds(drawing, &least, &most))
        return cw_fail(err, CW_RANGE, "the drawing \"%s\" is empty", drawing->title);
    frame f = {least.x_mm - EDGE_MM, most.y_mm + EDGE_MM};
    double width = most.x_mm - least.x_mm + 2 * EDGE_MM, height = most.y_mm - least.y_mm + 2 * EDGE_MM;
    cw_buf_text(out, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"cw-drawing\" role=\"img\" width=\"");
    cw_svg_number(out, width);
    cw_buf_text(out, "mm\" height=\"");
    cw_svg_number(out, height);
    cw_buf_text(out, "mm\" viewBox=\"0 0 ");
    cw_svg_number(out, width);
    cw_buf_char(out, ' ');
    cw_svg_number(out, height);
    cw_buf_text(out, "\" font-family=\"DejaVu Sans, Verdana, sans-serif\">\n");
    cw_svg_names(out, drawing->title, drawing->description);
    for (int k = 0; k < CW_LAYER_COUNT; k++)
        write_layer(out, f, drawing, cw_layer_order()[k]);
    cw_buf_text(out, "</svg>\n");
    return cw_buf_check(out, "the drawing's picture", err);
}
