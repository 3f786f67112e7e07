/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "notebook/job.h"
#include "notebook/step.h"
#include "report/gather.h"

static cw_status fill_labels(const cw_tray_list *trays, int64_t job_id, const char *site, cw_label *labels,
                             char (*codes)[400], cw_error *err)
{
    for (size_t i = 0; i < trays->count; i++) {
        labels[i] = (cw_label){.number = (long)trays->items[i].number, .line = trays->items[i].label};
        if (site == NULL || *site == '\0')
            continue;
        int wrote = snprintf(codes[i], sizeof codes[i], "%s/jobs/%" PRId64 "/trays/%" PRId64, site, job_id,
                             trays->items[i].number);
        if (wrote < 0 || (size_t)wrote >= sizeof codes[i])
            return cw_fail(err, CW_INPUT, "the address \"%.60s...\" is too long for a label", site);
        labels[i].qr = codes[i];
    }
    return CW_OK;
}

cw_status cw_tray_labels_pdf(cw_bench *bench, int64_t job_id, const cw_label_sheet *sheet, const char *site,
                             cw_buf *out, cw_error *err)
{
    cw_job job;
    cw_tray_list trays;
    CW_TRY(cw_job_get(bench, job_id, &job, err));
    cw_job_free(&job);
    CW_TRY(cw_tray_page(bench, job_id, &trays, err));
    cw_label *labels = calloc(trays.count + 1, sizeof *labels);
    char(*codes)[400] = calloc(trays.count + 1, sizeof *codes);
    cw_status status;
    if (trays.count == 0)
        status = cw_fail(err, CW_NOT_FOUND, "job %" PRId64 " has no tray yet; put a part into one first", job_id);
    else if (labels == NULL || codes == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for %zu labels", trays.count);
    else
        status = fill_labels(&trays, job_id, site, labels, codes, err);
    if (status == CW_OK)
        status = cw_labels_pdf(sheet, labels, trays.count, out, err);
    free(labels);
    free(codes);
    cw_tray_list_free(&trays);
    return status;
}
