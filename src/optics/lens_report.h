/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything the bench wants to know about one lens, in one run. */
#ifndef CW_OPTICS_LENS_REPORT_H
#define CW_OPTICS_LENS_REPORT_H

#include <jansson.h>

#include "base/error.h"
#include "optics/lens.h"
#include "optics/paraxial.h"
#include "optics/spot.h"

enum { CW_REPORT_FIELDS = 3, CW_REPORT_WARNINGS = 4, CW_REPORT_WARNING = 200 };

typedef struct {
    cw_cardinal cardinal;
    double beam_mm, f_number; /* what was worked with; f_number = |efl| / beam */
    double image_mm;          /* the plane the figures below are for, behind the last vertex */
    double axial_rms_mm, axial_best_mm;
    size_t ray_count;
    cw_axial_ray ray[CW_LENS_HEIGHTS];
    cw_pupils pupils;
    cw_seidel seidel;
    size_t spot_count; /* axis, 0.7 of the field, the field; 1 when no field is known */
    cw_spot spot[CW_REPORT_FIELDS];
    double efl_line_mm[CW_LINE_COUNT], bfl_line_mm[CW_LINE_COUNT]; /* NaN without dispersion */
    size_t warning_count;
    char warning[CW_REPORT_WARNINGS][CW_REPORT_WARNING];
} cw_lens_report;

/* Axial heights: those of the lens, or 0.25, 0.5, sqrt(0.5), 0.9 and 1 of the beam's radius. The image plane: the last
 * thickness, or the paraxial focus where it is missing or 0. Off-axis rays that are lost become warnings; an axial ray
 * that is lost is CW_RANGE with its height and surface. */
cw_status cw_lens_report_of(const cw_lens *lens, cw_lens_report *report, cw_error *err)
    __attribute__((warn_unused_result));

/* The form "camerawright.lens-report/1"; every number finite or null. NULL without memory. */
json_t *cw_lens_report_json(const cw_lens *lens, const cw_lens_report *report);

#endif
