/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Worker threads with a bench handle each, in two lanes: quick pages, and computations that may take seconds. */
#ifndef CW_WEB_LANES_H
#define CW_WEB_LANES_H

#include "base/error.h"
#include "notebook/bench.h"

typedef struct cw_lanes cw_lanes;

/* A piece of work; embed it in what the work needs. */
typedef struct cw_work {
    void (*run)(struct cw_work *work, cw_bench *bench);
    struct cw_work *next;
} cw_work;

typedef enum { CW_LANE_QUICK, CW_LANE_SLOW, CW_LANE_COUNT } cw_lane;

/* Opens (makes) the bench and starts the workers. A bench on a read-only disk is opened for reading. */
cw_status cw_lanes_new(const char *folder, cw_lanes **lanes, cw_error *err) __attribute__((warn_unused_result));
/* Lets the queues run empty, ends the workers, closes the handles. NULL is fine. */
void cw_lanes_free(cw_lanes *lanes);
void cw_lanes_add(cw_lanes *lanes, cw_lane lane, cw_work *work);

#endif
