/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A guided list and the log of a test film on paper, to be filled in by hand at the bench or with the camera. */
#ifndef CW_REPORT_LIST_SHEET_H
#define CW_REPORT_LIST_SHEET_H

#include "notebook/film.h"
#include "notebook/guide.h"
#include "report/document.h"

typedef struct {
    const char *paper;   /* "A4" ... */
    const char *made_on; /* day */
    const char *site;    /* what the phone opens, "http://192.168.1.20:8137"; "" or NULL: no code */
} cw_list_look;

/* The list with a box an item, how to look, and its cautions; what is answered already stands there. CW_NOT_FOUND: no
 * such list. The caller frees *document. */
cw_status cw_list_sheet_make(cw_bench *bench, int64_t checklist_id, const cw_list_look *look, cw_document **document,
                             cw_error *err) __attribute__((warn_unused_result));

/* The film of a job frame by frame, with room to write. The job's number stands at the head, and a QR code of the log's
 * page where `site` is known. CW_NOT_FOUND: no such job, or no frame is planned. */
cw_status cw_film_log_make(cw_bench *bench, int64_t job_id, const cw_list_look *look, cw_document **document,
                           cw_error *err) __attribute__((warn_unused_result));

/* "1/125 s, f/4, 0.9 m"; "as the words say" where nothing is set. */
void cw_frame_settings(const cw_film_frame *frame, char *text, size_t size);

#endif
