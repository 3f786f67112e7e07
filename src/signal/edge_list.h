/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the room: the changes of digital channels, held in memory, as the state of a source of edges. */
#ifndef CW_SIGNAL_EDGE_LIST_H
#define CW_SIGNAL_EDGE_LIST_H

#include "signal/reader.h"

typedef struct {
    size_t channels;
    size_t count[CW_CHANNELS_MOST];
    cw_edge *edges[CW_CHANNELS_MOST]; /* owned, in the order of time, the first being the level at the start */
} cw_edge_list;

void cw_edge_list_free(cw_edge_list *list); /* NULL is fine */
/* The list becomes the source's. */
void cw_edge_list_give(cw_edge_list *list, const cw_source_info *info, cw_source *source);

#endif
