/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's result that says how a part is to be made. */
#include <inttypes.h>
#include <stdlib.h>

#include "base/buf.h"
#include "notebook/rack.h"
#include "notebook/step.h"

static cw_status note_it(cw_bench *bench, const cw_part *part, const cw_saved_sheet *sheet, const char *words,
                         int64_t *saved_id, cw_error *err)
{
    cw_saved_sheet row = *sheet;
    row.job_id = part->job_id;
    CW_TRY(cw_saved_sheet_add(bench, &row, saved_id, err));
    cw_buf notes =
        cw_buf_new(2 * CW_NOTE_MOST); /* notes that get too long are refused, in words, where they are stored */
    cw_buf_printf(&notes, "%s%sTo make (worksheet result %" PRId64 "): %s", part->notes,
                  part->notes[0] != '\0' ? "\n" : "", *saved_id, words);
    cw_part changed = *part;
    changed.condition = CW_CONDITION_MAKE;
    changed.notes = cw_buf_string(&notes);
    cw_status status = cw_buf_check(&notes, "the part's notes", err);
    if (status == CW_OK)
        status = cw_part_update(bench, &changed, err);
    cw_buf_free(&notes);
    return status;
}

cw_status cw_part_to_make(cw_bench *bench, int64_t part_id, const cw_saved_sheet *sheet, const char *words,
                          int64_t *saved_id, cw_error *err)
{
    cw_part part;
    int64_t made = 0;
    CW_TRY(cw_part_get(bench, part_id, &part, err));
    cw_status status;
    if (sheet->job_id > 0 && sheet->job_id != part.job_id)
        status = cw_fail(err, CW_INPUT, "part %" PRId64 " belongs to job %" PRId64 ", not to job %" PRId64, part_id,
                         part.job_id, sheet->job_id);
    else
        status = cw_change_begin(bench, part.job_id, "a part to be made", err);
    if (status == CW_OK) {
        status = note_it(bench, &part, sheet, words, &made, err);
        if (status == CW_OK)
            status = cw_change_commit(bench, err);
        else
            cw_change_cancel(bench);
    }
    cw_part_free(&part);
    if (status == CW_OK)
        *saved_id = made;
    return status;
}
