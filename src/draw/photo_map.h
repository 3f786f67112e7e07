/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The evenness of a pair of photographs as a map: the film gate alone, in its proportion in the picture. */
#ifndef CW_DRAW_PHOTO_MAP_H
#define CW_DRAW_PHOTO_MAP_H

#include "draw/map.h"
#include "shutter/photo_pair.h"

/* Fills *map with the cells of the gate; `values` has room for CW_PHOTO_CELLS and must live as long. frame_mm: length
 * along the travel. */
void cw_photo_map(const cw_photo_compared *pair, const cw_photo_result *result, const cw_photo_setup *setup,
                  double *values, cw_map *map);

#endif
