/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright job new | list | show | next | prove | kind | move | attach | export | import | notes | undo | redo */
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/job_commands.h"
#include "cli/job_text.h"
#include "cli/print.h"
#include "notebook/job.h"
#include "notebook/job_json.h"
#include "notebook/step.h"

enum { LIST_MOST = 500 };

static const char *text_of(const cw_option *options, size_t count, const char *key)
{
    const char *value = cw_option_value(options, count, key);
    return value != NULL ? value : "";
}

cw_status cw_job_new_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"},     {.key = "camera"}, {.key = "serial"}, {.key = "shutter"},
                           {.key = "complaint"}, {.key = "owner"},  {.key = "notes"},  {.key = "like"},
                           {.key = "finder"},    {.key = "meter"},  {.key = "flash"},  {.key = "bellows"}};
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    const char *camera = cw_option_value(options, n, "camera"), *like = cw_option_value(options, n, "like");
    if (camera == NULL && like == NULL)
        return cw_fail(err, CW_INPUT, "say what kind of camera it is: --camera \"Tarnbrook 35\"");
    cw_job job = {.camera = camera,
                  .serial = text_of(options, n, "serial"),
                  .complaint = text_of(options, n, "complaint"),
                  .owner = text_of(options, n, "owner"),
                  .notes = text_of(options, n, "notes"),
                  .agreed_cost = NAN};
    CW_TRY(cw_kind_from_options(options, n, &job, err));
    int64_t earlier = 0, id = 0;
    if (like != NULL)
        CW_TRY(cw_id_parse(like, "job", &earlier, err));

    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_CREATE, &bench, err));
    cw_status status = like != NULL ? cw_job_plan(bench, earlier, camera, job.serial, job.complaint, &id, err)
                                    : cw_job_add(bench, &job, &id, err);
    if (status == CW_OK)
        cw_print(out, "job %" PRId64 "\n", id);
    cw_bench_close(bench);
    return status;
}

static cw_status list_page(cw_bench *bench, const cw_job_filter *filter, bool json, FILE *out, cw_error *err)
{
    cw_job_list list;
    CW_TRY(cw_job_page(bench, filter, &list, err));
    cw_status status = CW_OK;
    if (json)
        status = cw_print_json(out, cw_job_list_json(&list, filter->first), err);
    else
        cw_job_list_print(&list, filter->first, out);
    cw_job_list_free(&list);
    return status;
}

cw_status cw_job_list_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {
        {.key = "bench"}, {.key = "stage"}, {.key = "camera"}, {.key = "first"}, {.key = "json", .is_flag = true}};
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, NULL, 0, &operands, err));
    cw_job_filter filter = {.camera = cw_option_value(options, n, "camera"), .most = LIST_MOST};
    const char *stage_name = cw_option_value(options, n, "stage"), *first = cw_option_value(options, n, "first");
    if (stage_name != NULL) {
        cw_stage stage;
        CW_TRY(cw_stage_parse(stage_name, &stage, err));
        filter.stages = 1u << stage;
    }
    if (first != NULL) {
        long skipped;
        CW_TRY(cw_parse_whole(first, 0, 1000000000, &skipped, err));
        filter.first = skipped;
    }
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = list_page(bench, &filter, cw_option_given(options, n, "json"), out, err);
    cw_bench_close(bench);
    return status;
}

/* Options --bench and --json, one operand that is a job: what show, undo and redo take. */
static cw_status read_job_operand(size_t count, const char *const *args, cw_option *options, size_t option_count,
                                  int64_t *id, cw_error *err)
{
    const char *operand[1];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, option_count, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which job: a number from `camerawright job list`");
    return cw_id_parse(operand[0], "job", id, err);
}

cw_status cw_job_show_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "json", .is_flag = true}};
    size_t n = CW_COUNT(options);
    int64_t id;
    CW_TRY(read_job_operand(count, args, options, n, &id, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status;
    if (cw_option_given(options, n, "json")) {
        json_t *object = NULL;
        status = cw_job_json(bench, id, &object, err);
        if (status == CW_OK)
            status = cw_print_json(out, object, err);
    } else {
        status = cw_job_print(bench, id, out, err);
    }
    cw_bench_close(bench);
    return status;
}

cw_status cw_job_move_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[2];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and to which stage: camerawright job move 7 together");
    int64_t id;
    cw_stage stage;
    CW_TRY(cw_id_parse(operand[0], "job", &id, err));
    CW_TRY(cw_stage_parse(operand[1], &stage, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = cw_job_move(bench, id, stage, NULL, err);
    if (status == CW_OK)
        cw_print(out, "job %" PRId64 ": %s\n", id, cw_stage_label(stage));
    cw_bench_close(bench);
    return status;
}

/* undo and redo differ in the call and the word alone. */
static cw_status step_history(size_t count, const char *const *args, bool back, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    int64_t id;
    char words[CW_LINE_MOST + 1];
    CW_TRY(read_job_operand(count, args, options, 1, &id, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = back ? cw_undo(bench, id, words, err) : cw_redo(bench, id, words, err);
    if (status == CW_OK)
        cw_print_told(out, "%s: %s\n", back ? "undone" : "done again", words);
    cw_bench_close(bench);
    return status;
}

cw_status cw_job_undo_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    return step_history(count, args, true, out, err);
}

cw_status cw_job_redo_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    return step_history(count, args, false, out, err);
}

static const cw_verb verbs[] = {
    {"new", cw_job_new_command},       {"list", cw_job_list_command},     {"show", cw_job_show_command},
    {"move", cw_job_move_command},     {"attach", cw_job_attach_command}, {"export", cw_job_export_command},
    {"import", cw_job_import_command}, {"notes", cw_job_notes_command},   {"undo", cw_job_undo_command},
    {"redo", cw_job_redo_command},     {"next", cw_job_next_command},     {"prove", cw_job_prove_command},
    {"kind", cw_job_kind_command},
};

static cw_status run_job(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    if (count == 0)
        return cw_fail(
            err, CW_INPUT,
            "say what to do: new, list, show, next, prove, kind, move, attach, export, import, notes, undo, redo");
    const cw_verb *verb = cw_verb_find(verbs, CW_COUNT(verbs), count, args);
    if (verb != NULL)
        return verb->run(count - 1, args + 1, out, err);
    return cw_fail(err, CW_INPUT,
                   "\"job %.40s\" is not known; new, list, show, next, prove, kind, move, attach, export, import, "
                   "notes, undo, redo are",
                   args[0]);
}

const cw_command cw_cmd_job = {
    "job", "new|list|show|next|prove|kind|move|attach|export|import|notes|undo|redo ...",
    "take a camera in, look at it, move it on",
    "  job new --camera \"Tarnbrook 35\" [--serial S] [--shutter leaf|focal-plane] [--complaint TEXT] [--owner TEXT]\n"
    "          [--finder rangefinder|reflex|viewfinder|none] [--meter battery|light-cell|none] [--flash yes|no]\n"
    "          [--bellows yes|no]\n"
    "                                    [--like JOB]: the steps of an earlier job become this one's plan\n"
    "  job list [--stage STAGE] [--camera KIND] [--first N] [--json]     500 at a time, the last changed first\n"
    "  job show JOB [--json]\n"
    "  job next JOB [--json]             the one thing to do next, and what is missing for the next stage\n"
    "  job prove JOB [--json]            which tests this kind of camera owes, before and after, and what is owed "
    "still\n"
    "  job prove JOB --leave-out TEST --because REASON, job prove JOB --owe TEST\n"
    "                                    shutter, evenness, flash, focus, finder, meter, leaks, film\n"
    "  job kind JOB [--shutter ...] [--finder ...] [--meter ...] [--flash ...] [--bellows ...]\n"
    "  job move JOB STAGE                taken-in, apart, mended, together, proved, handed-on\n"
    "  job attach JOB FILE [--caption TEXT] [--step N]    a photo (JPEG, PNG)\n"
    "  job export JOB FILE.zip [--with-owner] [--without-recordings]\n"
    "  job import FILE.zip\n"
    "  job notes JOB FOLDER              the teardown as Markdown with its photos, places taken out\n"
    "  job undo JOB, job redo JOB\n"
    "Everywhere: --bench FOLDER; else $CAMERAWRIGHT_BENCH, else camerawright/bench in your data folder.\n"
    "A recording of the shutter goes in with `camerawright shutter FILE --job JOB --when before`.\n",
    run_job};
