/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/command.h"

static cw_status run_version(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    size_t operands;
    CW_TRY(cw_options_read(count, args, NULL, 0, NULL, 0, &operands, err));
    fprintf(out, "camerawright %s\n", CW_VERSION);
    return CW_OK;
}

const cw_command cw_cmd_version = {"version", "", "print the version", NULL, run_version};
