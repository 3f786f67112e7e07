/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every worksheet, one line each, kept together by group in the order they are listed. */
#include <string.h>

#include "worksheets/worksheet.h"

/* Declared here, not in headers: nothing else refers to a sheet by its symbol. */
extern const cw_worksheet cw_sheet_flat_wrench;
extern const cw_worksheet cw_sheet_pin_driver;
extern const cw_worksheet cw_sheet_split_collar;
extern const cw_worksheet cw_sheet_friction_ring;
extern const cw_worksheet cw_sheet_clamp_block;
extern const cw_worksheet cw_sheet_compare_wrenches;
extern const cw_worksheet cw_sheet_light_value;

static const cw_worksheet *const sheets[] = {
    &cw_sheet_flat_wrench, &cw_sheet_pin_driver,       &cw_sheet_split_collar, &cw_sheet_friction_ring,
    &cw_sheet_clamp_block, &cw_sheet_compare_wrenches, &cw_sheet_light_value,
};

const cw_worksheet *const *cw_worksheets(size_t *count)
{
    *count = CW_COUNT(sheets);
    return sheets;
}

const cw_worksheet *cw_worksheet_find(const char *name)
{
    for (size_t i = 0; i < CW_COUNT(sheets); i++)
        if (strcmp(sheets[i]->name, name) == 0)
            return sheets[i];
    return NULL;
}
