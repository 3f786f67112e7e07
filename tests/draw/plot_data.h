/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An invented shutter test with known figures, for the plots and the report: a horizontal cloth shutter, slow above
 * 1/250, its second curtain dragging before the work and even after it. */
#ifndef CW_TESTS_DRAW_PLOT_DATA_H
#define CW_TESTS_DRAW_PLOT_DATA_H

#include "shutter/evaluate.h"

enum { DATA_SPEEDS = 11, DATA_POINTS = 25, DATA_SHOTS = 3 };

typedef struct {
    cw_shutter_test test;
    cw_shot shots[DATA_SPEEDS * DATA_SHOTS];
    cw_profile_point profile[DATA_SPEEDS * DATA_POINTS];
} plot_data;

/* Fills `data` (large: keep it static); `after` chooses the state after the work. */
void plot_data_fill(plot_data *data, bool after);

#endif
