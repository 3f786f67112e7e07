/* SPDX-License-Identifier: GPL-3.0-or-later */
/* job export, import, notes: a whole job out of the bench and into another. */
#include <inttypes.h>

#include "cli/bench_command.h"
#include "cli/job_commands.h"
#include "cli/print.h"
#include "notebook/archive.h"

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
        cw_print(out, "job %" PRId64 " is in %s\n", id, operand[1]);
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
        cw_print(out, "job %" PRId64 "\n", id);
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
        cw_print(out, "%s\n", path);
    cw_bench_close(bench);
    return status;
}
