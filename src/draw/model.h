/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a drawing is made of, for the writers in this room only. */
#ifndef CW_DRAW_MODEL_H
#define CW_DRAW_MODEL_H

#include "draw/drawing.h"

typedef enum { CW_ITEM_PATH, CW_ITEM_CIRCLE, CW_ITEM_ARC, CW_ITEM_TEXT } cw_item_kind;

typedef struct {
    cw_item_kind kind;
    cw_layer layer;
    size_t first_point, point_count; /* PATH: where its points are in the drawing's list; the others: one, the centre */
    bool closed, filled;             /* PATH; filled: an arrow head */
    double radius_mm;                /* CIRCLE, ARC */
    double start_rad, end_rad;       /* ARC: counter-clockwise, start < end <= start + 2 pi */
    double height_mm, angle_rad;     /* TEXT: height of capitals */
    cw_text_anchor anchor;
    char *text; /* TEXT: clean UTF-8 in one line, owned */
} cw_item;

struct cw_drawing {
    char *title, *description;
    cw_item *items;
    size_t item_count, item_capacity;
    cw_point *points;
    size_t point_count, point_capacity;
    cw_error failure; /* .status CW_OK while all is well */
};

/* The look of a layer on paper. */
typedef struct {
    const char *name;    /* class "cw-cut" in SVG and the layer's name in DXF, "CUT" */
    double width_mm;     /* of the line */
    double dashes_mm[4]; /* on, off, on, off; dash_count 0: an unbroken line */
    int dash_count;
    const char *stroke;      /* SVG colour; "currentColor" follows the page */
    double red, green, blue; /* the same on paper */
    bool filled;             /* closed paths carry a light tint of the stroke's colour */
    int dxf_colour;          /* colour number of the format: 1 red, 5 blue, 7 black or white ... */
    const char *dxf_line;    /* line type */
} cw_layer_look;

const cw_layer_look *cw_layer_looks(void); /* CW_LAYER_COUNT of them */

/* The order in which layers are painted, fills first; CW_LAYER_COUNT of them. */
const cw_layer *cw_layer_order(void);

/* Tint of filled layers. */
#define CW_TINT_RED 0.22
#define CW_TINT_GREEN 0.53
#define CW_TINT_BLUE 0.82
#define CW_TINT_SVG "#3887d1"
#define CW_TINT_OPACITY 0.18

#endif
