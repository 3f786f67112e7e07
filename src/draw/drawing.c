/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/drawing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"
#include "draw/model.h"
#include "draw/words.h"

enum { ITEMS_MOST = 200000, POINTS_MOST = 4000000, TEXT_MOST = 4096 };

/* Nothing at a bench is larger; beyond it a slip of the unit is far more likely than a drawing. */
static const double FARTHEST_MM = 20000;

/* Dimension lines, after ISO 129-1 in manner: thin, arrow heads longer than wide, figures above the line. */
static const double FIGURE_MM = 2.5, ARROW_MM = 2.5, ARROW_HALF_MM = 0.45, GAP_MM = 0.8, BEYOND_MM = 1.5, TAIL_MM = 5;

static const cw_layer_look looks[CW_LAYER_COUNT] = {
    [CW_LAYER_CUT] = {"cut", 0.25, {0}, 0, "currentColor", 0, 0, 0, false, 7, "CONTINUOUS"},
    [CW_LAYER_DRILL] = {"drill", 0.25, {0}, 0, "currentColor", 0, 0, 0, false, 5, "CONTINUOUS"},
    [CW_LAYER_FOLD] = {"fold", 0.18, {4, 1.5}, 2, "currentColor", 0, 0, 0, false, 3, "DASHED"},
    [CW_LAYER_CENTRE] = {"centre", 0.13, {6, 1, 0.8, 1}, 4, "currentColor", 0, 0, 0, false, 1, "CENTER"},
    [CW_LAYER_HIDDEN] = {"hidden", 0.18, {2, 1}, 2, "currentColor", 0, 0, 0, false, 8, "DASHED"},
    [CW_LAYER_DIMENSION] = {"dimension", 0.13, {0}, 0, "currentColor", 0, 0, 0, false, 4, "CONTINUOUS"},
    [CW_LAYER_NOTE] = {"note", 0.13, {0}, 0, "currentColor", 0, 0, 0, false, 2, "CONTINUOUS"},
    [CW_LAYER_GLASS] = {"glass", 0.25, {0}, 0, "currentColor", 0, 0, 0, true, 5, "CONTINUOUS"},
    [CW_LAYER_RAY] = {"ray", 0.13, {0}, 0, "#d55e00", 0.835, 0.369, 0, false, 30, "CONTINUOUS"},
};

static const cw_layer order[CW_LAYER_COUNT] = {
    CW_LAYER_GLASS, CW_LAYER_RAY,   CW_LAYER_HIDDEN,    CW_LAYER_CENTRE, CW_LAYER_FOLD,
    CW_LAYER_CUT,   CW_LAYER_DRILL, CW_LAYER_DIMENSION, CW_LAYER_NOTE,
};

const cw_layer_look *cw_layer_looks(void)
{
    return looks;
}

const cw_layer *cw_layer_order(void)
{
    return order;
}

static char *clean_copy(const char *text)
{
    cw_buf buf = cw_buf_new(TEXT_MOST);
    cw_utf8_clean(&buf, text);
    cw_error ignored; /* the caller names what it was making */
    char *taken = NULL;
    if (cw_buf_take(&buf, &taken, &ignored) != CW_OK)
        cw_buf_free(&buf);
    return taken;
}

cw_status cw_drawing_new(const char *title, const char *description, cw_drawing **drawing, cw_error *err)
{
    *drawing = NULL;
    if (strlen(title) > TEXT_MOST / 3 || strlen(description) > TEXT_MOST / 3)
        return cw_fail(err, CW_INPUT, "the drawing's title or description is longer than %d bytes", TEXT_MOST / 3);
    cw_drawing *made = calloc(1, sizeof *made);
    if (made != NULL) {
        made->title = clean_copy(title);
        made->description = clean_copy(description);
    }
    if (made == NULL || made->title == NULL || made->description == NULL) {
        cw_drawing_free(made);
        return cw_fail(err, CW_MEMORY, "no memory for a drawing");
    }
    *drawing = made;
    return CW_OK;
}

void cw_drawing_free(cw_drawing *drawing)
{
    if (drawing == NULL)
        return;
    for (size_t i = 0; i < drawing->item_count; i++)
        free(drawing->items[i].text);
    free(drawing->items);
    free(drawing->points);
    free(drawing->title);
    free(drawing->description);
    free(drawing);
}

cw_status cw_drawing_check(const cw_drawing *drawing, cw_error *err)
{
    if (drawing->failure.status == CW_OK)
        return CW_OK;
    return cw_fail(err, drawing->failure.status, "%s", drawing->failure.text);
}

/* Written so that NaN fails too. */
static bool is_length(double mm)
{
    return fabs(mm) <= FARTHEST_MM;
}

static bool refuse(cw_drawing *drawing, const char *what, double value)
{
    if (drawing->failure.status == CW_OK)
        drawing->failure.status =
            cw_fail(&drawing->failure, CW_RANGE,
                    "the drawing \"%.60s\": %s of %g cannot be drawn; finite sizes up to %g mm can", drawing->title,
                    what, value, FARTHEST_MM);
    return false;
}

/* Adds the item with its points; false, and remembered, when it cannot be drawn. */
static bool add(cw_drawing *drawing, cw_item item, const cw_point *points, size_t count)
{
    if (drawing->failure.status != CW_OK)
        return false;
    if ((unsigned)item.layer >= CW_LAYER_COUNT)
        return refuse(drawing, "a layer number", item.layer);
    for (size_t i = 0; i < count; i++)
        if (!is_length(points[i].x_mm) || !is_length(points[i].y_mm))
            return refuse(drawing, "a coordinate", is_length(points[i].x_mm) ? points[i].y_mm : points[i].x_mm);
    cw_error *failure = &drawing->failure;
    cw_status status = cw_grow(&drawing->points, &drawing->point_capacity, drawing->point_count + count, sizeof *points,
                               POINTS_MOST, "points of a drawing", failure);
    if (status == CW_OK)
        status = cw_grow(&drawing->items, &drawing->item_capacity, drawing->item_count + 1, sizeof item, ITEMS_MOST,
                         "lines of a drawing", failure);
    failure->status = status;
    if (status != CW_OK)
        return false;
    item.first_point = drawing->point_count;
    item.point_count = count;
    memcpy(drawing->points + drawing->point_count, points, count * sizeof *points);
    drawing->point_count += count;
    drawing->items[drawing->item_count++] = item;
    return true;
}

void cw_draw_line(cw_drawing *drawing, cw_layer layer, cw_point from, cw_point to)
{
    add(drawing, (cw_item){.kind = CW_ITEM_PATH, .layer = layer}, (cw_point[]){from, to}, 2);
}

void cw_draw_path(cw_drawing *drawing, cw_layer layer, const cw_point *points, size_t count, bool closed)
{
    if (count >= 2)
        add(drawing, (cw_item){.kind = CW_ITEM_PATH, .layer = layer, .closed = closed}, points, count);
}

void cw_draw_circle(cw_drawing *drawing, cw_layer layer, cw_point centre, double radius_mm)
{
    if (!(radius_mm > 0 && radius_mm <= FARTHEST_MM)) {
        refuse(drawing, "a radius", radius_mm);
        return;
    }
    add(drawing, (cw_item){.kind = CW_ITEM_CIRCLE, .layer = layer, .radius_mm = radius_mm}, &centre, 1);
    if (layer != CW_LAYER_DRILL)
        return;
    double arm = radius_mm < 1.5 ? radius_mm + 1 : radius_mm < 4 ? radius_mm : 3;
    cw_draw_line(drawing, CW_LAYER_CENTRE, (cw_point){centre.x_mm - arm, centre.y_mm},
                 (cw_point){centre.x_mm + arm, centre.y_mm});
    cw_draw_line(drawing, CW_LAYER_CENTRE, (cw_point){centre.x_mm, centre.y_mm - arm},
                 (cw_point){centre.x_mm, centre.y_mm + arm});
}

void cw_draw_arc(cw_drawing *drawing, cw_layer layer, cw_point centre, double radius_mm, double start_rad,
                 double end_rad)
{
    if (!(radius_mm > 0 && radius_mm <= FARTHEST_MM)) {
        refuse(drawing, "a radius", radius_mm);
        return;
    }
    if (!isfinite(start_rad) || !isfinite(end_rad)) {
        refuse(drawing, "an angle", isfinite(start_rad) ? end_rad : start_rad);
        return;
    }
    double span = fmod(end_rad - start_rad, 2 * M_PI);
    if (span <= 0)
        span += 2 * M_PI;
    start_rad = remainder(start_rad, 2 * M_PI);
    add(drawing,
        (cw_item){.kind = CW_ITEM_ARC,
                  .layer = layer,
                  .radius_mm = radius_mm,
                  .start_rad = start_rad,
                  .end_rad = start_rad + span},
        &centre, 1);
}

void cw_draw_text(cw_drawing *drawing, cw_layer layer, cw_point at, double height_mm, cw_text_anchor anchor,
                  double angle_rad, const char *text)
{
    if (!(height_mm > 0 && height_mm <= FARTHEST_MM) || !isfinite(angle_rad)) {
        refuse(drawing, "a text height or angle", isfinite(angle_rad) ? height_mm : angle_rad);
        return;
    }
    char *copy = clean_copy(text);
    if (copy == NULL) {
        if (drawing->failure.status == CW_OK)
            drawing->failure.status =
                cw_fail(&drawing->failure, CW_MEMORY, "a text of the drawing \"%.60s\" is too long", drawing->title);
        return;
    }
    cw_item item = {.kind = CW_ITEM_TEXT,
                    .layer = layer,
                    .height_mm = height_mm,
                    .angle_rad = angle_rad,
                    .anchor = anchor,
                    .text = copy};
    if (*copy == '\0' || !add(drawing, item, &at, 1))
        free(copy);
}

static cw_point along(cw_point from, double ux, double uy, double distance)
{
    return (cw_point){from.x_mm + ux * distance, from.y_mm + uy * distance};
}

static void arrow(cw_drawing *drawing, cw_point tip, double ux, double uy)
{
    cw_point back = along(tip, -ux, -uy, ARROW_MM);
    cw_point head[] = {tip, along(back, -uy, ux, ARROW_HALF_MM), along(back, uy, -ux, ARROW_HALF_MM)};
    add(drawing, (cw_item){.kind = CW_ITEM_PATH, .layer = CW_LAYER_DIMENSION, .closed = true, .filled = true}, head, 3);
}

static void extension(cw_drawing *drawing, cw_point from, double nx, double ny, double offset_mm)
{
    double side = offset_mm < 0 ? -1 : 1;
    if (fabs(offset_mm) <= GAP_MM)
        return;
    cw_draw_line(drawing, CW_LAYER_DIMENSION, along(from, nx, ny, side * GAP_MM),
                 along(from, nx, ny, offset_mm + side * BEYOND_MM));
}

void cw_draw_dimension(cw_drawing *drawing, cw_point from, cw_point to, double offset_mm, const char *text)
{
    double dx = to.x_mm - from.x_mm, dy = to.y_mm - from.y_mm, length = hypot(dx, dy);
    if (!(length > 0) || !is_length(length) || !is_length(offset_mm)) {
        refuse(drawing, "a dimension", is_length(offset_mm) ? length : offset_mm);
        return;
    }
    double ux = dx / length, uy = dy / length, nx = -uy, ny = ux;
    extension(drawing, from, nx, ny, offset_mm);
    extension(drawing, to, nx, ny, offset_mm);
    cw_point a = along(from, nx, ny, offset_mm), b = along(to, nx, ny, offset_mm);

    double width = cw_text_width(text) * FIGURE_MM / CW_CAPITAL_HEIGHT;
    bool arrows_inside = length >= 2 * ARROW_MM + 1, text_inside = length >= width + (arrows_inside ? 2 * ARROW_MM : 1);
    cw_point line_from = arrows_inside ? a : along(a, -ux, -uy, TAIL_MM);
    cw_point line_to = text_inside ? (arrows_inside ? b : along(b, ux, uy, TAIL_MM))
                                   : along(b, ux, uy, (arrows_inside ? 1 : ARROW_MM) + width + 1);
    cw_draw_line(drawing, CW_LAYER_DIMENSION, line_from, line_to);
    arrow(drawing, a, arrows_inside ? -ux : ux, arrows_inside ? -uy : uy);
    arrow(drawing, b, arrows_inside ? ux : -ux, arrows_inside ? uy : -uy);

    /* Figures stand over the line and read from below or from the right. */
    double angle = atan2(uy, ux);
    if (angle > M_PI / 2 + 1e-9 || angle <= -M_PI / 2 + 1e-9)
        angle = remainder(angle + M_PI, 2 * M_PI);
    double middle = text_inside ? length / 2 : length + (arrows_inside ? 1 : ARROW_MM) + width / 2;
    cw_point at = along(a, ux, uy, middle);
    at = along(at, -sin(angle), cos(angle), GAP_MM);
    cw_draw_text(drawing, CW_LAYER_DIMENSION, at, FIGURE_MM, CW_TEXT_MIDDLE, angle, text);
}

static void stretch(cw_point *least, cw_point *most, double x, double y)
{
    least->x_mm = fmin(least->x_mm, x);
    least->y_mm = fmin(least->y_mm, y);
    most->x_mm = fmax(most->x_mm, x);
    most->y_mm = fmax(most->y_mm, y);
}

static void stretch_arc(const cw_item *item, cw_point centre, cw_point *least, cw_point *most)
{
    double r = item->radius_mm;
    stretch(least, most, centre.x_mm + r * cos(item->start_rad), centre.y_mm + r * sin(item->start_rad));
    stretch(least, most, centre.x_mm + r * cos(item->end_rad), centre.y_mm + r * sin(item->end_rad));
    for (double quarter = ceil(item->start_rad / M_PI_2) * M_PI_2; quarter < item->end_rad; quarter += M_PI_2)
        stretch(least, most, centre.x_mm + r * cos(quarter), centre.y_mm + r * sin(quarter));
}

static void stretch_text(const cw_item *item, cw_point at, cw_point *least, cw_point *most)
{
    double size = item->height_mm / CW_CAPITAL_HEIGHT, width = cw_text_width(item->text) * size;
    double left = item->anchor == CW_TEXT_START ? 0 : item->anchor == CW_TEXT_MIDDLE ? -width / 2 : -width;
    double c = cos(item->angle_rad), s = sin(item->angle_rad);
    const double across[] = {left, left + width}, up[] = {-0.24 * size, 0.8 * size};
    for (int i = 0; i < 4; i++) {
        double u = across[i & 1], v = up[i >> 1];
        stretch(least, most, at.x_mm + u * c - v * s, at.y_mm + u * s + v * c);
    }
}

bool cw_drawing_bounds(const cw_drawing *drawing, cw_point *least, cw_point *most)
{
    if (drawing->item_count == 0)
        return false;
    cw_point low = {INFINITY, INFINITY}, high = {-INFINITY, -INFINITY};
    for (size_t i = 0; i < drawing->item_count; i++) {
        const cw_item *item = &drawing->items[i];
        const cw_point *points = drawing->points + item->first_point;
        switch (item->kind) {
        case CW_ITEM_PATH:
            for (size_t k = 0; k < item->point_count; k++)
                stretch(&low, &high, points[k].x_mm, points[k].y_mm);
            break;
        case CW_ITEM_CIRCLE:
            stretch(&low, &high, points->x_mm - item->radius_mm, points->y_mm - item->radius_mm);
            stretch(&low, &high, points->x_mm + item->radius_mm, points->y_mm + item->radius_mm);
            break;
        case CW_ITEM_ARC:
            stretch_arc(item, *points, &low, &high);
            break;
        case CW_ITEM_TEXT:
            stretch_text(item, *points, &low, &high);
            break;
        }
    }
    *least = low;
    *most = high;
    return true;
}
