/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_material.h"

#include "cli/bench_command.h"
#include "notebook/material.h"

static cw_status materials_of(const char *place, cw_own_material_list *list, cw_error *err)
{
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(place, CW_BENCH_READ, &bench, err));
    cw_status status = cw_material_all(bench, list, err);
    cw_bench_close(bench);
    return status;
}

cw_status cw_sheet_in_of_bench(const cw_worksheet *sheet, const char *const *pairs, const char *bench, cw_sheet_in **in,
                               cw_error *err)
{
    cw_error why = {0};
    cw_own_material_list list;
    cw_status status = cw_sheet_in_from_pairs(sheet, pairs, in, err);
    if (status != CW_INPUT || !cw_sheet_takes_materials(sheet))
        return status;
    cw_status opened = materials_of(bench, &list, &why);
    if (opened != CW_OK && bench == NULL)
        return status; /* no bench was asked for: the refusal stands as it is */
    if (opened != CW_OK) {
        *err = why;
        return opened;
    }
    status = cw_sheet_in_with(sheet, pairs, &(cw_own_materials){list.count, list.items}, in, err);
    cw_own_material_list_free(&list);
    return status;
}
