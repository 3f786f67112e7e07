/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An invented job with everything a report can hold, and photographs made on the spot. */
#ifndef CW_TESTS_REPORT_MATERIAL_H
#define CW_TESTS_REPORT_MATERIAL_H

#include "report/report.h"

/* A JPEG of `width` x `height` dots whose upper left corner is red, upper right green, lower left blue, with that EXIF
 * orientation written into it (0: no EXIF). */
void material_jpeg(const char *path, int width, int height, int orientation);

/* Fills the report; photographs are written into `folder`. What it points to lives until material_free. */
void material_fill(cw_report *report, const char *folder, size_t steps);
void material_free(void);

/* 500 characters and more, with words of several scripts and one of 120 letters. */
extern const char material_long_text[];

#endif
