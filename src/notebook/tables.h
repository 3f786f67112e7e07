/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the descriptions of the tables, each beside its functions. */
#ifndef CW_NOTEBOOK_TABLES_H
#define CW_NOTEBOOK_TABLES_H

#include "notebook/step.h"
#include "notebook/store.h"

extern const store_table job_table, test_table, test_version_table, reading_table, saved_sheet_table, recording_table;
extern const store_table step_table, tray_table, part_table, photo_table, photo_mark_table;
extern const store_table thing_table, block_table;
extern const store_table tool_table, cost_table, checklist_table, checklist_item_table, film_frame_table, level_table;
extern const store_table left_out_table, own_list_table, material_table;

/* A rank for the place behind a step of the job (0: the end, -1: the beginning). */
cw_status step_rank_behind(cw_bench *bench, int64_t job_id, int64_t after, int64_t *rank, cw_error *err)
    __attribute__((warn_unused_result));
/* Inside a change: a step with every field as given, and what a plan said about it ("" when there was none). */
cw_status step_insert(cw_bench *bench, const cw_step *step, int64_t after, const char *planned_json, int64_t *id,
                      cw_error *err) __attribute__((warn_unused_result));
/* Inside a change: a part in any state that may be added. */
cw_status part_insert(cw_bench *bench, const cw_part *part, const char *planned_json, int64_t *id, cw_error *err)
    __attribute__((warn_unused_result));
/* A job that is still "taken in" is apart from now on. */
cw_status step_takes_apart(cw_bench *bench, int64_t job_id, cw_error *err) __attribute__((warn_unused_result));
/* CW_NOT_FOUND unless the tray, or the step, belongs to the job. */
cw_status tray_of_job(cw_bench *bench, int64_t tray_id, int64_t job_id, cw_error *err)
    __attribute__((warn_unused_result));
cw_status step_of_job(cw_bench *bench, int64_t step_id, int64_t job_id, cw_error *err)
    __attribute__((warn_unused_result));

#endif
