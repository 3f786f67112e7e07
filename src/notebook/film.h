/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The test film of a job: what was touched and so has to be shown, and the planned frames as a log that is filled in
 * when the film is back (cw_film_frame of rack.h). Manners: bench.h. */
#ifndef CW_NOTEBOOK_FILM_H
#define CW_NOTEBOOK_FILM_H

#include "exposure/film_plan.h"
#include "notebook/rack.h"

enum { CW_MENDED_COUNT = 8 };

/* By bit number of CW_MENDED_...: "speeds", "focus", "meter", "aperture", "seals", "transport", "flash", "optics": in
 * the database, JSON, options. "" outside. */
const char *cw_mended_name(int bit);
const char *cw_mended_label(int bit); /* "Shutter speeds" */

typedef struct {
    int mended;                       /* bits CW_MENDED_... */
    const char *why[CW_MENDED_COUNT]; /* where it was read from: "step 4 \"Lens block off\""; "" not proposed */
    size_t mark_count;
    double marks_s[24]; /* the marked speeds of the newest shutter test, slowest first; none: 0 */
    void *held;
} cw_mended;

/* Reads what was worked on: from the codes of findings, worksheets and lists first, then from trade words in steps and
 * complaint, English and German. A proposal; a person ticks and unticks. */
cw_status cw_film_propose(cw_bench *bench, int64_t job_id, cw_mended *mended, cw_error *err)
    __attribute__((warn_unused_result));
void cw_mended_free(cw_mended *mended);

/* The plan becomes the log of the job's film, in one change; numbers follow the frames of the same film that are there.
 * film: "ISO 100 black and white, roll 1". CW_RANGE: more than frame 99. */
cw_status cw_film_keep_plan(cw_bench *bench, int64_t job_id, const char *film, const cw_plan *plan, cw_error *err)
    __attribute__((warn_unused_result));

cw_status cw_film_frame_get(cw_bench *bench, int64_t id, cw_film_frame *frame, cw_error *err)
    __attribute__((warn_unused_result));
void cw_film_frame_free(cw_film_frame *frame);

/* Takes out every frame nobody has looked at, in one change. */
cw_status cw_film_drop_open(cw_bench *bench, int64_t job_id, cw_error *err) __attribute__((warn_unused_result));

#endif
