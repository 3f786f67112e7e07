/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing at true size: lines, arcs and words in millimetres, x to the right, y up, any origin. The same drawing
 * becomes SVG, PDF, DXF and PNG. It remembers the first failure (no memory, a coordinate that is not finite), so that a
 * maker draws without checks and the writer asks once. */
#ifndef CW_DRAW_DRAWING_H
#define CW_DRAW_DRAWING_H

#include <stdbool.h>
#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"

/* What a line is for; each has one look on paper and one layer of that name in DXF. */
typedef enum {
    CW_LAYER_CUT,       /* saw, file, cut along it */
    CW_LAYER_DRILL,     /* circles to drill or bore, with a centre cross drawn for the punch */
    CW_LAYER_FOLD,      /* bend or fold */
    CW_LAYER_CENTRE,    /* chain-dotted centre lines */
    CW_LAYER_HIDDEN,    /* dashed: something behind, or the part the tool has to clear */
    CW_LAYER_DIMENSION, /* thin: dimension lines and their figures */
    CW_LAYER_NOTE,      /* words */
    CW_LAYER_GLASS,     /* outlines of lens elements, lightly filled where closed */
    CW_LAYER_RAY,       /* light */
    CW_LAYER_COUNT
} cw_layer;

typedef enum { CW_TEXT_START, CW_TEXT_MIDDLE, CW_TEXT_END } cw_text_anchor;

typedef struct {
    double x_mm, y_mm;
} cw_point;

typedef struct cw_drawing cw_drawing;

/* title: on the sheet and as the SVG's accessible name; description: a sentence for who cannot see it. Copied. */
cw_status cw_drawing_new(const char *title, const char *description, cw_drawing **drawing, cw_error *err)
    __attribute__((warn_unused_result));
void cw_drawing_free(cw_drawing *drawing); /* NULL is fine */

void cw_draw_line(cw_drawing *drawing, cw_layer layer, cw_point from, cw_point to);
void cw_draw_circle(cw_drawing *drawing, cw_layer layer, cw_point centre, double radius_mm);
/* Counter-clockwise from start_rad to end_rad. */
void cw_draw_arc(cw_drawing *drawing, cw_layer layer, cw_point centre, double radius_mm, double start_rad,
                 double end_rad);
void cw_draw_path(cw_drawing *drawing, cw_layer layer, const cw_point *points, size_t count, bool closed);
/* One line of text, its base line at `at`; height_mm is the height of capitals; angle counter-clockwise. */
void cw_draw_text(cw_drawing *drawing, cw_layer layer, cw_point at, double height_mm, cw_text_anchor anchor,
                  double angle_rad, const char *text);
/* A dimension line parallel to from-to, offset_mm to the left of that direction, with arrows and the text. */
void cw_draw_dimension(cw_drawing *drawing, cw_point from, cw_point to, double offset_mm, const char *text);

/* The smallest box around everything drawn, text included by estimate. False when nothing was drawn. */
bool cw_drawing_bounds(const cw_drawing *drawing, cw_point *least, cw_point *most);

/* CW_OK, or the first failure with its sentence. */
cw_status cw_drawing_check(const cw_drawing *drawing, cw_error *err) __attribute__((warn_unused_result));

/* An <svg> of true size in mm with <title> and <desc>, role "img", for the page and as a file. Lines take the colour of
 * the text around them (currentColor), so it follows light and dark; everything is said in presentation attributes,
 * which any style sheet overrides by class ("cw-drawing", "cw-cut", "cw-glass" ...) and no content security policy
 * forbids. CW_RANGE: nothing was drawn. */
cw_status cw_drawing_svg(const cw_drawing *drawing, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* A sheet to print: see draw/sheet.h for footers, tiling and the papers known. `paper`: "A4", "Letter" ... */
cw_status cw_drawing_pdf(const cw_drawing *drawing, const char *paper, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* DXF (release 12 ASCII, millimetres), one layer each: "CUT", "DRILL" ... */
cw_status cw_drawing_dxf(const cw_drawing *drawing, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* A picture on white at `dpi` dots per inch, 20 to 2400; CW_RANGE over 100 million dots. */
cw_status cw_drawing_png(const cw_drawing *drawing, double dpi, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

#endif
