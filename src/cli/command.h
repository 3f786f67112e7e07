/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A command of the command line. One file a command, cmd_NAME.c; one line in the table of main.c. */
#ifndef CW_CLI_COMMAND_H
#define CW_CLI_COMMAND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "base/error.h"

typedef struct cw_command {
    const char *name;
    const char *arguments; /* for the usage line: "FILE --marked 1/250 [--json]" */
    const char *summary;   /* one line */
    const char *help;      /* the options, a line each; NULL = none */
    /* args[0] is what follows the command's name. Prints results to `out`; returns CW_OK, or fails with its sentence.
     * *outside is set when the verdict is outside its limit and --check was given: exit status 1. */
    cw_status (*run)(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err);
} cw_command;

extern const cw_command cw_cmd_backup;
extern const cw_command cw_cmd_check;
extern const cw_command cw_cmd_checklist;
extern const cw_command cw_cmd_film;
extern const cw_command cw_cmd_gate;
extern const cw_command cw_cmd_job;
extern const cw_command cw_cmd_labels;
extern const cw_command cw_cmd_lens;
extern const cw_command cw_cmd_live;
extern const cw_command cw_cmd_lens_order;
extern const cw_command cw_cmd_manual;
extern const cw_command cw_cmd_level;
extern const cw_command cw_cmd_material;
extern const cw_command cw_cmd_photographs;
extern const cw_command cw_cmd_reading;
extern const cw_command cw_cmd_report;
extern const cw_command cw_cmd_search;
extern const cw_command cw_cmd_serve;
extern const cw_command cw_cmd_sheets;
extern const cw_command cw_cmd_shutter;
extern const cw_command cw_cmd_sound;
extern const cw_command cw_cmd_step;
extern const cw_command cw_cmd_tools;
extern const cw_command cw_cmd_version;

/* Every command, in the order they are listed; defined beside main. */
const cw_command *const *cw_commands(size_t *count);

/* ---- verbs ---- */

/* What a command can be asked to do: "add" of "step add". `run` gets what follows the verb. */
typedef struct {
    const char *name;
    cw_status (*run)(size_t count, const char *const *args, FILE *out, cw_error *err);
} cw_verb;

/* The verb that args[0] names, NULL when nothing was asked or it is not among them. */
const cw_verb *cw_verb_find(const cw_verb *verbs, size_t verb_count, size_t count, const char *const *args);

/* ---- options ---- */

/* An option of a command. "--key value" or "--key=value"; a flag takes no value. Given twice is refused. */
typedef struct {
    const char *key; /* without the dashes */
    bool is_flag;
    const char *value; /* set by cw_options_read: the value, "" for a flag that was given, NULL when not given */
} cw_option;

/* Sorts args into options and operands (at most operand_most, in order; a lone "-" is an operand, everything after "--"
 * too). *operand_count says how many came. CW_INPUT for an unknown or repeated option (with the nearest known one), a
 * missing value, too many operands. "--help" is handled by main before a command runs. */
cw_status cw_options_read(size_t count, const char *const *args, cw_option *options, size_t option_count,
                          const char **operands, size_t operand_most, size_t *operand_count, cw_error *err)
    __attribute__((warn_unused_result));

/* The key's value, NULL when not given. The key must be in the table. */
const char *cw_option_value(const cw_option *options, size_t option_count, const char *key);
bool cw_option_given(const cw_option *options, size_t option_count, const char *key);

/* The known word nearest to `word` by edit distance, NULL when none is near enough to suggest. */
const char *cw_nearest_word(const char *word, const char *const *known, size_t known_count);

/* CW_FILE when what was printed to `out` did not reach its end (full disk, closed pipe). */
cw_status cw_out_flush(FILE *out, cw_error *err) __attribute__((warn_unused_result));

#endif
