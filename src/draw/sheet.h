/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drawings at true size on paper: one sheet where it fits, otherwise several that overlap, with marks to lay them by.
 */
#ifndef CW_DRAW_SHEET_H
#define CW_DRAW_SHEET_H

#include <stdbool.h>
#include <stddef.h>

#include "draw/drawing.h"
#include "draw/paper.h"

/* How a drawing falls on a paper. */
typedef struct {
    const cw_paper *paper;
    bool landscape;
    size_t across, down;             /* pages; 1 and 1: it fits */
    double window_w_mm, window_h_mm; /* of a page that the drawing may use */
    double overlap_mm;               /* between neighbouring pages */
    const cw_paper *larger;          /* the smallest known paper that takes it on one sheet; NULL: none, or it fits */
} cw_tiling;

/* CW_INPUT: paper not known; CW_RANGE: nothing drawn, or more than 100 pages, with the size in the sentence. */
cw_status cw_drawing_tiling(const cw_drawing *drawing, const char *paper, cw_tiling *tiling, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    const char *paper;  /* "A4", "Letter" ... */
    const char *footer; /* one line at the foot: job, date, version; NULL or "" for none */
} cw_sheet_look;

/* A PDF of that paper: the drawing at true size, its title and description, check bars of 50 mm along both edges (a
 * printer may shrink one direction only), "print at 100 %, without scaling". Several pages carry a map, overlap by
 * cw_tiling.overlap_mm and share ring-and-cross marks. Everything is vector; fonts are embedded. */
cw_status cw_drawing_sheet(const cw_drawing *drawing, const cw_sheet_look *look, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

#endif
