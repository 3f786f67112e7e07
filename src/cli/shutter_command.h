/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the commands that end in a shutter result share: printing it, keeping it in a job. */
#ifndef CW_CLI_SHUTTER_COMMAND_H
#define CW_CLI_SHUTTER_COMMAND_H

#include "cli/command.h"
#include "shutter/plan.h"

/* The face's options behind those of the plan. */
typedef struct {
    const char *bench, *job, *when, *title;
    bool json, check;
    bool compact;      /* JSON on one line */
    const char *trace; /* JSON kept with the test, NULL for none */
} cw_shutter_face;

/* Fills `options` with the plan's fields and the face's own; returns how many. At most CW_SHUTTER_OPTIONS. */
enum { CW_SHUTTER_OPTIONS = 32 };
size_t cw_shutter_options(cw_option *options);

/* Plan and face from options that were read. --tolerance names a built-in table or a file. */
cw_status cw_shutter_options_take(const cw_option *options, size_t count, cw_shutter_plan *plan, cw_shutter_face *face,
                                  cw_error *err) __attribute__((warn_unused_result));

/* Keeps the result in the job that --job names (nothing without it), then prints it as text or JSON. `recording` is the
 * file it came from, NULL for none; kind "shutter", "sound", "photographs". *outside is set for --check. */
cw_status cw_shutter_finish(const cw_shutter_plan *plan, const cw_plan_result *result, const cw_shutter_face *face,
                            const char *kind, const char *recording, FILE *out, bool *outside, cw_error *err)
    __attribute__((warn_unused_result));

#endif
