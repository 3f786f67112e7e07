/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only, and pure: the smallest sets of things that must come off to reach one of them. */
#ifndef CW_NOTEBOOK_WAY_FIND_H
#define CW_NOTEBOOK_WAY_FIND_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum { WAY_NODES_MOST = 2000, WAY_BLOCKS_MOST = 20000, WAY_SETS_MOST = 8, WAY_TRIES_MOST = 50000 };

/* "under is under over": way 0 always, ways 1..8 alternatives (all blocks of one way of a node, whichever). */
typedef struct {
    size_t under, over;
    int way;
} way_block;

typedef struct {
    size_t node_count; /* nodes are 0 .. node_count - 1 */
    const way_block *blocks;
    size_t block_count;
    const int64_t *rank; /* of each node: of two that may both come next, the lower one does; ties: the lower node */
} way_graph;

typedef struct {
    size_t count;
    size_t *nodes; /* in an order that works, the target last */
} way_set;

typedef struct {
    size_t count;
    way_set sets[WAY_SETS_MOST]; /* fewest things first; no set contains another */
    bool complete;               /* false: there may be more sets than these; the first is then still the best found */
    bool proven;                 /* the first is certainly a shortest one */
} way_sets;

/* The minimal sets S that hold the target and, with each thing, everything of way 0 over it and everything of at least
 * one of its other ways (if it has any).
 *
 * This is the reachability of an AND/OR precedence graph (Homem de Mello and Sanderson, 1990, "AND/OR graph
 * representation of assembly plans", from memory); finding the smallest S is a hard problem in general, so it is a
 * search over the alternatives with the best sets so far as its bound, stopped after WAY_TRIES_MOST tries. CW_CONFLICT:
 * the blocks run in a circle (over all ways together). CW_RANGE: more nodes or blocks than the above, or an index
 * outside. The caller frees with way_sets_free. */
cw_status way_find(const way_graph *graph, size_t target, way_sets *sets, cw_error *err)
    __attribute__((warn_unused_result));
void way_sets_free(way_sets *sets);

/* The circle a new block would close: fills path with under, over, ... up to under again and returns its length, 0 when
 * there is none. `path` has room for node_count + 1. CW_MEMORY possible. */
cw_status way_circle(const way_graph *graph, size_t under, size_t over, size_t *path, size_t *length, cw_error *err)
    __attribute__((warn_unused_result));

#endif
