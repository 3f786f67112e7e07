/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One request through libmicrohttpd: target, door, body, worker, answer. The callbacks the daemon is started with. */
#ifndef CW_WEB_CALL_H
#define CW_WEB_CALL_H

#include <microhttpd.h>

#include "web/house.h"
#include "web/lanes.h"
#include "web/watch.h"

typedef struct {
    cw_house *house;
    cw_lanes *lanes;
    cw_watch *watch;
} cw_call_place;

void *cw_call_begin(void *place, const char *raw_target, struct MHD_Connection *connection);
enum MHD_Result cw_call_answer(void *place, struct MHD_Connection *connection, const char *url, const char *method,
                               const char *version, const char *body, size_t *body_size, void **call);
void cw_call_completed(void *place, struct MHD_Connection *connection, void **call,
                       enum MHD_RequestTerminationCode code);

#endif
