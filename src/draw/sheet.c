/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/sheet.h"

#include <cairo-pdf.h>
#include <math.h>
#include <stdio.h>

#include "base/utf8.h"
#include "draw/model.h"
#include "draw/paint.h"

/* Room around the window: what printers cannot reach, the head with title and map, the foot with the level check bar,
 * the strip at the right with the upright one. */
static const double MARGIN_MM = 10, HEAD_MM = 19, FOOT_MM = 19, STRIP_MM = 8, OVERLAP_MM = 12, BAR_MM = 50,
                    EDGE_MM = 1; /* half a line, and words a little wider than their estimate */
enum { PAGES_MOST = 100 };

/* One run of pages: what is drawn, and where its parts lie. */
typedef struct {
    cairo_t *cr;
    const cw_drawing *drawing;
    const cw_tiling *tiling;
    const char *footer;
    double page_w_mm, page_h_mm;
    double left_mm, top_mm; /* drawing coordinates of the first page's window corner */
    size_t page_count;
} run;

static double steps(double size_mm, double window_mm)
{
    return size_mm <= window_mm ? 1 : 1 + ceil((size_mm - window_mm) / (window_mm - OVERLAP_MM) - 1e-9);
}

static double window_width(double page_mm)
{
    return page_mm - 2 * MARGIN_MM - STRIP_MM;
}

static double window_height(double page_mm)
{
    return page_mm - 2 * MARGIN_MM - HEAD_MM - FOOT_MM;
}

static double pages_on(const cw_paper *paper, bool landscape, double w_mm, double h_mm)
{
    double page_w = landscape ? paper->height_mm : paper->width_mm,
           page_h = landscape ? paper->width_mm : paper->height_mm;
    return steps(w_mm, window_width(page_w)) * steps(h_mm, window_height(page_h));
}

/* The smallest paper that takes it on one sheet, of the same family where there is one. */
static const cw_paper *smallest_whole(double w_mm, double h_mm, bool iso)
{
    size_t count;
    const cw_paper *papers = cw_papers(&count), *other = NULL;
    for (size_t i = 0; i < count; i++) {
        if (pages_on(&papers[i], false, w_mm, h_mm) > 1 && pages_on(&papers[i], true, w_mm, h_mm) > 1)
            continue;
        if (papers[i].iso == iso)
            return &papers[i];
        if (other == NULL)
            other = &papers[i];
    }
    return other;
}

cw_status cw_drawing_tiling(const cw_drawing *drawing, const char *paper, cw_tiling *tiling, cw_error *err)
{
    const cw_paper *sheet;
    CW_TRY(cw_drawing_check(drawing, err));
    CW_TRY(cw_paper_find(paper, &sheet, err));
    cw_point least, most;
    if (!cw_drawing_bounds(drawing, &least, &most))
        return cw_fail(err, CW_RANGE, "the drawing \"%s\" is empty; there is nothing to print", drawing->title);
    double w = most.x_mm - least.x_mm + 2 * EDGE_MM, h = most.y_mm - least.y_mm + 2 * EDGE_MM;
    bool landscape = pages_on(sheet, true, w, h) < pages_on(sheet, false, w, h);
    double pages = pages_on(sheet, landscape, w, h);
    if (!(pages <= PAGES_MOST))
        return cw_fail(err, CW_RANGE,
                       "the drawing is %.0f x %.0f mm and would take %.0f sheets of %s; at most %d are made. Check its "
                       "sizes, or send the DXF to a cutter",
                       w, h, pages, sheet->name, PAGES_MOST);
    cw_tiling made = {.paper = sheet, .landscape = landscape};
    made.window_w_mm = window_width(landscape ? sheet->height_mm : sheet->width_mm);
    made.window_h_mm = window_height(landscape ? sheet->width_mm : sheet->height_mm);
    made.across = (size_t)steps(w, made.window_w_mm);
    made.down = (size_t)steps(h, made.window_h_mm);
    made.overlap_mm = OVERLAP_MM;
    made.larger = pages > 1 ? smallest_whole(w, h, sheet->iso) : NULL;
    *tiling = made;
    return CW_OK;
}

static void stroke_line(cairo_t *cr, double x0, double y0, double x1, double y1)
{
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_stroke(cr);
}

/* A bar of exactly 50 mm between the middles of its end ticks, with a tick each 10 mm. */
static void check_bar(const run *r, double x, double y, bool upright)
{
    cairo_t *cr = r->cr;
    cairo_save(cr);
    cairo_translate(cr, x, y);
    if (upright)
        cairo_rotate(cr, -M_PI_2);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cairo_set_line_width(cr, 0.2);
    stroke_line(cr, 0, 0, BAR_MM, 0);
    for (int i = 0; i <= 5; i++)
        stroke_line(cr, i * BAR_MM / 5, i % 5 == 0 ? -2 : -1, i * BAR_MM / 5, i % 5 == 0 ? 2 : 0);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 2, .anchor = CW_TEXT_MIDDLE}, (cw_point){BAR_MM / 2, 3.2},
                   "50 mm");
    cairo_restore(cr);
}

/* Which page this is, as a small picture of all of them. Returns its width. */
static double page_map(const run *r, size_t column, size_t row, double right, double top)
{
    cairo_t *cr = r->cr;
    double cell = fmin(4, fmin(12.0 / (double)r->tiling->down, 24.0 / (double)r->tiling->across)),
           width = cell * (double)r->tiling->across;
    cairo_set_line_width(cr, 0.15);
    for (size_t j = 0; j < r->tiling->down; j++) {
        for (size_t i = 0; i < r->tiling->across; i++) {
            cairo_rectangle(cr, right - width + cell * (double)i, top + cell * (double)j, cell, cell);
            cairo_set_source_rgb(cr, 0, 0, 0);
            if (i == column && j == row)
                cairo_fill_preserve(cr);
            cairo_stroke(cr);
        }
    }
    return width;
}

static void head(const run *r, size_t column, size_t row)
{
    cairo_t *cr = r->cr;
    double right = r->page_w_mm - MARGIN_MM, room = right - MARGIN_MM;
    cairo_set_source_rgb(cr, 0, 0, 0);
    if (r->page_count > 1) {
        char page[64];
        double map = page_map(r, column, row, right, MARGIN_MM);
        snprintf(page, sizeof page, "page %zu of %zu", row * r->tiling->across + column + 1, r->page_count);
        cw_paint_words(cr, &(cw_lettering){.capital_mm = 2.2, .anchor = CW_TEXT_END},
                       (cw_point){right - map - 2, MARGIN_MM + 3.5}, page);
        room -= map + 32;
    }
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 3.4, .bold = true, .width_mm = room, .lines_most = 1},
                   (cw_point){MARGIN_MM, MARGIN_MM + 3.8}, r->drawing->title);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 2, .width_mm = room, .lines_most = 3},
                   (cw_point){MARGIN_MM, MARGIN_MM + 8.6}, r->drawing->description);
}

static void foot(const run *r)
{
    cairo_t *cr = r->cr;
    double y = r->page_h_mm - MARGIN_MM - FOOT_MM + 6, words_x = MARGIN_MM + BAR_MM + 5,
           room = r->page_w_mm - MARGIN_MM - words_x;
    check_bar(r, MARGIN_MM + 0.5, y + 2, false);
    check_bar(r, r->page_w_mm - MARGIN_MM - 5, r->page_h_mm - MARGIN_MM - FOOT_MM, true);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 2.2, .bold = true, .width_mm = room, .lines_most = 1},
                   (cw_point){words_x, y}, "Print at 100 %, without scaling.");
    char advice[400] =
        "Measure both bars first: if they are not 50 mm, do not use this sheet. Sizes run to the middle of "
        "the lines.";
    if (r->page_count > 1)
        snprintf(advice, sizeof advice,
                 "Measure both bars first: 50 mm each. Pages overlap by %.0f mm: lay the marks over each other.%s%s%s",
                 r->tiling->overlap_mm, r->tiling->larger != NULL ? " One sheet of " : "",
                 r->tiling->larger != NULL ? r->tiling->larger->name : "",
                 r->tiling->larger != NULL ? " would take it whole." : "");
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 1.8, .width_mm = room, .lines_most = 2},
                   (cw_point){words_x, y + 4}, advice);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 1.8, .width_mm = r->page_w_mm - 2 * MARGIN_MM, .lines_most = 1},
                   (cw_point){MARGIN_MM, r->page_h_mm - MARGIN_MM - 0.5}, r->footer);
}

static void mark(cairo_t *cr, double x, double y)
{
    cairo_new_path(cr);
    cairo_arc(cr, x, y, 2, 0, 2 * M_PI);
    cairo_stroke(cr);
    stroke_line(cr, x - 3.2, y, x + 3.2, y);
    stroke_line(cr, x, y - 3.2, x, y + 3.2);
}

/* The marks lie in the drawing's own coordinates, in the middle of each overlap: the same spot on both pages. */
static void marks(const run *r)
{
    const cw_tiling *t = r->tiling;
    double step_x = t->window_w_mm - t->overlap_mm, step_y = t->window_h_mm - t->overlap_mm;
    cairo_set_source_rgb(r->cr, 0.35, 0.35, 0.35);
    cairo_set_line_width(r->cr, 0.13);
    for (size_t j = 0; j < t->down; j++) {
        for (size_t i = 0; i < t->across; i++) {
            double x = r->left_mm + step_x * (double)i, y = -r->top_mm + step_y * (double)j;
            for (int k = 1; k <= 3; k += 2) {
                if (i + 1 < t->across)
                    mark(r->cr, x + step_x + t->overlap_mm / 2, y + t->window_h_mm * k / 4);
                if (j + 1 < t->down)
                    mark(r->cr, x + t->window_w_mm * k / 4, y + step_y + t->overlap_mm / 2);
            }
        }
    }
}

/* A thin frame around the window, and the inner edge of each overlap. */
static void frame(const run *r, size_t column, size_t row)
{
    const cw_tiling *t = r->tiling;
    double x = MARGIN_MM, y = MARGIN_MM + HEAD_MM, w = t->window_w_mm, h = t->window_h_mm, o = t->overlap_mm;
    cairo_t *cr = r->cr;
    cairo_set_source_rgb(cr, 0.35, 0.35, 0.35);
    cairo_set_line_width(cr, 0.13);
    cairo_rectangle(cr, x, y, w, h);
    cairo_stroke(cr);
    cairo_set_dash(cr, (double[]){0.5, 1}, 2, 0);
    if (column > 0)
        stroke_line(cr, x + o, y, x + o, y + h);
    if (column + 1 < t->across)
        stroke_line(cr, x + w - o, y, x + w - o, y + h);
    if (row > 0)
        stroke_line(cr, x, y + o, x + w, y + o);
    if (row + 1 < t->down)
        stroke_line(cr, x, y + h - o, x + w, y + h - o);
    cairo_set_dash(cr, NULL, 0, 0);
}

static void page(const run *r, size_t column, size_t row)
{
    const cw_tiling *t = r->tiling;
    cairo_t *cr = r->cr;
    cairo_save(cr);
    cairo_scale(cr, CW_POINTS_PER_MM, CW_POINTS_PER_MM);
    head(r, column, row);
    foot(r);
    if (r->page_count > 1)
        frame(r, column, row);
    cairo_save(cr);
    cairo_rectangle(cr, MARGIN_MM, MARGIN_MM + HEAD_MM, t->window_w_mm, t->window_h_mm);
    cairo_clip(cr);
    cairo_translate(cr, MARGIN_MM - r->left_mm - (double)column * (t->window_w_mm - t->overlap_mm),
                    MARGIN_MM + HEAD_MM + r->top_mm - (double)row * (t->window_h_mm - t->overlap_mm));
    if (r->page_count > 1)
        marks(r);
    cw_drawing_paint(r->drawing, cr);
    cairo_restore(cr);
    cairo_restore(cr);
    cairo_show_page(cr);
}

static void pages(run *r)
{
    const cw_tiling *t = r->tiling;
    cw_point least, most;
    cw_drawing_bounds(r->drawing, &least, &most);
    double covered_w = t->window_w_mm + (double)(t->across - 1) * (t->window_w_mm - t->overlap_mm),
           covered_h = t->window_h_mm + (double)(t->down - 1) * (t->window_h_mm - t->overlap_mm);
    r->left_mm = (least.x_mm + most.x_mm - covered_w) / 2;
    r->top_mm = (least.y_mm + most.y_mm + covered_h) / 2;
    r->page_count = t->across * t->down;
    for (size_t row = 0; row < t->down; row++)
        for (size_t column = 0; column < t->across; column++)
            page(r, column, row);
}

cw_status cw_drawing_sheet(const cw_drawing *drawing, const cw_sheet_look *look, cw_buf *out, cw_error *err)
{
    cw_tiling tiling;
    CW_TRY(cw_drawing_tiling(drawing, look->paper, &tiling, err));
    cw_buf footer = cw_buf_new(4096);
    cw_utf8_clean(&footer, look->footer);
    run r = {.drawing = drawing, .tiling = &tiling, .footer = cw_buf_string(&footer)};
    r.page_w_mm = tiling.landscape ? tiling.paper->height_mm : tiling.paper->width_mm;
    r.page_h_mm = tiling.landscape ? tiling.paper->width_mm : tiling.paper->height_mm;
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(cw_paint_to_buf, out, r.page_w_mm * CW_POINTS_PER_MM,
                                                                   r.page_h_mm * CW_POINTS_PER_MM);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, drawing->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Camerawright " CW_VERSION);
    r.cr = cairo_create(surface);
    pages(&r);
    cairo_status_t result = cairo_status(r.cr);
    cairo_destroy(r.cr);
    cairo_surface_finish(surface);
    if (result == CAIRO_STATUS_SUCCESS)
        result = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    cw_buf_free(&footer);
    if (result != CAIRO_STATUS_SUCCESS)
        return cw_fail(err, CW_MEMORY, "making the sheet of \"%s\" failed: %s", drawing->title,
                       cairo_status_to_string(result));
    return CW_OK;
}

cw_status cw_drawing_pdf(const cw_drawing *drawing, const char *paper, cw_buf *out, cw_error *err)
{
    return cw_drawing_sheet(drawing, &(cw_sheet_look){.paper = paper}, out, err);
}
