/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's inputs on the command line, which may name a material of the bench. */
#ifndef CW_CLI_SHEET_MATERIAL_H
#define CW_CLI_SHEET_MATERIAL_H

#include "worksheets/worksheet.h"

/* As cw_sheet_in_from_pairs; the bench (--bench, NULL: the usual one) is opened only when a choice of a material names
 * none of the program's. */
cw_status cw_sheet_in_of_bench(const cw_worksheet *sheet, const char *const *pairs, const char *bench, cw_sheet_in **in,
                               cw_error *err) __attribute__((warn_unused_result));

#endif
