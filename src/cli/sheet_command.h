/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet as a command: camerawright NAME --key value ... [--json] [--check] [--example] [--out FILE]. */
#ifndef CW_CLI_SHEET_COMMAND_H
#define CW_CLI_SHEET_COMMAND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "worksheets/worksheet.h"

/* The options every worksheet takes beside its fields, ended by NULL. */
extern const char *const cw_sheet_face_options[];

void cw_sheet_command_help(const cw_worksheet *sheet, FILE *out);
cw_status cw_sheet_command_run(const cw_worksheet *sheet, size_t count, const char *const *args, FILE *out,
                               bool *outside, cw_error *err) __attribute__((warn_unused_result));

/* The result as text for a terminal of 80 columns. */
void cw_sheet_command_print(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, FILE *to);

#endif
