/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verbs of `camerawright job`. Each reads its own options and opens the bench itself. */
#ifndef CW_CLI_JOB_COMMANDS_H
#define CW_CLI_JOB_COMMANDS_H

#include <stddef.h>
#include <stdio.h>

#include "base/error.h"

cw_status cw_job_new_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_list_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_show_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_move_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_undo_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_redo_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_attach_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_export_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_import_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_notes_command(size_t count, const char *const *args, FILE *out, cw_error *err);

#endif
