/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Within this room: one form of run fitted to one curtain of a test. */
#ifndef CW_SHUTTER_CURTAIN_FIT_H
#define CW_SHUTTER_CURTAIN_FIT_H

#include "shutter/runs.h"

/* A run-up shorter than this share of the frame cannot be told from none; a longer one than this is even speed. */
#define CW_REST_LEAST 1e-3
#define CW_REST_MOST 1e3
/* The run-up of an ordinary curtain over its frame (4 mm of 36), where neither curtain tells its own. */
#define CW_REST_USUAL (1.0 / 9)

typedef struct {
    cw_track track;
    double chi_squared, u_travel_s, u_drag_s; /* u_drag_s: 0 without a drag */
    bool solved;
} cw_run_fit;

/* An even run, or with `columns` 2 a bowed one. `block` is CW_RUN_FIRST or CW_RUN_SECOND throughout. */
cw_run_fit cw_run_fit_even(const cw_runs *runs, size_t block, size_t columns);
/* From rest with run-up and fading of the pull held; with `columns` 2 and a drag that grows with the cube of the way.
 */
cw_run_fit cw_run_fit_held(const cw_runs *runs, size_t block, double rest, double fade, size_t columns);
/* From rest with the run-up fitted too. */
cw_run_fit cw_run_fit_rest(const cw_runs *runs, size_t block, double fade);

/* The shapes u and u (1 - u) at the sensors. */
void cw_run_columns_even(const cw_runs *runs, double s[CW_DELAY_COLUMNS][CW_SENSORS_MOST]);
/* What the exposures say beyond the difference of the two tracks, by u and, with `columns` 2, u (1 - u). */
void cw_run_fit_extra(const cw_runs *runs, size_t columns, const cw_track *first, const cw_track *second,
                      double extra_s[2]);

/* Every sensor's place is uncertain, so it reads late or early by its way over the speed of the curtain there. Allowed
 * for in the sums of both curtains; the exposures are free of it, as both curtains are late alike. */
void cw_runs_allow_places(cw_runs *runs);

/* Fills shape->others from the chosen runs and the data: pairs of runs that both curtains may have had, drawn as often
 * as they are likely. Curtains start from rest within a usual run-up, lose part of their pull on the way, may drag, and
 * are alike unless the data say otherwise. For three places or more. */
void cw_others_fill(const cw_runs *runs, cw_shape *shape);

#endif
