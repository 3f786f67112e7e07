/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/photo_map.h"

#include <math.h>

static size_t edge_cell(double share, size_t cells)
{
    return (size_t)fmin((double)cells, fmax(0, round(share * (double)cells)));
}

void cw_photo_map(const cw_photo_compared *pair, const cw_photo_result *result, const cw_photo_setup *setup,
                  double *values, cw_map *map)
{
    size_t left = edge_cell(result->left, CW_PHOTO_COLUMNS), right = edge_cell(result->right, CW_PHOTO_COLUMNS),
           top = edge_cell(result->top, CW_PHOTO_ROWS), bottom = edge_cell(result->bottom, CW_PHOTO_ROWS);
    if (right <= left || bottom <= top) {
        left = top = 0;
        right = CW_PHOTO_COLUMNS;
        bottom = CW_PHOTO_ROWS;
    }
    size_t columns = right - left, rows = bottom - top;
    for (size_t i = 0; i < columns * rows; i++)
        values[i] = result->evenness_ev[(top + i / columns) * CW_PHOTO_COLUMNS + left + i % columns];
    /* the same on both sides of nothing, and never so fine that noise looks like unevenness */
    double widest = 0.1;
    for (size_t i = 0; i < columns * rows; i++)
        widest = fmax(widest, fabs(values[i]));
    double across = (result->right - result->left) * (double)pair->reference.width,
           down = (result->bottom - result->top) * (double)pair->reference.height;
    bool sideways = setup->travel == CW_TRAVEL_RIGHT || setup->travel == CW_TRAVEL_LEFT;
    double scale = setup->frame_mm / (sideways ? across : down);
    *map = (cw_map){.columns = columns,
                    .rows = rows,
                    .values = values,
                    .width_mm = across * scale,
                    .height_mm = down * scale,
                    .least = -widest,
                    .most = widest,
                    .label = "exposure against the middle, EV"};
}
