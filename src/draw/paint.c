/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/paint.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

#include "draw/model.h"
#include "draw/words.h"

/* Pango counts in 1/1024 of a unit and was made for points: text is set in tenths of a point and scaled. */
static const double TYPE_SCALE = 1 / (CW_POINTS_PER_MM * 10);

cairo_status_t cw_paint_to_buf(void *closure, const unsigned char *bytes, unsigned int count)
{
    cw_buf *out = closure;
    cw_buf_add(out, (const char *)bytes, count);
    return out->failed ? CAIRO_STATUS_WRITE_ERROR : CAIRO_STATUS_SUCCESS;
}

static PangoLayout *layout_for(cairo_t *cr, double capital_mm, bool bold)
{
    PangoLayout *layout = pango_cairo_create_layout(cr);
    PangoContext *context = pango_layout_get_context(layout);
    pango_context_set_round_glyph_positions(context, FALSE);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    pango_cairo_context_set_font_options(context, options);
    cairo_font_options_destroy(options);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "DejaVu Sans");
    pango_font_description_set_absolute_size(font, capital_mm / CW_CAPITAL_HEIGHT / TYPE_SCALE * PANGO_SCALE);
    if (bold)
        pango_font_description_set_weight(font, PANGO_WEIGHT_BOLD);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    return layout;
}

double cw_paint_words(cairo_t *cr, const cw_lettering *look, cw_point at, const char *text)
{
    PangoLayout *layout = layout_for(cr, look->capital_mm, look->bold);
    static const PangoAlignment alignments[] = {
        [CW_TEXT_START] = PANGO_ALIGN_LEFT, [CW_TEXT_MIDDLE] = PANGO_ALIGN_CENTER, [CW_TEXT_END] = PANGO_ALIGN_RIGHT};
    pango_layout_set_text(layout, text, -1);
    double left = at.x_mm;
    if (look->width_mm > 0) {
        pango_layout_set_width(layout, (int)(look->width_mm / TYPE_SCALE * PANGO_SCALE));
        pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
        pango_layout_set_alignment(layout, alignments[look->anchor]);
        if (look->lines_most > 0) {
            pango_layout_set_height(layout, -look->lines_most);
            pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
        }
    } else {
        pango_layout_set_single_paragraph_mode(layout, TRUE);
        PangoRectangle logical;
        pango_layout_get_extents(layout, NULL, &logical);
        double width = logical.width * TYPE_SCALE / PANGO_SCALE;
        left -= look->anchor == CW_TEXT_START ? 0 : look->anchor == CW_TEXT_MIDDLE ? width / 2 : width;
    }
    PangoRectangle extents;
    pango_layout_get_extents(layout, NULL, &extents);
    cairo_save(cr);
    cairo_translate(cr, left, at.y_mm);
    cairo_scale(cr, TYPE_SCALE, TYPE_SCALE);
    cairo_move_to(cr, 0, -(double)pango_layout_get_baseline(layout) / PANGO_SCALE);
    pango_cairo_show_layout(cr, layout);
    cairo_restore(cr);
    cairo_new_path(cr);
    g_object_unref(layout);
    return extents.height * TYPE_SCALE / PANGO_SCALE;
}

static void paint_text(cairo_t *cr, const cw_item *item, cw_point at)
{
    cairo_save(cr);
    cairo_translate(cr, at.x_mm, -at.y_mm);
    cairo_rotate(cr, -item->angle_rad);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = item->height_mm, .anchor = item->anchor}, (cw_point){0},
                   item->text);
    cairo_restore(cr);
}

static void paint_path(cairo_t *cr, const cw_layer_look *look, const cw_item *item, const cw_point *points)
{
    cairo_move_to(cr, points[0].x_mm, -points[0].y_mm);
    for (size_t i = 1; i < item->point_count; i++)
        cairo_line_to(cr, points[i].x_mm, -points[i].y_mm);
    if (item->closed)
        cairo_close_path(cr);
    if (item->filled) {
        cairo_fill(cr);
        return;
    }
    if (item->closed && look->filled) {
        cairo_set_source_rgba(cr, CW_TINT_RED, CW_TINT_GREEN, CW_TINT_BLUE, CW_TINT_OPACITY);
        cairo_fill_preserve(cr);
        cairo_set_source_rgb(cr, look->red, look->green, look->blue);
    }
    cairo_stroke(cr);
}

static void paint_item(cairo_t *cr, const cw_layer_look *look, const cw_drawing *drawing, const cw_item *item)
{
    const cw_point *points = drawing->points + item->first_point;
    switch (item->kind) {
    case CW_ITEM_PATH:
        paint_path(cr, look, item, points);
        break;
    case CW_ITEM_CIRCLE:
        cairo_new_path(cr);
        cairo_arc(cr, points->x_mm, -points->y_mm, item->radius_mm, 0, 2 * M_PI);
        cairo_stroke(cr);
        break;
    case CW_ITEM_ARC:
        cairo_new_path(cr);
        cairo_arc_negative(cr, points->x_mm, -points->y_mm, item->radius_mm, -item->start_rad, -item->end_rad);
        cairo_stroke(cr);
        break;
    case CW_ITEM_TEXT:
        paint_text(cr, item, *points);
        break;
    }
}

void cw_drawing_paint(const cw_drawing *drawing, cairo_t *cr)
{
    cairo_save(cr);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_MITER);
    for (int k = 0; k < CW_LAYER_COUNT; k++) {
        cw_layer layer = cw_layer_order()[k];
        const cw_layer_look *look = &cw_layer_looks()[layer];
        cairo_set_source_rgb(cr, look->red, look->green, look->blue);
        cairo_set_line_width(cr, look->width_mm);
        cairo_set_dash(cr, look->dashes_mm, look->dash_count, 0);
        for (size_t i = 0; i < drawing->item_count; i++)
            if (drawing->items[i].layer == layer)
                paint_item(cr, look, drawing, &drawing->items[i]);
    }
    cairo_restore(cr);
}

cw_status cw_drawing_png(const cw_drawing *drawing, double dpi, cw_buf *out, cw_error *err)
{
    static const double EDGE_MM = 2, DOTS_MOST = 100e6;
    CW_TRY(cw_drawing_check(drawing, err));
    cw_point least, most;
    if (!cw_drawing_bounds(drawing, &least, &most))
        return cw_fail(err, CW_RANGE, "the drawing \"%s\" is empty", drawing->title);
    if (!(dpi >= 20 && dpi <= 2400))
        return cw_fail(err, CW_RANGE, "%g dots per inch; 20 to 2400 can be painted", dpi);
    double scale = dpi / 25.4, width = ceil((most.x_mm - least.x_mm + 2 * EDGE_MM) * scale),
           height = ceil((most.y_mm - least.y_mm + 2 * EDGE_MM) * scale);
    if (!(width * height <= DOTS_MOST) || width > 32000 || height > 32000)
        return cw_fail(err, CW_RANGE, "a picture of %.0f x %.0f dots is too large; ask for fewer dots per inch than %g",
                       width, height, dpi);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)width, (int)height);
    cairo_t *cr = cairo_create(surface);
    cairo_set_source_rgb(cr, 1, 1, 1);
    cairo_paint(cr);
    cairo_scale(cr, scale, scale);
    cairo_translate(cr, EDGE_MM - least.x_mm, EDGE_MM + most.y_mm);
    cw_drawing_paint(drawing, cr);
    cairo_status_t result = cairo_status(cr);
    cairo_destroy(cr);
    if (result == CAIRO_STATUS_SUCCESS)
        result = cairo_surface_write_to_png_stream(surface, cw_paint_to_buf, out);
    cairo_surface_destroy(surface);
    if (result != CAIRO_STATUS_SUCCESS)
        return cw_fail(err, CW_MEMORY, "painting the drawing failed: %s", cairo_status_to_string(result));
    return CW_OK;
}
