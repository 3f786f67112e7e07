/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Paper about a job: the report, and the sheets for taking apart and putting together. */
#include <string.h>

#include "cli/bench_command.h"
#include "cli/job_text.h"
#include "cli/print.h"
#include "report/gather.h"

static cw_status make(const cw_report *report, const char *sheet, cw_document **document, cw_error *err)
{
    if (sheet == NULL)
        return cw_report_make(report, document, err);
    if (strcmp(sheet, "teardown") == 0)
        return cw_step_sheet_make(report, CW_SHEET_TEARDOWN, document, err);
    if (strcmp(sheet, "reassembly") == 0)
        return cw_step_sheet_make(report, CW_SHEET_REASSEMBLY, document, err);
    return cw_fail(err, CW_INPUT, "--sheet %.20s: teardown or reassembly", sheet);
}

static cw_status write_report(cw_bench *bench, int64_t id, const cw_gather_options *wanted, const char *sheet,
                              const char *path, cw_error *err)
{
    cw_gathered gathered;
    cw_document *document = NULL;
    const cw_manner *before = cw_manner_use(cw_print_manner());
    cw_status status = cw_gather(bench, id, wanted, &gathered, err);
    if (status == CW_OK) {
        status = make(&gathered.report, sheet, &document, err);
        if (status == CW_OK)
            status = cw_document_save(document, path, err);
        cw_document_free(document);
        cw_gathered_free(&gathered);
    }
    cw_manner_use(before);
    return status;
}

static cw_status run_report(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bench"},
                           {.key = "out"},
                           {.key = "paper"},
                           {.key = "sheet"},
                           {.key = "with-owner", .is_flag = true},
                           {.key = "with-costs", .is_flag = true}};
    const char *operand[1];
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    const char *path = cw_option_value(options, n, "out"), *paper = cw_option_value(options, n, "paper");
    if (operands == 0 || path == NULL)
        return cw_fail(err, CW_INPUT, "say which job and into which file: camerawright report 7 --out tarnbrook.pdf");
    int64_t id;
    char day[CW_DAY_TEXT];
    CW_TRY(cw_id_parse(operand[0], "job", &id, err));
    cw_today(day);
    cw_gather_options wanted = {.paper = paper != NULL ? paper : "A4",
                                .made_on = day,
                                .with_owner = cw_option_given(options, n, "with-owner"),
                                .with_costs = cw_option_given(options, n, "with-costs")};
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(cw_option_value(options, n, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = write_report(bench, id, &wanted, cw_option_value(options, n, "sheet"), path, err);
    if (status == CW_OK)
        cw_print(out, "%s\n", path);
    if (status == CW_OK)
        status = cw_job_comparison_print(bench, id, out, err);
    cw_bench_close(bench);
    return status;
}

const cw_command cw_cmd_report = {
    "report", "JOB --out FILE.pdf [options]", "a job on paper: report, teardown sheet or reassembly sheet",
    "  --out FILE.pdf            where to write it\n"
    "  --sheet teardown|reassembly    the steps with boxes to tick, instead of the report\n"
    "  --paper A4|Letter         A4 unless given\n"
    "  --with-owner              with the private note on the owner\n"
    "  --with-costs              with hours and costs\n"
    "  --bench FOLDER\n",
    run_report};
