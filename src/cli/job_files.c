/* SPDX-License-Identifier: GPL-3.0-or-later */
/* job attach, export, import, notes: files into and out of a job. */
#include <inttypes.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/job_commands.h"
#include "notebook/archive.h"
#include "notebook/photo.h"
#include "notebook/step.h"

/* The id of a job's step by its number; 0 for number 0. */
static cw_status step_numbered(cw_bench *bench, int64_t job_id, long number, int64_t *step_id, cw_error *err)
{
    *step_id = 0;
    if (number == 0)
        return CW_OK;
    cw_step_list list;
    CW_TRY(cw_step_page(bench, job_id, CW_APART_ORDER, number - 1, 1, &list, err));
    if (list.count > 0)
        *step_id = list.items[0].id;
    cw_step_list_free(&list);
    if (*step_id == 0)
        return cw_fail(err, CW_NOT_FOUND, "job %" PRId64 " has no step %ld", job_id, number);
    return CW_OK;
}

cw_status cw_job_attach_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}, {.key = "caption"}, {.key = "step"}};
    const char *operand[2], *caption, *step;
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and which file: camerawright job attach 7 top-cover.jpg");
    int64_t id, step_id, photo_id = 0;
    long step_number = 0;
    CW_TRY(cw_id_parse(operand[0], "job", &id, err));
    step = cw_option_value(options, n, "step");
    if (step != NULL)
        CW_TRY(cw_parse_whole(step, 1, 100000, &step_number, err));
    caption = cw_option_value(options, n, "caption");

    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = step_numbered(bench, id, step_number, &step_id, err);
    if (status == CW_OK)
        status = cw_photo_import(bench, operand[1], id, step_id, 0, caption != NULL ? caption : "", &photo_id, err);
    if (status == CW_OK)
        fprintf(out, "photo %" PRId64 " in job %" PRId64 "\n", photo_id, id);
    cw_bench_close(bench);
    return status;
}

cw_status cw_job_export_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {
        {.key = "bench"}, {.key = "with-owner", .is_flag = true}, {.key = "without-recordings", .is_flag = true}};
    const char *operand[2];
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and into which file: camerawright job export 7 tarnbrook.zip");
    int64_t id;
    CW_TRY(cw_id_parse(operand[0], "job", &id, err));
    cw_export_options wanted = {.with_owner = cw_option_given(options, n, "with-owner"),
                                .with_recordings = !cw_option_given(options, n, "without-recordings")};
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_job_export(bench, id, operand[1], &wanted, err);
    if (status == CW_OK)
        fprintf(out, "job %" PRId64 " is in %s\n", id, operand[1]);
    cw_bench_close(bench);
    return status;
}

cw_status cw_job_import_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which file: camerawright job import tarnbrook.zip");
    int64_t id = 0;
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_CREATE, &bench, err));
    cw_status status = cw_job_import(bench, operand[0], &id, err);
    if (status == CW_OK)
        fprintf(out, "job %" PRId64 "\n", id);
    cw_bench_close(bench);
    return status;
}

cw_status cw_job_notes_command(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[2];
    size_t operands;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 2, &operands, err));
    if (operands < 2)
        return cw_fail(err, CW_INPUT, "say which job and into which folder: camerawright job notes 7 notes");
    int64_t id;
    char path[CW_BENCH_PATH];
    CW_TRY(cw_id_parse(operand[0], "job", &id, err));
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = cw_job_markdown(bench, id, operand[1], path, sizeof path, err);
    if (status == CW_OK)
        fprintf(out, "%s\n", path);
    cw_bench_close(bench);
    return status;
}
