/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright step add | list | back: the teardown from a terminal. */
#include <inttypes.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/print.h"
#include "notebook/part_line.h"
#include "notebook/step.h"

enum { STEPS_MOST = 500 };

static cw_status add_part(cw_bench *bench, int64_t job_id, int64_t step_id, const char *text, cw_error *err)
{
    cw_part_line line;
    CW_TRY(cw_part_line_parse(text, &line, err));
    cw_part part = {.job_id = job_id,
                    .step_id = step_id,
                    .kind = line.kind,
                    .pieces = line.pieces,
                    .size = line.size,
                    .length = line.length,
                    .state = CW_PART_OUT};
    if (line.tray > 0)
        CW_TRY(cw_tray_numbered(bench, job_id, line.tray, &part.tray_id, err));
    int64_t id;
    return cw_part_add(bench, &part, &id, err);
}

static cw_status add_parts(cw_bench *bench, int64_t job_id, int64_t step_id, const char *parts, cw_error *err)
{
    char *copy = strdup(parts);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory");
    cw_status status = CW_OK;
    for (char *rest = copy, *item; status == CW_OK && (item = strsep(&rest, ";")) != NULL;)
        if (item[strspn(item, " ")] != '\0')
            status = add_part(bench, job_id, step_id, item, err);
    free(copy);
    return status;
}

/* Step, parts and trays are one change: all or nothing, one undo. */
static cw_status add_step(cw_bench *bench, const cw_step *step, const char *parts, int64_t *id, cw_error *err)
{
    char words[CW_LINE_MOST + 1];
    snprintf(words, sizeof words, "step \"%.200s\"", step->title);
    CW_TRY(cw_change_begin(bench, step->job_id, words, err));
    cw_status status = cw_step_add(bench, step, 0, id, err);
    if (status == CW_OK && parts != NULL)
        status = add_parts(bench, step->job_id, *id, parts, err);
    if (status == CW_OK)
        status = cw_change_commit(bench, err);
    if (status != CW_OK)
        cw_change_cancel(bench);
    return status;
}

static cw_status run_add(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"},
                           {.key = "came-off"},
                           {.key = "held-by"},
                           {.key = "thread"},
                           {.key = "orientation"},
                           {.key = "flies"},
                           {.key = "tool"},
                           {.key = "lubricant-found"},
                           {.key = "lubricant-to-use"},
                           {.key = "torque"},
                           {.key = "check-before-closing"},
                           {.key = "notes"},
                           {.key = "parts"}};
    const char *operand[2];
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and what came off: camerawright step add 7 \"Top cover\"");
    cw_step step = {.title = operand[1],
                    .came_off = cw_option_value(options, n, "came-off"),
                    .held_by = cw_option_value(options, n, "held-by"),
                    .orientation = cw_option_value(options, n, "orientation"),
                    .flies = cw_option_value(options, n, "flies"),
                    .tool = cw_option_value(options, n, "tool"),
                    .lubricant_found = cw_option_value(options, n, "lubricant-found"),
                    .lubricant_to_use = cw_option_value(options, n, "lubricant-to-use"),
                    .torque = cw_option_value(options, n, "torque"),
                    .check_before_closing = cw_option_value(options, n, "check-before-closing"),
                    .notes = cw_option_value(options, n, "notes"),
                    .duration_s = NAN,
                    .state = CW_STEP_DONE};
    CW_TRY(cw_id_parse(operand[0], "job", &step.job_id, err));
    const char *thread = cw_option_value(options, n, "thread");
    if (thread != NULL)
        CW_TRY(cw_thread_direction_parse(thread, &step.thread, err));
    int64_t id;
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = add_step(bench, &step, cw_option_value(options, n, "parts"), &id, err);
    if (status == CW_OK)
        cw_print(out, "step %" PRId64 " of job %" PRId64 "\n", id, step.job_id);
    cw_bench_close(bench);
    return status;
}

static void print_step(const cw_step *step, FILE *out)
{
    cw_print(out, "%4" PRId64 " %s %s%s\n", step->number,
             step->back_done                  ? "[x]"
             : step->state == CW_STEP_PLANNED ? "[?]"
             : step->state == CW_STEP_SKIPPED ? "[-]"
                                              : "[ ]",
             step->title, step->thread == CW_THREAD_LEFT ? " (left-hand thread)" : "");
    const char *const lines[][2] = {{"held by", step->held_by},
                                    {"which way round", step->orientation},
                                    {"can fly", step->flies},
                                    {"tool", step->tool},
                                    {"lubricate", step->lubricant_to_use},
                                    {"torque", step->torque},
                                    {"before closing", step->check_before_closing}};
    for (size_t i = 0; i < CW_COUNT(lines); i++)
        if (*lines[i][1] != '\0')
            cw_print(out, "         %s: %s\n", lines[i][0], lines[i][1]);
}

static cw_status run_list(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "together", .is_flag = true}};
    const char *operand[1];
    size_t n = CW_COUNT(options), operands;
    int64_t job_id;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which job: camerawright step list 7");
    CW_TRY(cw_id_parse(operand[0], "job", &job_id, err));
    cw_bench *bench;
    cw_step_list list;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_step_order order = cw_option_given(options, n, "together") ? CW_TOGETHER_ORDER : CW_APART_ORDER;
    cw_status status = cw_step_page(bench, job_id, order, 0, STEPS_MOST, &list, err);
    if (status == CW_OK) {
        for (size_t i = 0; i < list.count; i++)
            print_step(&list.items[i], out);
        if (list.total > (int64_t)list.count)
            cw_print(out, "and %" PRId64 " more\n", list.total - (int64_t)list.count);
        cw_step_list_free(&list);
    }
    cw_bench_close(bench);
    return status;
}

static cw_status mark_back(cw_bench *bench, int64_t job_id, long number, FILE *out, cw_error *err)
{
    cw_step_list list;
    CW_TRY(cw_step_page(bench, job_id, CW_APART_ORDER, number - 1, 1, &list, err));
    cw_status status = list.count == 0 ? cw_fail(err, CW_NOT_FOUND, "job %" PRId64 " has no step %ld", job_id, number)
                                       : cw_step_back(bench, list.items[0].id, true, true, err);
    cw_step_list_free(&list);
    cw_part_count counts;
    if (status == CW_OK)
        status = cw_part_counts(bench, job_id, &counts, err);
    if (status == CW_OK)
        cw_print(out, "step %ld is back, its parts with it; %" PRId64 " of %" PRId64 " pieces are still out\n", number,
                 counts.pieces[CW_PART_OUT], counts.total);
    return status;
}

static cw_status run_back(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[2];
    size_t operands;
    int64_t job_id;
    long number;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and which step: camerawright step back 7 12");
    CW_TRY(cw_id_parse(operand[0], "job", &job_id, err));
    CW_TRY(cw_parse_whole(operand[1], 1, 1000000, &number, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = mark_back(bench, job_id, number, out, err);
    cw_bench_close(bench);
    return status;
}

static cw_status run_step(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    static const cw_verb verbs[] = {{"add", run_add}, {"list", run_list}, {"back", run_back}};
    const cw_verb *verb = cw_verb_find(verbs, CW_COUNT(verbs), count, args);
    if (verb != NULL)
        return verb->run(count - 1, args + 1, out, err);
    return cw_fail(err, CW_INPUT, "say what to do: step add, step list or step back");
}

const cw_command cw_cmd_step = {
    "step", "add|list|back JOB ...", "note a step of the teardown, see them, tick them off on the way back",
    "  step add JOB TITLE [--came-off TEXT] [--held-by TEXT] [--thread left|right] [--orientation TEXT]\n"
    "           [--flies TEXT] [--tool TEXT] [--lubricant-found TEXT] [--lubricant-to-use TEXT] [--torque TEXT]\n"
    "           [--check-before-closing TEXT] [--notes TEXT] [--parts \"3 screws M1.7 into tray 2; spring tray 2\"]\n"
    "  step list JOB [--together]        in the order taken apart, or backwards\n"
    "  step back JOB NUMBER              this step is together again, its parts with it\n"
    "Everywhere: --bench FOLDER.\n",
    run_step};
