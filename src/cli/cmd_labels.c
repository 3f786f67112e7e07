/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Round labels for the trays of a job, or numbered ones before there is a job. */
#include <inttypes.h>
#include <string.h>

#include "base/file.h"
#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/print.h"
#include "report/gather.h"

enum { LABELS_MOST = 500, SHEET_BYTES_MOST = 64 << 20 };

/* "--numbers 1-40": labels to keep in stock, without a job and so without codes. */
static cw_status numbered(const char *range, const cw_label_sheet *sheet, cw_buf *out, cw_error *err)
{
    static cw_label labels[LABELS_MOST];
    char first_text[32];
    long first, last;
    const char *dash = strchr(range, '-');
    if (dash == NULL || (size_t)(dash - range) >= sizeof first_text)
        return cw_fail(err, CW_INPUT, "--numbers %.40s: two numbers with a dash are wanted, such as 1-40", range);
    memcpy(first_text, range, (size_t)(dash - range));
    first_text[dash - range] = '\0';
    CW_TRY(cw_parse_whole(first_text, 0, 99999, &first, err));
    CW_TRY(cw_parse_whole(dash + 1, first, first + LABELS_MOST - 1, &last, err));
    for (long i = first; i <= last; i++)
        labels[i - first] = (cw_label){.number = i};
    return cw_labels_pdf(sheet, labels, (size_t)(last - first + 1), out, err);
}

static cw_status of_job(const char *bench_option, const char *operand, const cw_label_sheet *sheet, const char *site,
                        cw_buf *out, cw_error *err)
{
    int64_t id;
    cw_bench *bench;
    CW_TRY(cw_id_parse(operand, "job", &id, err));
    CW_TRY(cw_bench_from_option(bench_option, CW_BENCH_READ, &bench, err));
    cw_status status = cw_tray_labels_pdf(bench, id, sheet, site, out, err);
    cw_bench_close(bench);
    return status;
}

static cw_status run_labels(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "bench"}, {.key = "out"},  {.key = "paper"},  {.key = "diameter"},
                           {.key = "site"},  {.key = "skip"}, {.key = "numbers"}};
    const char *operand[1];
    size_t n = CW_COUNT(options), operands;
    CW_TRY(cw_options_read(count, args, options, n, operand, 1, &operands, err));
    const char *path = cw_option_value(options, n, "out"), *paper = cw_option_value(options, n, "paper"),
               *diameter = cw_option_value(options, n, "diameter"), *skip = cw_option_value(options, n, "skip"),
               *numbers = cw_option_value(options, n, "numbers");
    if ((operands == 0) == (numbers == NULL) || path == NULL)
        return cw_fail(err, CW_INPUT,
                       "say which job, or which numbers, and into which file: camerawright labels 7 --out "
                       "labels.pdf, or camerawright labels --numbers 1-40 --out labels.pdf");
    double diameter_m = 0.03;
    long used_up = 0;
    if (diameter != NULL)
        CW_TRY(cw_parse_measure(diameter, CW_LENGTH, "mm", &diameter_m, err));
    if (skip != NULL)
        CW_TRY(cw_parse_whole(skip, 0, 1000, &used_up, err));
    const cw_label_sheet sheet = {paper != NULL ? paper : "A4", diameter_m * 1e3, NULL, (size_t)used_up};
    cw_buf bytes = cw_buf_new(SHEET_BYTES_MOST);
    cw_status status = numbers != NULL ? numbered(numbers, &sheet, &bytes, err)
                                       : of_job(cw_option_value(options, n, "bench"), operand[0], &sheet,
                                                cw_option_value(options, n, "site"), &bytes, err);
    if (status == CW_OK)
        status = cw_write_file(path, cw_buf_string(&bytes), bytes.length, err);
    cw_buf_free(&bytes);
    if (status == CW_OK)
        cw_print(out, "%s\n", path);
    return status;
}

const cw_command cw_cmd_labels = {
    "labels", "JOB|--numbers FIRST-LAST --out FILE.pdf [options]", "round labels for the caps of parts trays",
    "  --out FILE.pdf       where to write them\n"
    "  --diameter 30mm      of the cap, 10 to 100 mm\n"
    "  --site URL           the page's address as the phone sees it; each label then carries a QR code of its tray\n"
    "  --numbers 1-40       plain numbers to keep in stock instead of a job's trays\n"
    "  --skip N             places at the start of the sheet that were used up before\n"
    "  --paper A4|Letter    A4 unless given\n"
    "  --bench FOLDER\n",
    run_labels};
