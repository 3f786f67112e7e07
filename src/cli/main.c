/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The command line: finds the command, shows help, turns a failure into one sentence and an exit status. */
#include <gsl/gsl_errno.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/print.h"
#include "cli/sheet_command.h"
#include "worksheets/worksheet.h"

static const cw_command *const commands[] = {
    /* clang-format off */
    &cw_cmd_shutter,
    &cw_cmd_reading,
    &cw_cmd_sound,
    &cw_cmd_photographs,
    &cw_cmd_gate,
    &cw_cmd_live,
    &cw_cmd_lens,
    &cw_cmd_lens_order,
    &cw_cmd_job,
    &cw_cmd_step,
    &cw_cmd_checklist,
    &cw_cmd_film,
    &cw_cmd_report,
    &cw_cmd_search,
    &cw_cmd_backup,
    &cw_cmd_check,
    &cw_cmd_labels,
    &cw_cmd_serve,
    &cw_cmd_sheets,
    &cw_cmd_tools,
    &cw_cmd_level,
    &cw_cmd_material,
    &cw_cmd_manual,
    &cw_cmd_version,
    /* clang-format on */
};

const cw_command *const *cw_commands(size_t *count)
{
    *count = CW_COUNT(commands);
    return commands;
}

static void print_overview(FILE *out)
{
    fprintf(out, "camerawright: the bench companion for mechanical film cameras\n\n"
                 "usage: camerawright COMMAND [options]      camerawright COMMAND --help\n\n");
    for (size_t i = 0; i < CW_COUNT(commands); i++)
        fprintf(out, "  %-14s %s\n", commands[i]->name, commands[i]->summary);
    fprintf(out,
            "\nEvery worksheet is a command too; `camerawright sheets` lists them.\n"
            "Exit status: 0 done, 1 the verdict is outside (with --check), 2 bad input, 3 failed (disk, device).\n");
}

static void print_help(const cw_command *command, FILE *out)
{
    fprintf(out, "usage: camerawright %s %s\n\n%s\n", command->name, command->arguments, command->summary);
    if (command->help != NULL)
        fprintf(out, "\n%s", command->help);
}

static bool wants_help(size_t count, const char *const *args)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(args[i], "--") == 0)
            return false;
        if (strcmp(args[i], "--help") == 0)
            return true;
    }
    return false;
}

static cw_status unknown_command(const char *name, cw_error *err)
{
    const char *known[256];
    size_t known_count = 0, sheet_count;
    for (size_t i = 0; i < CW_COUNT(commands); i++)
        known[known_count++] = commands[i]->name;
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    for (size_t i = 0; i < sheet_count && known_count < CW_COUNT(known); i++)
        known[known_count++] = sheets[i]->name;
    const char *nearest = cw_nearest_word(name, known, known_count);
    if (nearest != NULL)
        return cw_fail(err, CW_INPUT, "there is no command \"%.40s\"; did you mean \"%s\"?", name, nearest);
    return cw_fail(err, CW_INPUT, "there is no command \"%.40s\"; camerawright --help lists what there is", name);
}

static cw_status run(size_t count, const char *const *args, bool *outside, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(commands); i++) {
        if (strcmp(commands[i]->name, args[0]) != 0)
            continue;
        if (wants_help(count - 1, args + 1)) {
            print_help(commands[i], stdout);
            return cw_out_flush(stdout, err);
        }
        CW_TRY(commands[i]->run(count - 1, args + 1, stdout, outside, err));
        return cw_out_flush(stdout, err);
    }
    const cw_worksheet *sheet = cw_worksheet_find(args[0]);
    if (sheet == NULL)
        return unknown_command(args[0], err);
    if (wants_help(count - 1, args + 1))
        cw_sheet_command_help(sheet, stdout);
    else
        CW_TRY(cw_sheet_command_run(sheet, count - 1, args + 1, stdout, outside, err));
    return cw_out_flush(stdout, err);
}

int main(int argc, char **argv)
{
    /* Numbers are read and written with a point whatever the locale; words and dates may follow it. */
    setlocale(LC_CTYPE, "");
    gsl_set_error_handler_off();
    signal(SIGPIPE, SIG_IGN); /* a closed pipe is a failed write, with a sentence */

    if (argc < 2) {
        print_overview(stderr);
        return 2;
    }
    const char *const *args = (const char *const *)(argv + 1);
    if (strcmp(args[0], "--help") == 0 || strcmp(args[0], "help") == 0) {
        print_overview(stdout);
        return fflush(stdout) == 0 ? 0 : 3;
    }
    if (strcmp(args[0], "manual") != 0) /* what is written for everyone stays English */
        cw_print_begin();
    cw_error err = {0};
    bool outside = false;
    cw_status status = run((size_t)(argc - 1), args, &outside, &err);
    if (status != CW_OK) {
        cw_print_told(stderr, "camerawright %s: %s\n", args[0], err.text);
        return cw_exit_status(status);
    }
    return outside ? 1 : 0;
}
