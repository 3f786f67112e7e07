/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pieces that the made tools' drawings share. Sizes in metres in, millimetres on the drawing. */
#ifndef CW_WORKSHEETS_PLAN_H
#define CW_WORKSHEETS_PLAN_H

#include "draw/drawing.h"

#define CW_TO_MM 1e3

cw_point cw_plan_at(double x_m, double y_m);
/* A rectangle by its middle. */
void cw_plan_box(cw_drawing *d, cw_layer layer, double x_m, double y_m, double width_m, double height_m);
/* A rectangle with rounded corners. */
void cw_plan_round_box(cw_drawing *d, cw_layer layer, double x_m, double y_m, double width_m, double height_m,
                       double corner_m);
void cw_plan_circle(cw_drawing *d, cw_layer layer, double x_m, double y_m, double diameter_m);
/* A dimension between two points with its figure in mm; offset to the left of the direction, in mm. */
void cw_plan_size(cw_drawing *d, double x0_m, double y0_m, double x1_m, double y1_m, double offset_mm);
/* Centre lines through a point, half of `size_m` each way. */
void cw_plan_cross(cw_drawing *d, double x_m, double y_m, double size_m);
/* A remark of 2.5 mm capitals, beginning at the point. */
void cw_plan_note(cw_drawing *d, double x_m, double y_m, const char *format, ...) __attribute__((format(printf, 4, 5)));

#endif
