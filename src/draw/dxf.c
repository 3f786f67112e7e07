/* SPDX-License-Identifier: GPL-3.0-or-later */
/* DXF, release 12 (AC1009): pairs of lines, a group code and its value. Layers, line types, LINE, CIRCLE, ARC, POLYLINE
 * and TEXT are all it takes, and every reader of the last thirty years understands them. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>

#include "base/utf8.h"
#include "draw/drawing.h"
#include "draw/model.h"

static void word(cw_buf *out, int code, const char *value)
{
    cw_buf_printf(out, "%d\n%s\n", code, value);
}

static void whole(cw_buf *out, int code, int value)
{
    cw_buf_printf(out, "%d\n%d\n", code, value);
}

static void real(cw_buf *out, int code, double value)
{
    cw_buf_printf(out, "%d\n%.6f\n", code, value);
}

static void point(cw_buf *out, int code, double x, double y)
{
    real(out, code, x);
    real(out, code + 10, y);
    real(out, code + 20, 0);
}

static void layer_name(cw_layer layer, char *name, size_t size)
{
    const char *from = cw_layer_looks()[layer].name;
    size_t i = 0;
    for (; from[i] != '\0' && i + 1 < size; i++)
        name[i] = (char)toupper((unsigned char)from[i]);
    name[i] = '\0';
}

static void begin(cw_buf *out, const char *entity, cw_layer layer)
{
    char name[32];
    layer_name(layer, name, sizeof name);
    word(out, 0, entity);
    word(out, 8, name);
}

static void header(cw_buf *out, cw_point least, cw_point most)
{
    word(out, 999, "Camerawright " CW_VERSION ", all sizes in millimetres");
    word(out, 0, "SECTION");
    word(out, 2, "HEADER");
    word(out, 9, "$ACADVER");
    word(out, 1, "AC1009");
    word(out, 9, "$INSUNITS");
    whole(out, 70, 4); /* millimetres; younger than release 12, but what most readers look for */
    word(out, 9, "$EXTMIN");
    point(out, 10, least.x_mm, least.y_mm);
    word(out, 9, "$EXTMAX");
    point(out, 10, most.x_mm, most.y_mm);
    word(out, 9, "$LTSCALE");
    real(out, 40, 1);
    word(out, 0, "ENDSEC");
}

static void line_type(cw_buf *out, const char *name, const char *looks_like, int count, const double *pattern)
{
    double length = 0;
    for (int i = 0; i < count; i++)
        length += fabs(pattern[i]);
    word(out, 0, "LTYPE");
    word(out, 2, name);
    whole(out, 70, 0);
    word(out, 3, looks_like);
    whole(out, 72, 65);
    whole(out, 73, count);
    real(out, 40, length);
    for (int i = 0; i < count; i++)
        real(out, 49, pattern[i]);
}

static void tables(cw_buf *out)
{
    word(out, 0, "SECTION");
    word(out, 2, "TABLES");
    word(out, 0, "TABLE");
    word(out, 2, "LTYPE");
    whole(out, 70, 3);
    line_type(out, "CONTINUOUS", "Solid line", 0, NULL);
    line_type(out, "DASHED", "__ __ __", 2, (double[]){2, -1});
    line_type(out, "CENTER", "____ _ ____", 4, (double[]){6, -1, 0.8, -1});
    word(out, 0, "ENDTAB");
    word(out, 0, "TABLE");
    word(out, 2, "LAYER");
    whole(out, 70, CW_LAYER_COUNT + 1);
    for (int i = -1; i < CW_LAYER_COUNT; i++) {
        char name[32] = "0";
        if (i >= 0)
            layer_name((cw_layer)i, name, sizeof name);
        word(out, 0, "LAYER");
        word(out, 2, name);
        whole(out, 70, 0);
        whole(out, 62, i >= 0 ? cw_layer_looks()[i].dxf_colour : 7);
        word(out, 6, i >= 0 ? cw_layer_looks()[i].dxf_line : "CONTINUOUS");
    }
    word(out, 0, "ENDTAB");
    word(out, 0, "TABLE");
    word(out, 2, "STYLE");
    whole(out, 70, 1);
    word(out, 0, "STYLE");
    word(out, 2, "STANDARD");
    whole(out, 70, 0);
    real(out, 40, 0);
    real(out, 41, 1);
    real(out, 50, 0);
    whole(out, 71, 0);
    real(out, 42, 2.5);
    word(out, 3, "txt");
    word(out, 4, "");
    word(out, 0, "ENDTAB");
    word(out, 0, "ENDSEC");
}

/* ASCII only: %% codes for what has one, \U+XXXX for the rest, "?" beyond the basic plane. */
static void text_value(cw_buf *out, const char *text)
{
    cw_buf_text(out, "1\n");
    size_t step;
    for (uint32_t code; (step = cw_utf8_next(text, &code)) > 0; text += step) {
        switch (code) {
        case 0xb0:
            cw_buf_text(out, "%%d");
            break;
        case 0xb1:
            cw_buf_text(out, "%%p");
            break;
        case 0xd8:
        case 0x2300:
            cw_buf_text(out, "%%c");
            break;
        case 0x2212:
            cw_buf_char(out, '-');
            break;
        default:
            if (code < 0x80)
                cw_buf_char(out, (char)code);
            else if (code <= 0xffff)
                cw_buf_printf(out, "\\U+%04X", (unsigned)code);
            else
                cw_buf_char(out, '?');
        }
    }
    cw_buf_char(out, '\n');
}

static void write_text(cw_buf *out, const cw_item *item, cw_point at)
{
    static const int across[] = {[CW_TEXT_START] = 0, [CW_TEXT_MIDDLE] = 1, [CW_TEXT_END] = 2};
    begin(out, "TEXT", item->layer);
    point(out, 10, at.x_mm, at.y_mm);
    real(out, 40, item->height_mm);
    text_value(out, item->text);
    real(out, 50, item->angle_rad * 180 / M_PI);
    if (item->anchor != CW_TEXT_START) {
        whole(out, 72, across[item->anchor]);
        point(out, 11, at.x_mm, at.y_mm);
    }
}

static void write_path(cw_buf *out, const cw_item *item, const cw_point *points)
{
    if (item->filled && item->point_count == 3) {
        begin(out, "SOLID", item->layer);
        for (int i = 0; i < 4; i++)
            point(out, 10 + i, points[i < 3 ? i : 2].x_mm, points[i < 3 ? i : 2].y_mm);
        return;
    }
    if (item->point_count == 2) {
        begin(out, "LINE", item->layer);
        point(out, 10, points[0].x_mm, points[0].y_mm);
        point(out, 11, points[1].x_mm, points[1].y_mm);
        return;
    }
    begin(out, "POLYLINE", item->layer);
    whole(out, 66, 1);
    point(out, 10, 0, 0);
    whole(out, 70, item->closed ? 1 : 0);
    for (size_t i = 0; i < item->point_count; i++) {
        begin(out, "VERTEX", item->layer);
        point(out, 10, points[i].x_mm, points[i].y_mm);
    }
    begin(out, "SEQEND", item->layer);
}

static double degrees(double rad)
{
    double turned = fmod(rad * 180 / M_PI, 360);
    return turned < 0 ? turned + 360 : turned;
}

static void write_round(cw_buf *out, const cw_item *item, cw_point centre)
{
    bool whole_turn = item->kind == CW_ITEM_CIRCLE || item->end_rad - item->start_rad > 2 * M_PI - 1e-9;
    begin(out, whole_turn ? "CIRCLE" : "ARC", item->layer);
    point(out, 10, centre.x_mm, centre.y_mm);
    real(out, 40, item->radius_mm);
    if (!whole_turn) {
        real(out, 50, degrees(item->start_rad));
        real(out, 51, degrees(item->end_rad));
    }
}

cw_status cw_drawing_dxf(const cw_drawing *drawing, cw_buf *out, cw_error *err)
{
    CW_TRY(cw_drawing_check(drawing, err));
    cw_point least, most;
    if (!cw_drawing_bounds(drawing, &least, &most))
        return cw_fail(err, CW_RANGE, "the drawing \"%s\" is empty", drawing->title);
    header(out, least, most);
    tables(out);
    word(out, 0, "SECTION");
    word(out, 2, "ENTITIES");
    for (size_t i = 0; i < drawing->item_count; i++) {
        const cw_item *item = &drawing->items[i];
        const cw_point *points = drawing->points + item->first_point;
        if (item->kind == CW_ITEM_PATH)
            write_path(out, item, points);
        else if (item->kind == CW_ITEM_TEXT)
            write_text(out, item, *points);
        else
            write_round(out, item, *points);
    }
    word(out, 0, "ENDSEC");
    word(out, 0, "EOF");
    return cw_buf_check(out, "the DXF", err);
}
