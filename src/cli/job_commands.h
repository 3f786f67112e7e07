/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verbs of `camerawright job`. Each reads its own options and opens the bench itself. */
#ifndef CW_CLI_JOB_COMMANDS_H
#define CW_CLI_JOB_COMMANDS_H

#include <stddef.h>
#include <stdio.h>

#include "base/error.h"
#include "cli/command.h"
#include "notebook/job.h"

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
cw_status cw_job_next_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_prove_command(size_t count, const char *const *args, FILE *out, cw_error *err);
cw_status cw_job_kind_command(size_t count, const char *const *args, FILE *out, cw_error *err);

/* --shutter, --finder, --meter, --flash, --bellows as far as given; all five must be in the table. */
cw_status cw_kind_from_options(const cw_option *options, size_t count, cw_job *job, cw_error *err)
    __attribute__((warn_unused_result));

#endif
