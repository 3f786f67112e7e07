/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_keep.h"
#include "cli/print.h"

#include <inttypes.h>
#include <stdlib.h>

#include "base/json.h"
#include "notebook/job.h"
#include "notebook/rack.h"
#include "notebook/test.h"

enum { WORDS_MOST = 8000 };

cw_status cw_sheet_keep_check(const cw_worksheet *sheet, const cw_sheet_keep *keep, cw_error *err)
{
    bool needs_bench = keep->as_tool || keep->in_job;
    if (keep->as_tool && sheet->tool == NULL)
        return cw_fail(err, CW_INPUT, "\"%s\" makes no tool to keep in the rack; --keep --job N keeps it in a job",
                       sheet->title);
    if (keep->in_job && keep->job == NULL && keep->part == NULL)
        return cw_fail(err, CW_INPUT, "--keep needs --job N, or --for-part N; `camerawright job list` shows the jobs");
    if (keep->when != NULL && !keep->in_job)
        return cw_fail(err, CW_INPUT,
                       "--when before or after goes with --keep --job N: it says how the camera was or is");
    bool idle_bench = keep->bench != NULL && !cw_sheet_takes_materials(sheet); /* else it says whose materials */
    if (!needs_bench && (keep->job != NULL || keep->part != NULL || keep->title != NULL || idle_bench))
        return cw_fail(
            err, CW_INPUT,
            "--job, --for-part, --title and --bench go with --keep or --keep-tool, which say that the result "
            "is to be kept");
    return CW_OK;
}

static cw_status hang_up(cw_bench *bench, const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *result,
                         const char *title, int64_t job_id, FILE *out, cw_error *err)
{
    cw_sheet_made made;
    int64_t id;
    CW_TRY(cw_sheet_make_tool(sheet, in, result, &made, err));
    cw_tool tool = {.name = title != NULL ? title : sheet->title,
                    .kind = sheet->name,
                    .made = true,
                    .sizes_json = made.sizes_json,
                    .drawing_svg = made.drawing_svg,
                    .inputs_json = made.inputs_json,
                    .made_for_job_id = job_id};
    cw_status status = cw_tool_add(bench, &tool, &id, err);
    if (status == CW_OK)
        cw_print(out, "\nIt hangs in the rack as tool %" PRId64 "; `camerawright tools show %" PRId64 "`\n", id, id);
    cw_sheet_made_free(&made);
    return status;
}

static cw_status keep_in_job(cw_bench *bench, const cw_worksheet *sheet, const cw_sheet_in *in,
                             const cw_sheet_out *result, const char *title, cw_moment moment, int64_t job_id,
                             int64_t part_id, FILE *out, cw_error *err)
{
    json_t *json = cw_sheet_json(sheet, in, result);
    char *text = cw_json_written(json, CW_JSON_KEPT);
    json_decref(json);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to keep this worksheet");
    cw_saved_sheet saved = {.job_id = job_id,
                            .worksheet = sheet->name,
                            .moment = moment,
                            .title = title,
                            .program_version = CW_VERSION,
                            .result_json = text};
    int64_t id;
    char words[WORDS_MOST];
    cw_sheet_words(sheet, result, words, sizeof words);
    cw_status status = part_id > 0 ? cw_part_to_make(bench, part_id, &saved, words, &id, err)
                                   : cw_saved_sheet_add(bench, &saved, &id, err);
    free(text);
    if (status == CW_OK && part_id > 0)
        cw_print(out, "\nKept as worksheet result %" PRId64 "; part %" PRId64 " is to be made by it\n", id, part_id);
    else if (status == CW_OK)
        cw_print(out, "\nKept as worksheet result %" PRId64 " of job %" PRId64 "\n", id, job_id);
    return status;
}

cw_status cw_sheet_keep_run(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *result,
                            const cw_sheet_keep *keep, FILE *out, cw_error *err)
{
    int64_t job_id = 0, part_id = 0;
    if (keep->job != NULL)
        CW_TRY(cw_id_parse(keep->job, "job", &job_id, err));
    if (keep->part != NULL)
        CW_TRY(cw_id_parse(keep->part, "part", &part_id, err));
    cw_moment moment = CW_MOMENT_ANY;
    if (keep->when != NULL)
        CW_TRY(cw_moment_parse(keep->when, &moment, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(keep->bench, CW_BENCH_CREATE, &bench, err));
    cw_status status = CW_OK;
    if (keep->as_tool)
        status = hang_up(bench, sheet, in, result, keep->title, job_id, out, err);
    if (status == CW_OK && keep->in_job)
        status = keep_in_job(bench, sheet, in, result, keep->title, moment, job_id, part_id, out, err);
    cw_bench_close(bench);
    return status;
}
