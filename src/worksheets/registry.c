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
extern const cw_worksheet cw_sheet_driver_tip;
extern const cw_worksheet cw_sheet_cross_recess;
extern const cw_worksheet cw_sheet_seized_thread;
extern const cw_worksheet cw_sheet_warming;
extern const cw_worksheet cw_sheet_fit;
extern const cw_worksheet cw_sheet_press_fit;
extern const cw_worksheet cw_sheet_pin_strength;
extern const cw_worksheet cw_sheet_staked_pin;
extern const cw_worksheet cw_sheet_which_screw;
extern const cw_worksheet cw_sheet_light_value;

/* one line a sheet */
/* clang-format off */
static const cw_worksheet *const sheets[] = {
    &cw_sheet_flat_wrench,
    &cw_sheet_pin_driver,
    &cw_sheet_split_collar,
    &cw_sheet_friction_ring,
    &cw_sheet_clamp_block,
    &cw_sheet_compare_wrenches,
    &cw_sheet_driver_tip,
    &cw_sheet_cross_recess,
    &cw_sheet_seized_thread,
    &cw_sheet_warming,
    &cw_sheet_fit,
    &cw_sheet_press_fit,
    &cw_sheet_pin_strength,
    &cw_sheet_staked_pin,
    &cw_sheet_which_screw,
    &cw_sheet_light_value,
};
/* clang-format on */

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
