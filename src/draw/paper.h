/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Papers a home printer or a copy shop has. */
#ifndef CW_DRAW_PAPER_H
#define CW_DRAW_PAPER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"

typedef struct {
    const char *name;
    double width_mm, height_mm; /* upright */
    bool iso;                   /* of the A series; otherwise North American */
} cw_paper;

/* ISO 216: A4, A3, A2. ANSI Y14.1: Letter 8.5 x 11 in, Tabloid 11 x 17 in; Legal 8.5 x 14 in. Smallest first. */
const cw_paper *cw_papers(size_t *count);

/* By name, upper or lower case. CW_INPUT names the papers there are. */
cw_status cw_paper_find(const char *name, const cw_paper **paper, cw_error *err) __attribute__((warn_unused_result));

#endif
