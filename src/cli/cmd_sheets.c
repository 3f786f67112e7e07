/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <string.h>

#include "cli/command.h"
#include "cli/print.h"
#include "worksheets/worksheet.h"

static cw_status run_sheets(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    size_t operands, sheet_count;
    CW_TRY(cw_options_read(count, args, NULL, 0, NULL, 0, &operands, err));
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    for (size_t i = 0; i < sheet_count; i++) {
        if (i == 0 || strcmp(sheets[i]->group, sheets[i - 1]->group) != 0)
            cw_print(out, "%s%s\n", i > 0 ? "\n" : "", sheets[i]->group);
        cw_print(out, "  %-22s %s\n", sheets[i]->name, sheets[i]->title);
    }
    return CW_OK;
}

const cw_command cw_cmd_sheets = {"sheets", "", "list the worksheets, each a command of its own", NULL, run_sheets};
