/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the two lens commands share: drawings into files, JSON onto the output. */
#ifndef CW_CLI_LENS_OUT_H
#define CW_CLI_LENS_OUT_H

#include <jansson.h>
#include <stdio.h>

#include "base/error.h"
#include "draw/drawing.h"

/* By the path's ending: .svg, .pdf (A4) or .dxf; CW_INPUT for another ending. */
cw_status cw_write_drawing(const char *path, const cw_drawing *drawing, cw_error *err)
    __attribute__((warn_unused_result));

/* Prints and frees `json`; CW_MEMORY for NULL or when it cannot be written out. */
cw_status cw_print_json(FILE *out, json_t *json, cw_error *err) __attribute__((warn_unused_result));

#endif
