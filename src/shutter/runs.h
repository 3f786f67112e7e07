/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Within this room: the instants of a test at known places, ready to be fitted. */
#ifndef CW_SHUTTER_RUNS_H
#define CW_SHUTTER_RUNS_H

#include "shutter/delays.h"
#include "shutter/inner.h"

enum { CW_RUN_FIRST, CW_RUN_SECOND, CW_RUN_EXPOSURE, CW_RUN_BLOCKS };

typedef struct {
    size_t sensors;                /* of known place */
    size_t index[CW_SENSORS_MOST]; /* their numbers in the shots */
    double u[CW_SENSORS_MOST];     /* place over frame */
    size_t places;                 /* told apart */
    double u_place;                /* standard uncertainty of a place, over the frame */
    cw_delay_block blocks[CW_RUN_BLOCKS];
    cw_delay_sums sums[CW_RUN_BLOCKS];
    double scatter_degrees; /* behind the weights, of each block */
    size_t left_out;        /* shots with their sensors elsewhere */
} cw_runs;

/* Reads the counting shots; weights from each measurement and from how much whole shots differ. Shots that ran unlike
 * the others are marked in odd[shot_count] and left out. The caller frees with cw_runs_free, also after a failure. */
cw_status cw_runs_read(const cw_shutter_test *test, bool *odd, cw_runs *runs, cw_error *err)
    __attribute__((warn_unused_result));
void cw_runs_free(cw_runs *runs);

#endif
