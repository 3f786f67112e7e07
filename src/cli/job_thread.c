/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright job next | prove | kind: where a job stands, what it owes, what kind of camera it is. */
#include <inttypes.h>
#include <string.h>

#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "cli/job_commands.h"
#include "cli/print.h"
#include "notebook/job.h"
#include "notebook/thread_json.h"

/* Opens the bench and reads the one operand, a job. */
static cw_status open_for(size_t count, const char *const *args, cw_option *options, size_t n, cw_bench_mode mode,
                          int64_t *id, cw_bench **bench, cw_error *err)
{
    const char *operand[1];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which job: a number from `camerawright job list`");
    CW_TRY(cw_id_parse(operand[0], "job", id, err));
    return cw_bench_from_option(cw_option_value(options, n, "bench"), mode, bench, err);
}

/* ---- next ---- */

/* The command behind a test, where one command does it. */
static void print_test_command(const cw_next *next, const cw_next_action *action, FILE *out)
{
    static const char *const sheets[CW_PROOF_COUNT] = {[CW_PROOF_FLASH] = "flash-contact",
                                                       [CW_PROOF_FOCUS] = "focus-error",
                                                       [CW_PROOF_FINDER] = "rangefinder",
                                                       [CW_PROOF_METER] = "meter-check"};
    const char *when = action->kind == CW_NEXT_TEST_BEFORE ? "before" : "after";
    if (action->proof == CW_PROOF_SHUTTER || action->proof == CW_PROOF_EVENNESS)
        fprintf(out, "      camerawright shutter FILE --marked-list ... --job %" PRId64 " --when %s\n", next->job_id,
                when);
    else if (action->proof == CW_PROOF_LEAKS)
        fprintf(out, "      camerawright checklist start %" PRId64 " light-leaks --when %s\n", next->job_id, when);
    else if (action->proof == CW_PROOF_FILM)
        fprintf(out, "      camerawright film plan %" PRId64 " --keep\n", next->job_id);
    else
        fprintf(out, "      camerawright %s ... --keep --job %" PRId64 " --when %s\n", sheets[action->proof],
                next->job_id, when);
}

static void print_command(const cw_next *next, const cw_next_action *action, FILE *out)
{
    switch (action->kind) {
    case CW_NEXT_TEST_BEFORE:
    case CW_NEXT_TEST_AFTER:
        print_test_command(next, action, out);
        break;
    case CW_NEXT_FIRST_STEP:
    case CW_NEXT_STEP:
        fprintf(out, "      camerawright step add %" PRId64 " \"Top cover\" ...\n", next->job_id);
        break;
    case CW_NEXT_PLANNED_STEP:
        fprintf(out, "      camerawright step show %" PRId64 "\n", next->job_id);
        break;
    case CW_NEXT_TOGETHER:
        fprintf(out, "      camerawright step back %" PRId64 " N\n", next->job_id);
        break;
    case CW_NEXT_LIST:
        if (action->checklist_id != 0)
            fprintf(out, "      camerawright checklist show %" PRId64 "\n", action->checklist_id);
        else
            fprintf(out, "      camerawright checklist start %" PRId64 " %s\n", next->job_id, action->list);
        break;
    case CW_NEXT_FILM_LOG:
        fprintf(out, "      camerawright film log %" PRId64 "\n", next->job_id);
        break;
    case CW_NEXT_MOVE:
        fprintf(out, "      camerawright job move %" PRId64 " %s\n", next->job_id, cw_stage_name(action->to));
        break;
    case CW_NEXT_REPORT:
        fprintf(out, "      camerawright report %" PRId64 " --out report.pdf\n", next->job_id);
        break;
    case CW_NEXT_SISTER:
        fprintf(out, "      camerawright job new --like %" PRId64 "\n", next->job_id);
        break;
    case CW_NEXT_NONE:
    case CW_NEXT_COUNT:
        break;
    }
}

static cw_status print_missing(cw_bench *bench, const cw_next *next, FILE *out, cw_error *err)
{
    cw_missing_list list;
    if (next->stage + 1 >= CW_STAGE_COUNT)
        return CW_OK;
    cw_stage to = next->stage + 1;
    CW_TRY(cw_job_missing(bench, next->job_id, to, &list, err));
    if (list.count > 0)
        cw_print(out, "\nbefore it is \"%s\":\n", cw_stage_label(to));
    for (size_t i = 0; i < list.count; i++)
        cw_print_told(out, "  %s %s\n", list.items[i].refused ? "!" : "-", list.items[i].text);
    cw_missing_list_free(&list);
    return CW_OK;
}

static cw_status print_next(cw_bench *bench, int64_t id, bool json, FILE *out, cw_error *err)
{
    cw_next next;
    CW_TRY(cw_job_next(bench, id, NULL, &next, err));
    if (json) {
        json_t *object = NULL;
        CW_TRY(cw_next_json(bench, &next, &object, err));
        return cw_print_json(out, object, err);
    }
    cw_print_told(out, "job %" PRId64 ": %s\n\nnext: %s\n      %s\n", id, cw_stage_label(next.stage), next.action.label,
                  next.action.why);
    print_command(&next, &next.action, out);
    if (next.other.kind != CW_NEXT_NONE) {
        cw_print_told(out, "  or: %s\n", next.other.label);
        print_command(&next, &next.other, out);
    }
    return print_missing(bench, &next, out, err);
}

cw_status cw_job_next_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "json", .is_flag = true}};
    int64_t id;
    cw_bench *bench;
    CW_TRY(open_for(count, args, options, 2, CW_BENCH_READ, &id, &bench, err));
    cw_status status = print_next(bench, id, cw_option_given(options, 2, "json"), out, err);
    cw_bench_close(bench);
    return status;
}

/* ---- prove ---- */

static void print_evidence(const char *when, const cw_evidence *evidence, FILE *out)
{
    if (evidence->verdict != CW_PROVED_NOT)
        cw_print_told(out, "      %s: %s%s%s%s%s\n", when, cw_proof_verdict_words(evidence->verdict),
                      evidence->on[0] != '\0' ? ", " : "", evidence->on, evidence->text[0] != '\0' ? ", " : "",
                      evidence->text);
}

static cw_status print_proving(cw_bench *bench, int64_t id, bool json, FILE *out, cw_error *err)
{
    cw_proving p;
    CW_TRY(cw_job_proving(bench, id, &p, err));
    if (json) {
        cw_status status = cw_print_json(out, cw_proving_json(id, &p), err);
        cw_proving_free(&p);
        return status;
    }
    cw_print(out, "%zu of %zu tests settled\n", p.settled, p.owed);
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &p.items[k];
        const char *state = !one->owed                              ? "not owed"
                            : one->left_out[0] != '\0'              ? "left out"
                            : one->after.verdict == CW_PROVED_NOT   ? "OWED"
                            : one->after.verdict == CW_PROVED_BEGUN ? "BEGUN"
                                                                    : cw_proof_verdict_words(one->after.verdict);
        cw_print_told(out, "\n%-9s %-31s %s\n      (%s)\n", cw_proof_name(one->kind), cw_proof_label(one->kind), state,
                      one->why);
        print_evidence("before", &one->before, out);
        print_evidence("after", &one->after, out);
        if (one->film[0] != '\0')
            cw_print_told(out, "      film: %s\n", one->film);
        if (one->left_out[0] != '\0')
            cw_print(out, "      left out: %s\n", one->left_out);
    }
    if (!p.kind_known)
        cw_print(out,
                 "\nWhat it owes is not all known: say what kind of camera it is,\n"
                 "  camerawright job kind %" PRId64 " --shutter leaf --finder rangefinder --meter none --flash yes\n",
                 id);
    cw_proving_free(&p);
    return CW_OK;
}

cw_status cw_job_prove_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {
        {.key = "bench"}, {.key = "leave-out"}, {.key = "because"}, {.key = "owe"}, {.key = "json", .is_flag = true}};
    size_t n = CW_COUNT(options);
    int64_t id;
    cw_bench *bench;
    cw_proof_kind kind;
    bool writes = false;
    for (size_t i = 0; i < count; i++)
        writes = writes || strncmp(args[i], "--leave-out", 11) == 0 || strncmp(args[i], "--owe", 5) == 0;
    CW_TRY(open_for(count, args, options, n, writes ? CW_BENCH_OPEN : CW_BENCH_READ, &id, &bench, err));
    const char *leave_out = cw_option_value(options, n, "leave-out"), *owe = cw_option_value(options, n, "owe");
    cw_status status = CW_OK;
    if (leave_out != NULL) {
        status = cw_proof_parse(leave_out, &kind, err);
        if (status == CW_OK)
            status = cw_left_out_set(bench, id, kind, cw_option_value(options, n, "because"), err);
    }
    if (status == CW_OK && owe != NULL) {
        status = cw_proof_parse(owe, &kind, err);
        if (status == CW_OK)
            status = cw_left_out_clear(bench, id, kind, err);
    }
    if (status == CW_OK)
        status = print_proving(bench, id, cw_option_given(options, n, "json"), out, err);
    cw_bench_close(bench);
    return status;
}

/* ---- what kind of camera ---- */

cw_status cw_kind_from_options(const cw_option *options, size_t count, cw_job *job, cw_error *err)
{
    const char *shutter = cw_option_value(options, count, "shutter"),
               *finder = cw_option_value(options, count, "finder"), *meter = cw_option_value(options, count, "meter"),
               *flash = cw_option_value(options, count, "flash"), *bellows = cw_option_value(options, count, "bellows");
    if (shutter != NULL)
        CW_TRY(cw_job_shutter_parse(shutter, &job->shutter, err));
    if (finder != NULL)
        CW_TRY(cw_finder_parse(finder, &job->finder, err));
    if (meter != NULL)
        CW_TRY(cw_meter_fitted_parse(meter, &job->meter, err));
    if (flash != NULL)
        CW_TRY(cw_fitted_parse(flash, &job->flash, err));
    if (bellows != NULL)
        CW_TRY(cw_fitted_parse(bellows, &job->bellows, err));
    return CW_OK;
}

cw_status cw_job_kind_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "shutter"}, {.key = "finder"},
                           {.key = "meter"}, {.key = "flash"},   {.key = "bellows"}};
    size_t n = CW_COUNT(options);
    int64_t id;
    cw_bench *bench;
    cw_job job;
    CW_TRY(open_for(count, args, options, n, CW_BENCH_OPEN, &id, &bench, err));
    cw_status status = cw_job_get(bench, id, &job, err);
    if (status == CW_OK) {
        status = cw_kind_from_options(options, n, &job, err);
        if (status == CW_OK)
            status = cw_job_update(bench, &job, err);
        if (status == CW_OK)
            cw_print(out, "job %" PRId64 ": shutter %s, finder %s, meter %s, flash %s, bellows %s\n", id,
                     cw_job_shutter_name(job.shutter), cw_finder_name(job.finder), cw_meter_fitted_name(job.meter),
                     cw_fitted_name(job.flash), cw_fitted_name(job.bellows));
        cw_job_free(&job);
    }
    cw_bench_close(bench);
    return status;
}
