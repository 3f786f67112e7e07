/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/edge_list.h"

#include <stdlib.h>

void cw_edge_list_free(cw_edge_list *list)
{
    if (list == NULL)
        return;
    for (size_t i = 0; i < list->channels; i++)
        free(list->edges[i]);
    free(list);
}

static const cw_edge *edges_of(const void *state, size_t channel, size_t *count)
{
    const cw_edge_list *list = state;
    *count = list->count[channel];
    return list->edges[channel];
}

static void list_close(void *state)
{
    cw_edge_list_free(state);
}

void cw_edge_list_give(cw_edge_list *list, const cw_source_info *info, cw_source *source)
{
    source->info = *info;
    source->state = list;
    source->calls = (cw_source_calls){.edges = edges_of, .close = list_close};
}
