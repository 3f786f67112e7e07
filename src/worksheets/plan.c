/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worksheets/plan.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

cw_point cw_plan_at(double x_m, double y_m)
{
    return (cw_point){x_m * CW_TO_MM, y_m * CW_TO_MM};
}

void cw_plan_box(cw_drawing *d, cw_layer layer, double x_m, double y_m, double width_m, double height_m)
{
    double w = width_m / 2, h = height_m / 2;
    const cw_point corners[] = {cw_plan_at(x_m - w, y_m - h), cw_plan_at(x_m + w, y_m - h),
                                cw_plan_at(x_m + w, y_m + h), cw_plan_at(x_m - w, y_m + h)};
    cw_draw_path(d, layer, corners, 4, true);
}

void cw_plan_round_box(cw_drawing *d, cw_layer layer, double x_m, double y_m, double width_m, double height_m,
                       double corner_m)
{
    double c = fmin(corner_m, fmin(width_m, height_m) / 2), w = width_m / 2, h = height_m / 2;
    if (!(c > 0)) {
        cw_plan_box(d, layer, x_m, y_m, width_m, height_m);
        return;
    }
    cw_draw_line(d, layer, cw_plan_at(x_m - w + c, y_m - h), cw_plan_at(x_m + w - c, y_m - h));
    cw_draw_line(d, layer, cw_plan_at(x_m + w, y_m - h + c), cw_plan_at(x_m + w, y_m + h - c));
    cw_draw_line(d, layer, cw_plan_at(x_m + w - c, y_m + h), cw_plan_at(x_m - w + c, y_m + h));
    cw_draw_line(d, layer, cw_plan_at(x_m - w, y_m + h - c), cw_plan_at(x_m - w, y_m - h + c));
    for (int quarter = 0; quarter < 4; quarter++) {
        double sx = quarter == 0 || quarter == 3 ? 1 : -1, sy = quarter < 2 ? 1 : -1;
        cw_draw_arc(d, layer, cw_plan_at(x_m + sx * (w - c), y_m + sy * (h - c)), c * CW_TO_MM, quarter * M_PI / 2,
                    (quarter + 1) * M_PI / 2);
    }
}

void cw_plan_circle(cw_drawing *d, cw_layer layer, double x_m, double y_m, double diameter_m)
{
    cw_draw_circle(d, layer, cw_plan_at(x_m, y_m), diameter_m / 2 * CW_TO_MM);
}

void cw_plan_size(cw_drawing *d, double x0_m, double y0_m, double x1_m, double y1_m, double offset_mm)
{
    char text[32];
    snprintf(text, sizeof text, "%.4g", hypot(x1_m - x0_m, y1_m - y0_m) * CW_TO_MM);
    cw_draw_dimension(d, cw_plan_at(x0_m, y0_m), cw_plan_at(x1_m, y1_m), offset_mm, text);
}

void cw_plan_cross(cw_drawing *d, double x_m, double y_m, double size_m)
{
    double h = size_m / 2;
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(x_m - h, y_m), cw_plan_at(x_m + h, y_m));
    cw_draw_line(d, CW_LAYER_CENTRE, cw_plan_at(x_m, y_m - h), cw_plan_at(x_m, y_m + h));
}

void cw_plan_note(cw_drawing *d, double x_m, double y_m, const char *format, ...)
{
    char text[160];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    cw_draw_text(d, CW_LAYER_NOTE, cw_plan_at(x_m, y_m), 2.5, CW_TEXT_START, 0, text);
}
