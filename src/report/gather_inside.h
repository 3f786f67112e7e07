/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: what a job on paper is gathered into. */
#ifndef CW_REPORT_GATHER_INSIDE_H
#define CW_REPORT_GATHER_INSIDE_H

#include "notebook/photo.h"
#include "notebook/prove.h"
#include "notebook/test.h"
#include "report/gather.h"

enum { PAGE = 500, STEPS_MOST = 5000, PARTS_MOST = 20000, TEXTS_MOST = 200000, SHEETS_MOST = 500, PHOTOS_MOST = 5000 };

typedef struct {
    cw_report report;
    char **texts; /* every text of the report, owned */
    size_t text_count, text_capacity;
    cw_report_step *steps;
    size_t step_count, step_capacity;
    cw_report_part *parts;
    size_t part_count, part_capacity;
    cw_report_sheet *sheets;
    size_t sheet_count, sheet_capacity;
    cw_shutter_test *tests[2];
    cw_doc_photo cover, *more;
    size_t more_count, more_capacity;
    const char **remaining;
    size_t remaining_count, remaining_capacity;
    const char *cautions[1];
    bool without_photos;
    cw_report_proof proofs[CW_PROOF_COUNT];
    cw_report_other *others;
    size_t other_count, other_capacity;
    cw_report_list *lists;
    size_t list_count, list_capacity;
    cw_report_frame *frames;
    size_t frame_count, frame_capacity;
    cw_report_tool *tools;
    size_t tool_count, tool_capacity;
    cw_report_cost *costs;
    size_t cost_count, cost_capacity;
} material;

/* A copy that lives as long as the material, in *kept. */
cw_status gather_keep(material *m, const char *text, const char **kept, cw_error *err)
    __attribute__((warn_unused_result));
/* Another line under what remains. */
cw_status gather_remain(material *m, const char *text, cw_error *err) __attribute__((warn_unused_result));
cw_status gather_photo(cw_bench *bench, material *m, const cw_photo *photo, cw_doc_photo *to, cw_error *err)
    __attribute__((warn_unused_result));
void gather_free_photo(const cw_doc_photo *photo);
cw_status gather_step_photos(cw_bench *bench, material *m, int64_t step_id, cw_report_step *step, cw_error *err)
    __attribute__((warn_unused_result));
cw_status gather_cover(cw_bench *bench, material *m, int64_t photo_id, cw_error *err)
    __attribute__((warn_unused_result));
/* Those that nothing gathered before shows. */
cw_status gather_more_photos(cw_bench *bench, material *m, int64_t job_id, cw_error *err)
    __attribute__((warn_unused_result));
/* A stored shutter test; *test NULL and a line under what remains where it cannot be read any more. */
cw_status gather_test(cw_bench *bench, material *m, const cw_test *stored, cw_report_test *to, cw_shutter_test **test,
                      cw_error *err) __attribute__((warn_unused_result));
/* The maps of a stored test by photographs; none, and a line under what remains, where they cannot be drawn. */
cw_status gather_maps(cw_bench *bench, material *m, const cw_test *stored, cw_report_test *to, cw_error *err)
    __attribute__((warn_unused_result));
/* What the job owes, its lists, film, tools made, costs, and tests by ear and from photographs. */
cw_status gather_thread(cw_bench *bench, material *m, int64_t job_id, const cw_gather_options *options, cw_error *err)
    __attribute__((warn_unused_result));
void gather_thread_free(material *m);

#endif
