/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A part as it is said at the bench: "3 screws M1.7 3.2mm into tray 2", "click spring tray 4", "two pins". */
#ifndef CW_NOTEBOOK_PART_LINE_H
#define CW_NOTEBOOK_PART_LINE_H

#include <stdint.h>

#include "base/error.h"

enum { CW_PART_LINE_TEXT = 300 };

typedef struct {
    int64_t pieces;                 /* 1 unless a number or number word begins the line */
    char kind[CW_PART_LINE_TEXT];   /* what is left, a plural in -s folded when pieces > 1: "screw" */
    char size[CW_PART_LINE_TEXT];   /* "M1.7", "2BA", "#0-80"; "" */
    char length[CW_PART_LINE_TEXT]; /* "3.2 mm"; "" */
    int64_t tray;                   /* 0: none named */
} cw_part_line;

/* CW_INPUT: empty, no kind left, a count or tray outside 1 to 9999; the sentence shows how to say it. */
cw_status cw_part_line_parse(const char *text, cw_part_line *line, cw_error *err) __attribute__((warn_unused_result));

#endif
