/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two designs of one worksheet side by side: --against "plate=3mm;tip-width=2.5mm". */
#ifndef CW_CLI_SHEET_AGAINST_H
#define CW_CLI_SHEET_AGAINST_H

#include <stdio.h>

#include "worksheets/worksheet.h"

/* Runs the sheet again with `changes` laid over `pairs` (the first design's inputs, NULL-ended) and prints both results
 * beside each other, or as cw_sheet_compare_json has them. bench: where its materials are (--bench). CW_INPUT for a
 * change that is no key=value, and whatever the second design is refused for. */
cw_status cw_sheet_against(const cw_worksheet *sheet, const char *const *pairs, const char *bench,
                           const cw_sheet_in *first_in, const cw_sheet_out *first, const char *changes, bool json,
                           FILE *out, cw_error *err) __attribute__((warn_unused_result));

#endif
