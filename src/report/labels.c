/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/labels.h"

#include <cairo-pdf.h>
#include <errno.h>
#include <math.h>
#include <qrencode.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "draw/paint.h"
#include "draw/paper.h"
#include "draw/words.h"

enum { LABELS_MOST = 5000, NUMBER_MOST = 99999 };

/* Shares of the diameter: the code's side and how far its middle lies below that of the cap. */
static const double CODE_SIDE = 0.46, CODE_BELOW = 0.08, NUMBER_HEIGHT = 0.13, LINE_HEIGHT = 0.055;
static const double MODULE_LEAST_MM = 0.35, MARGIN_MM = 10, HEAD_MM = 14, GAP_MM = 2.5;
enum { QUIET_MODULES = 4 };

/* How the labels fall on the sheet. */
typedef struct {
    const cw_paper *paper;
    size_t across, down;
} grid;

static cw_status find_grid(const cw_label_sheet *sheet, grid *g, cw_error *err)
{
    double d = sheet->diameter_mm;
    if (!(d >= 10 && d <= 100))
        return cw_fail(err, CW_RANGE, "labels of %g mm across; 10 to 100 mm can be made", d);
    CW_TRY(cw_paper_find(sheet->paper, &g->paper, err));
    g->across = (size_t)floor((g->paper->width_mm - 2 * MARGIN_MM + GAP_MM) / (d + GAP_MM));
    g->down = (size_t)floor((g->paper->height_mm - 2 * MARGIN_MM - HEAD_MM + GAP_MM) / (d + GAP_MM));
    return CW_OK;
}

cw_status cw_labels_a_sheet(const cw_label_sheet *sheet, size_t *count, cw_error *err)
{
    grid g;
    CW_TRY(find_grid(sheet, &g, err));
    *count = g.across * g.down;
    return CW_OK;
}

static bool given(const char *text)
{
    return text != NULL && *text != '\0';
}

static cw_status encode(const cw_label *label, double diameter_mm, QRcode **code, cw_error *err)
{
    QRcode *made = QRcode_encodeString8bit(label->qr, 0, QR_ECLEVEL_M);
    if (made == NULL)
        return cw_fail(err, errno == ENOMEM ? CW_MEMORY : CW_RANGE,
                       "the text of label %ld does not fit a QR code: %zu bytes; shorten it", label->number,
                       strlen(label->qr));
    double least = ceil(made->width * MODULE_LEAST_MM / CODE_SIDE);
    if (diameter_mm < least) {
        QRcode_free(made);
        return cw_fail(
            err, CW_RANGE,
            "the QR code of label %ld would be too fine for a cap of %g mm; take one of %g mm or more, a shorter "
            "text (%zu bytes now), or leave the code out",
            label->number, diameter_mm, least, strlen(label->qr));
    }
    *code = made;
    return CW_OK;
}

/* All dark modules in one path, so that no hairline shows between them. */
static void draw_code(cairo_t *cr, const QRcode *code, double side)
{
    double module = side / code->width;
    for (int y = 0; y < code->width; y++) {
        for (int x = 0; x < code->width;) {
            int from = x;
            while (x < code->width && (code->data[y * code->width + x] & 1) != 0)
                x++;
            if (x > from)
                cairo_rectangle(cr, from * module, y * module, (x - from) * module, module);
            else
                x++;
        }
    }
    cairo_fill(cr);
}

/* Width of the cap at a height below its middle, with a little room at the rim. */
static double chord(double diameter, double below)
{
    double r = diameter / 2 - 0.6;
    return fabs(below) < r ? 2 * sqrt(r * r - below * below) : 0;
}

static void number_words(cairo_t *cr, long number, double height, double most_width, double base)
{
    char text[32];
    snprintf(text, sizeof text, "%ld", number);
    double width = cw_text_width(text) * 1.15 * height / CW_CAPITAL_HEIGHT; /* bold figures are wider */
    height *= fmin(1, most_width / width);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = height, .bold = true, .anchor = CW_TEXT_MIDDLE},
                   (cw_point){0, base}, text);
}

static void line_words(cairo_t *cr, const char *line, double diameter, double base)
{
    double height = fmax(LINE_HEIGHT * diameter, 1.1), width = chord(diameter, base);
    if (!given(line) || width < 4)
        return;
    cw_buf clean = cw_buf_new(4096);
    cw_utf8_clean(&clean, line);
    cw_paint_words(cr,
                   &(cw_lettering){.capital_mm = height, .anchor = CW_TEXT_MIDDLE, .width_mm = width, .lines_most = 1},
                   (cw_point){-width / 2, base}, cw_buf_string(&clean));
    cw_buf_free(&clean);
}

static cw_status draw_label(cairo_t *cr, const cw_label *label, double d, cw_error *err)
{
    cairo_set_source_rgb(cr, 0.5, 0.5, 0.5);
    cairo_set_line_width(cr, 0.15);
    cairo_new_path(cr);
    cairo_arc(cr, 0, 0, d / 2, 0, 2 * M_PI);
    cairo_stroke(cr);
    cairo_set_source_rgb(cr, 0, 0, 0);
    if (!given(label->qr)) {
        double height = given(label->line) ? 0.3 * d : 0.36 * d, base = given(label->line) ? 0.1 * d : 0.18 * d;
        number_words(cr, label->number, height, 0.8 * d, base);
        line_words(cr, label->line, d, base + 2.4 * LINE_HEIGHT * d);
        return CW_OK;
    }
    QRcode *code = NULL;
    CW_TRY(encode(label, d, &code, err));
    double side = CODE_SIDE * d, top = CODE_BELOW * d - side / 2, quiet = QUIET_MODULES * side / code->width;
    cairo_save(cr);
    cairo_translate(cr, -side / 2, top);
    draw_code(cr, code, side);
    cairo_restore(cr);
    QRcode_free(code);
    double base = top - quiet;
    number_words(cr, label->number, NUMBER_HEIGHT * d, chord(d, base - NUMBER_HEIGHT * d), base);
    line_words(cr, label->line, d, top + side + quiet + fmax(LINE_HEIGHT * d, 1.1));
    return CW_OK;
}

static void draw_head(cairo_t *cr, const cw_paper *paper, const char *title)
{
    double y = MARGIN_MM + 4, bar = paper->width_mm - MARGIN_MM - 50.5;
    cw_buf clean = cw_buf_new(4096);
    cw_utf8_clean(&clean, title);
    cairo_set_source_rgb(cr, 0, 0, 0);
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 3, .bold = true, .width_mm = bar - MARGIN_MM - 4, .lines_most = 1},
                   (cw_point){MARGIN_MM, y}, cw_buf_string(&clean));
    cw_paint_words(cr, &(cw_lettering){.capital_mm = 1.8, .width_mm = bar - MARGIN_MM - 4, .lines_most = 1},
                   (cw_point){MARGIN_MM, y + 4.5}, "Print at 100 %, without scaling: the bar is 50 mm long.");
    cairo_set_line_width(cr, 0.2);
    const double ticks[][4] = {{bar, y, bar + 50, y}, {bar, y - 2, bar, y + 2}, {bar + 50, y - 2, bar + 50, y + 2}};
    for (int i = 0; i < 3; i++) {
        cairo_move_to(cr, ticks[i][0], ticks[i][1]);
        cairo_line_to(cr, ticks[i][2], ticks[i][3]);
        cairo_stroke(cr);
    }
    cw_buf_free(&clean);
}

static cw_status draw_sheets(cairo_t *cr, const cw_label_sheet *sheet, const grid *g, const cw_label *labels,
                             size_t count, cw_error *err)
{
    size_t per_page = g->across * g->down;
    for (size_t i = 0; i < count; i++) {
        size_t place = (i + sheet->skip) % per_page;
        double step = sheet->diameter_mm + GAP_MM, left = (g->paper->width_mm - step * (double)g->across + GAP_MM) / 2;
        if (i == 0 || place == 0) {
            if (i > 0)
                cairo_show_page(cr);
            draw_head(cr, g->paper, sheet->title);
        }
        cairo_save(cr);
        cairo_translate(cr, left + sheet->diameter_mm / 2 + step * (double)(place % g->across),
                        MARGIN_MM + HEAD_MM + sheet->diameter_mm / 2 + step * (double)(place / g->across));
        cw_status status = draw_label(cr, &labels[i], sheet->diameter_mm, err);
        cairo_restore(cr);
        if (status != CW_OK)
            return status;
    }
    return CW_OK;
}

cw_status cw_labels_pdf(const cw_label_sheet *sheet, const cw_label *labels, size_t count, cw_buf *out, cw_error *err)
{
    grid g;
    CW_TRY(find_grid(sheet, &g, err));
    if (count == 0 || count > LABELS_MOST)
        return cw_fail(err, CW_RANGE, "%zu labels; 1 to %d can be made at once", count, LABELS_MOST);
    for (size_t i = 0; i < count; i++)
        if (labels[i].number < 0 || labels[i].number > NUMBER_MOST)
            return cw_fail(err, CW_RANGE, "label number %ld; 0 to %d fit a cap", labels[i].number, NUMBER_MOST);
    cw_buf made = cw_buf_new(out->ceiling);
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        cw_paint_to_buf, &made, g.paper->width_mm * CW_POINTS_PER_MM, g.paper->height_mm * CW_POINTS_PER_MM);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, "Tray labels");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Camerawright " CW_VERSION);
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, CW_POINTS_PER_MM, CW_POINTS_PER_MM);
    cw_status status = draw_sheets(cr, sheet, &g, labels, count, err);
    cairo_show_page(cr);
    cairo_status_t result = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    if (result == CAIRO_STATUS_SUCCESS)
        result = cairo_surface_status(surface);
    cairo_surface_destroy(surface);
    if (status == CW_OK && result != CAIRO_STATUS_SUCCESS)
        status = cw_fail(err, CW_MEMORY, "making the labels failed: %s", cairo_status_to_string(result));
    if (status == CW_OK) {
        cw_buf_add(out, made.text, made.length);
        status = cw_buf_check(out, "the sheet of labels", err);
    }
    cw_buf_free(&made);
    return status;
}
