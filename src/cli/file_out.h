/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What commands share that give out results: drawings and bodies into files, JSON onto the output. */
#ifndef CW_CLI_FILE_OUT_H
#define CW_CLI_FILE_OUT_H

#include <jansson.h>
#include <stdio.h>

#include "base/error.h"
#include "draw/drawing.h"
#include "draw/mesh.h"

/* The drawing by the path's ending: .svg, .pdf on that paper, .dxf at true size, .png; the body: .stl. Either may be
 * NULL when there is none. CW_INPUT for an ending nothing here can be written in. */
cw_status cw_write_drawing(const char *path, const cw_drawing *drawing, const cw_mesh *mesh, const char *paper,
                           cw_error *err) __attribute__((warn_unused_result));

/* Prints and frees `json` in the form of base/json.h, indented or in one line. CW_MEMORY for NULL or when it cannot be
 * written out. */
cw_status cw_print_json(FILE *out, json_t *json, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_print_json_line(FILE *out, json_t *json, cw_error *err) __attribute__((warn_unused_result));

#endif
