/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/way_find.h"

#include <stdlib.h>
#include <string.h>

enum { WAYS = 9 };

/* The graph sorted for use: the blocks of each node together, and which ways it has. */
typedef struct {
    const way_graph *graph;
    size_t *first; /* node_count + 1: where a node's blocks begin in `sorted` */
    way_block *sorted;
    unsigned *ways; /* bits 1u << way of those a node has, way 0 left out */
    size_t words;   /* of a set: one bit a node */
} prepared;

static bool has(const uint64_t *set, size_t node)
{
    return (set[node / 64] >> (node % 64) & 1) != 0;
}

static void add(uint64_t *set, size_t node)
{
    set[node / 64] |= (uint64_t)1 << (node % 64);
}

static void prepared_free(prepared *p)
{
    free(p->first);
    free(p->sorted);
    free(p->ways);
    *p = (prepared){0};
}

static cw_status check_graph(const way_graph *graph, cw_error *err)
{
    if (graph->node_count > WAY_NODES_MOST || graph->block_count > WAY_BLOCKS_MOST)
        return cw_fail(err, CW_RANGE, "%zu things under %zu blocks; %d and %d are the most that can be searched",
                       graph->node_count, graph->block_count, WAY_NODES_MOST, WAY_BLOCKS_MOST);
    for (size_t i = 0; i < graph->block_count; i++) {
        const way_block *block = &graph->blocks[i];
        if (block->under >= graph->node_count || block->over >= graph->node_count || block->way < 0 ||
            block->way >= WAYS)
            return cw_fail(err, CW_RANGE, "block %zu names a thing or a way that is not there", i);
    }
    return CW_OK;
}

static cw_status prepare(const way_graph *graph, prepared *p, cw_error *err)
{
    CW_TRY(check_graph(graph, err));
    *p = (prepared){.graph = graph, .words = graph->node_count / 64 + 1};
    p->first = calloc(graph->node_count + 2, sizeof *p->first);
    p->sorted = calloc(graph->block_count + 1, sizeof *p->sorted);
    p->ways = calloc(graph->node_count + 1, sizeof *p->ways);
    if (p->first == NULL || p->sorted == NULL || p->ways == NULL) {
        prepared_free(p);
        return cw_fail(err, CW_MEMORY, "no memory to look for a way in");
    }
    for (size_t i = 0; i < graph->block_count; i++) {
        p->first[graph->blocks[i].under + 2]++;
        if (graph->blocks[i].way > 0)
            p->ways[graph->blocks[i].under] |= 1u << graph->blocks[i].way;
    }
    for (size_t node = 2; node <= graph->node_count; node++)
        p->first[node] += p->first[node - 1];
    for (size_t i = 0; i < graph->block_count; i++)
        p->sorted[p->first[graph->blocks[i].under + 1]++] = graph->blocks[i];
    return CW_OK;
}

static bool way_is_off(const prepared *p, const uint64_t *set, size_t node, int way)
{
    for (size_t i = p->first[node]; i < p->first[node + 1]; i++)
        if (p->sorted[i].way == way && !has(set, p->sorted[i].over))
            return false;
    return true;
}

/* A way of the node whose blocks all lie in the set; 0 when it has no ways, -1 when none is whole yet. */
static int whole_way(const prepared *p, const uint64_t *set, size_t node)
{
    if (p->ways[node] == 0)
        return 0;
    for (int way = 1; way < WAYS; way++)
        if ((p->ways[node] >> way & 1u) != 0 && way_is_off(p, set, node, way))
            return way;
    return -1;
}

/* ---- order ---- */

static bool may_go(const prepared *p, const uint64_t *gone, const uint64_t *set, size_t node)
{
    if (!has(set, node) || has(gone, node) || !way_is_off(p, gone, node, 0))
        return false;
    return whole_way(p, gone, node) >= 0;
}

/* Takes the set apart in order; false when the blocks run in a circle. `gone` is scratch. */
static bool put_in_order(const prepared *p, const uint64_t *set, size_t target, uint64_t *gone, way_set *out)
{
    memset(gone, 0, p->words * sizeof *gone);
    for (size_t done = 0; done < out->count; done++) {
        size_t best = SIZE_MAX;
        for (size_t node = 0; node < p->graph->node_count; node++) {
            if (!may_go(p, gone, set, node) || (node == target && done + 1 < out->count))
                continue;
            if (best == SIZE_MAX || p->graph->rank[node] < p->graph->rank[best])
                best = node;
        }
        if (best == SIZE_MAX)
            return false;
        out->nodes[done] = best;
        add(gone, best);
    }
    return true;
}

/* ---- the search ---- */

typedef struct {
    const prepared *p;
    size_t target;
    size_t tries, count;
    uint64_t *kept; /* WAY_SETS_MOST + 1 sets */
    size_t sizes[WAY_SETS_MOST + 1];
    uint64_t *stack; /* one set for each level of choice */
    size_t levels;
    bool cut, out_of_tries;
} search;

static size_t set_size(const uint64_t *set, size_t words)
{
    size_t size = 0;
    for (size_t i = 0; i < words; i++)
        size += (size_t)__builtin_popcountll(set[i]);
    return size;
}

static bool holds(const uint64_t *outer, const uint64_t *inner, size_t words)
{
    for (size_t i = 0; i < words; i++)
        if ((inner[i] & ~outer[i]) != 0)
            return false;
    return true;
}

/* Adds what way 0 asks for until nothing more is asked. */
static void close_set(const prepared *p, uint64_t *set)
{
    for (bool grew = true; grew;) {
        grew = false;
        for (size_t node = 0; node < p->graph->node_count; node++)
            for (size_t i = p->first[node]; has(set, node) && i < p->first[node + 1]; i++)
                if (p->sorted[i].way == 0 && !has(set, p->sorted[i].over)) {
                    add(set, p->sorted[i].over);
                    grew = true;
                }
    }
}

static uint64_t *kept_set(const search *s, size_t index)
{
    return s->kept + index * s->p->words;
}

static void forget(search *s, size_t index)
{
    size_t behind = s->count - index - 1;
    memmove(kept_set(s, index), kept_set(s, index + 1), behind * s->p->words * sizeof *s->kept);
    memmove(&s->sizes[index], &s->sizes[index + 1], behind * sizeof *s->sizes);
    s->count--;
}

/* Keeps a finished set unless one it contains is there; those that contain it go. Sorted by size. */
static void keep(search *s, const uint64_t *set)
{
    size_t words = s->p->words, size = set_size(set, words), place = 0;
    for (size_t i = 0; i < s->count; i++)
        if (holds(set, kept_set(s, i), words))
            return;
    for (size_t i = s->count; i-- > 0;)
        if (holds(kept_set(s, i), set, words))
            forget(s, i);
    while (place < s->count && s->sizes[place] <= size)
        place++;
    memmove(kept_set(s, place + 1), kept_set(s, place), (s->count - place) * words * sizeof *s->kept);
    memmove(&s->sizes[place + 1], &s->sizes[place], (s->count - place) * sizeof *s->sizes);
    memcpy(kept_set(s, place), set, words * sizeof *set);
    s->sizes[place] = size;
    if (++s->count > WAY_SETS_MOST) {
        s->count = WAY_SETS_MOST;
        s->cut = true;
    }
}

/* The undecided thing with the fewest ways; SIZE_MAX when every thing is settled. */
static size_t next_choice(const prepared *p, const uint64_t *set)
{
    size_t best = SIZE_MAX;
    int fewest = WAYS + 1;
    for (size_t node = 0; node < p->graph->node_count; node++) {
        if (!has(set, node) || whole_way(p, set, node) >= 0)
            continue;
        int ways = __builtin_popcount(p->ways[node]);
        if (ways < fewest) {
            fewest = ways;
            best = node;
        }
    }
    return best;
}

static void choose(search *s, size_t level)
{
    const prepared *p = s->p;
    uint64_t *set = s->stack + level * p->words;
    if (++s->tries > WAY_TRIES_MOST) {
        s->out_of_tries = true;
        return;
    }
    close_set(p, set);
    if (s->count == WAY_SETS_MOST && set_size(set, p->words) >= s->sizes[s->count - 1]) {
        s->cut = true;
        return;
    }
    size_t node = next_choice(p, set);
    if (node == SIZE_MAX || level + 1 >= s->levels) {
        keep(s, set);
        return;
    }
    for (int way = 1; way < WAYS && !s->out_of_tries; way++) {
        if ((p->ways[node] >> way & 1u) == 0)
            continue;
        uint64_t *next = set + p->words;
        memcpy(next, set, p->words * sizeof *set);
        for (size_t i = p->first[node]; i < p->first[node + 1]; i++)
            if (p->sorted[i].way == way)
                add(next, p->sorted[i].over);
        choose(s, level + 1);
    }
}

static cw_status collect(search *s, way_sets *sets, uint64_t *scratch, cw_error *err)
{
    way_sets made = {.complete = !s->cut && !s->out_of_tries, .proven = !s->out_of_tries};
    for (size_t i = 0; i < s->count; i++) {
        way_set *set = &made.sets[i];
        set->count = s->sizes[i];
        set->nodes = calloc(set->count, sizeof *set->nodes);
        made.count++;
        if (set->nodes == NULL) {
            way_sets_free(&made);
            return cw_fail(err, CW_MEMORY, "no memory to look for a way in");
        }
        if (!put_in_order(s->p, kept_set(s, i), s->target, scratch, set)) {
            way_sets_free(&made);
            return cw_fail(err, CW_CONFLICT, "what lies under what runs in a circle; no order works");
        }
    }
    *sets = made;
    return CW_OK;
}

static cw_status run_search(search *s, way_sets *sets, cw_error *err)
{
    const prepared *p = s->p;
    s->levels = 2; /* every level settles one thing that has ways */
    for (size_t node = 0; node < p->graph->node_count; node++)
        s->levels += p->ways[node] != 0;
    s->kept = calloc((WAY_SETS_MOST + 2) * p->words, sizeof *s->kept);
    s->stack = calloc((s->levels + 1) * p->words, sizeof *s->stack);
    cw_status status = CW_OK;
    if (s->kept == NULL || s->stack == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory to look for a way in");
    } else {
        add(s->stack, s->target);
        choose(s, 0);
        status = collect(s, sets, s->stack, err);
    }
    free(s->kept);
    free(s->stack);
    return status;
}

cw_status way_find(const way_graph *graph, size_t target, way_sets *sets, cw_error *err)
{
    prepared p;
    if (target >= graph->node_count)
        return cw_fail(err, CW_RANGE, "thing %zu is not one of %zu", target, graph->node_count);
    CW_TRY(prepare(graph, &p, err));
    search s = {.p = &p, .target = target};
    cw_status status = run_search(&s, sets, err);
    prepared_free(&p);
    return status;
}

void way_sets_free(way_sets *sets)
{
    for (size_t i = 0; i < sets->count; i++)
        free(sets->sets[i].nodes);
    *sets = (way_sets){0};
}

/* ---- circles ---- */

/* Breadth first from `over` along "is under" until `under` is met; `from` says whence each node was reached. */
static bool walk(const prepared *p, size_t under, size_t over, size_t *from, size_t *queue)
{
    size_t head = 0, tail = 0;
    for (size_t i = 0; i < p->graph->node_count; i++)
        from[i] = SIZE_MAX;
    from[over] = over;
    queue[tail++] = over;
    while (head < tail) {
        size_t node = queue[head++];
        if (node == under)
            return true;
        for (size_t i = p->first[node]; i < p->first[node + 1]; i++)
            if (from[p->sorted[i].over] == SIZE_MAX) {
                from[p->sorted[i].over] = node;
                queue[tail++] = p->sorted[i].over;
            }
    }
    return false;
}

cw_status way_circle(const way_graph *graph, size_t under, size_t over, size_t *path, size_t *length, cw_error *err)
{
    prepared p;
    CW_TRY(prepare(graph, &p, err));
    size_t *from = calloc(graph->node_count + 1, sizeof *from), *queue = calloc(graph->node_count + 1, sizeof *queue);
    cw_status status = CW_OK;
    size_t found = 0;
    if (from == NULL || queue == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory to look for a circle");
    } else if (walk(&p, under, over, from, queue)) {
        for (size_t node = under; node != over; node = from[node])
            found++;
        size_t place = found + 1;
        for (size_t node = under; place > 0; node = from[node])
            path[place--] = node;
        path[0] = under;
        found += 2;
    }
    free(from);
    free(queue);
    prepared_free(&p);
    if (status == CW_OK)
        *length = found;
    return status;
}
