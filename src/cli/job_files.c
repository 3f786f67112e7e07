/* SPDX-License-Identifier: GPL-3.0-or-later */
/* job attach: a photo into a job. */
#include <inttypes.h>
#include <string.h>

#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/job_commands.h"
#include "cli/print.h"
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
        cw_print(out, "photo %" PRId64 " in job %" PRId64 "\n", photo_id, id);
    cw_bench_close(bench);
    return status;
}
