/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/step.h"
#include "notebook/store.h"
#include "notebook/way.h"
#include "notebook/way_find.h"

/* ---- the search alone ---- */

enum { SMALL = 11 };

/* A random graph without circles: blocks run from lower to higher nodes only, so the target is node 0. */
static size_t random_blocks(check_random *random, size_t nodes, way_block *blocks)
{
    size_t count = 0;
    for (size_t under = 0; under < nodes; under++)
        for (size_t over = under + 1; over < nodes; over++) {
            double dice = check_uniform(random);
            if (dice < 0.12)
                blocks[count++] = (way_block){under, over, 0};
            else if (dice < 0.42)
                blocks[count++] = (way_block){under, over, 1 + (int)(check_uniform(random) * 3)};
        }
    return count;
}

/* By the definition, bit by bit: with each thing everything of way 0, and of one other way if it has any. */
static bool is_closed(unsigned set, size_t nodes, const way_block *blocks, size_t count)
{
    for (size_t node = 0; node < nodes; node++) {
        if ((set >> node & 1) == 0)
            continue;
        unsigned ways = 0, broken = 0;
        for (size_t i = 0; i < count; i++)
            if (blocks[i].under == node) {
                ways |= 1u << blocks[i].way;
                if ((set >> blocks[i].over & 1) == 0)
                    broken |= 1u << blocks[i].way;
            }
        if ((broken & 1) != 0 || ((ways & ~1u) != 0 && (ways & ~1u & ~broken) == 0))
            return false;
    }
    return true;
}

/* Every minimal closed set that holds node 0, by trying all subsets. */
static size_t enumerate_minimal(size_t nodes, const way_block *blocks, size_t count, unsigned *minimal)
{
    size_t found = 0;
    for (size_t size = 1; size <= nodes; size++)
        for (unsigned set = 1; set < 1u << nodes; set += 2) {
            if ((size_t)__builtin_popcount(set) != size || !is_closed(set, nodes, blocks, count))
                continue;
            bool holds_smaller = false;
            for (size_t i = 0; i < found; i++)
                holds_smaller |= (minimal[i] & ~set) == 0;
            if (!holds_smaller)
                minimal[found++] = set;
        }
    return found;
}

/* Taking the things off one by one, every moment's set of things gone must be closed. */
static unsigned check_order(const way_set *set, size_t nodes, const way_block *blocks, size_t count)
{
    unsigned gone = 0;
    for (size_t i = 0; i < set->count; i++) {
        assert_true(set->nodes[i] < nodes && (gone >> set->nodes[i] & 1) == 0);
        gone |= 1u << set->nodes[i];
        assert_true(is_closed(gone, nodes, blocks, count));
    }
    assert_int_equal(set->nodes[set->count - 1], 0);
    return gone;
}

static void ways_are_those_of_exhaustive_enumeration(void **state)
{
    (void)state;
    cw_error err;
    check_random random = {.state = 3011};
    static unsigned minimal[1 << SMALL];
    size_t several = 0;
    for (int round = 0; round < 400; round++) {
        size_t nodes = 3 + (size_t)round % (SMALL - 2);
        way_block blocks[SMALL * SMALL];
        int64_t rank[SMALL];
        size_t count = random_blocks(&random, nodes, blocks);
        for (size_t i = 0; i < nodes; i++)
            rank[i] = (int64_t)(check_uniform(&random) * 5);
        way_graph graph = {nodes, blocks, count, rank};
        way_sets sets;
        assert_ok(way_find(&graph, 0, &sets, &err), &err);
        size_t truth = enumerate_minimal(nodes, blocks, count, minimal);
        assert_true(sets.proven);
        assert_true(sets.count >= 1 && sets.count <= truth);
        assert_int_equal(sets.sets[0].count, __builtin_popcount(minimal[0]));
        if (sets.complete)
            assert_int_equal(sets.count, truth);
        for (size_t i = 0; i < sets.count; i++) {
            unsigned set = check_order(&sets.sets[i], nodes, blocks, count);
            bool is_one = false;
            for (size_t j = 0; j < truth; j++)
                is_one |= minimal[j] == set;
            assert_true(is_one || !sets.complete);
            assert_true(i == 0 || sets.sets[i].count >= sets.sets[i - 1].count);
        }
        several += truth > 1;
        way_sets_free(&sets);
    }
    assert_true(several > 100); /* the graphs did offer alternatives */
}

/* networkx (Debian python3-networkx) on graphs without alternatives: what must come off is what the library calls the
 * ancestors, and the order is a topological one. The first graph is the 11-task precedence example of J. R. Jackson,
 * "A Computing Procedure for a Line Balancing Problem", 1956 (its arcs from memory); the others are random. */
static void precedence_agrees_with_a_graph_library(void **state)
{
    static const int jackson[][2] = {{1, 2}, {1, 3}, {1, 4}, {1, 5},  {2, 6},  {3, 7},  {4, 7},
                                     {5, 7}, {6, 8}, {7, 9}, {8, 10}, {9, 11}, {10, 11}};
    static const char script[] =
        "import sys, networkx as nx\n"
        "cases = 0\n"
        "for line in open(sys.argv[1]):\n"
        "    edges, order = [[t for t in part.split()] for part in line.split('|')]\n"
        "    g = nx.DiGraph(); g.add_nodes_from(order); g.add_edges_from(e.split('-') for e in edges)\n"
        "    assert set(order) == nx.ancestors(g, order[-1]) | {order[-1]}, line\n"
        "    at = {n: i for i, n in enumerate(order)}\n"
        "    assert all(at[a] < at[b] for a, b in g.subgraph(order).edges), line\n"
        "    cases += 1\n"
        "print(cases)\n";
    bench_box *box = *state;
    cw_error *err = &box->err;
    check_random random = {.state = 17};
    char path[600], program[600], command[1300], said[20] = "";
    snprintf(path, sizeof path, "%s/orders.txt", box->scratch);
    snprintf(program, sizeof program, "%s/check.py", box->scratch);
    FILE *file = fopen(path, "w"), *python = fopen(program, "w");
    fputs(script, python);
    fclose(python);
    int cases = 0;
    for (int round = 0; round < 60; round++) {
        size_t nodes = round == 0 ? 12 : 20 + (size_t)round, count = 0;
        way_block blocks[400];
        int64_t rank[100] = {0};
        if (round == 0)
            for (; count < CW_COUNT(jackson); count++)
                blocks[count] = (way_block){(size_t)jackson[count][1], (size_t)jackson[count][0], 0};
        else
            for (size_t i = 0; i < nodes * 2; i++) {
                size_t a = (size_t)(check_uniform(&random) * (double)nodes);
                size_t b = (size_t)(check_uniform(&random) * (double)nodes);
                if (a != b)
                    blocks[count++] = (way_block){a < b ? a : b, a < b ? b : a, 0};
            }
        way_graph graph = {nodes, blocks, count, rank};
        for (size_t target = 1; target < nodes; target += 3) {
            way_sets sets;
            assert_ok(way_find(&graph, target, &sets, err), err);
            assert_int_equal(sets.count, 1);
            assert_true(sets.complete);
            for (size_t i = 0; i < count; i++)
                fprintf(file, "%zu-%zu ", blocks[i].over, blocks[i].under);
            fputc('|', file);
            for (size_t i = 0; i < sets.sets[0].count; i++)
                fprintf(file, " %zu", sets.sets[0].nodes[i]);
            fputc('\n', file);
            way_sets_free(&sets);
            cases++;
        }
    }
    fclose(file);
    snprintf(command, sizeof command, "/usr/bin/python3 '%s' '%s'", program, path);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    assert_non_null(fgets(said, sizeof said, pipe));
    assert_int_equal(pclose(pipe), 0);
    assert_int_equal(strtol(said, NULL, 10), cases);
}

/* Four things over the target, each with two ways in of its own: sixteen minimal sets of nine things. */
static void more_ways_than_are_shown_is_said(void **state)
{
    (void)state;
    cw_error err;
    way_block blocks[12];
    int64_t rank[13] = {0};
    for (size_t i = 0; i < 4; i++) {
        blocks[3 * i] = (way_block){0, 1 + 3 * i, 0};
        blocks[3 * i + 1] = (way_block){1 + 3 * i, 2 + 3 * i, 1};
        blocks[3 * i + 2] = (way_block){1 + 3 * i, 3 + 3 * i, 2};
    }
    way_graph graph = {13, blocks, 12, rank};
    way_sets sets;
    assert_ok(way_find(&graph, 0, &sets, &err), &err);
    assert_int_equal(sets.count, WAY_SETS_MOST);
    assert_false(sets.complete);
    assert_true(sets.proven);
    for (size_t i = 0; i < sets.count; i++)
        assert_int_equal(sets.sets[i].count, 9);
    way_sets_free(&sets);
}

static void a_hopeless_number_of_ways_is_cut_and_said(void **state)
{
    (void)state;
    cw_error err;
    enum { LAYERS = 60, WIDTH = 8, NODES = 1 + LAYERS * WIDTH };
    static way_block blocks[NODES * 64];
    static int64_t rank[NODES];
    size_t count = 0;
    /* Every layer can be left by eight ways of two things each. */
    for (size_t node = 0; node + 2 * WIDTH < NODES; node++)
        for (int way = 1; way <= 8; way++)
            for (size_t k = 0; k < 2; k++)
                blocks[count++] = (way_block){node, node + 1 + ((size_t)way * 5 + k * 3 + node) % (2 * WIDTH - 1), way};
    way_graph graph = {NODES, blocks, count, rank};
    way_sets sets;
    assert_ok(way_find(&graph, 0, &sets, &err), &err);
    assert_true(sets.count >= 1);
    assert_false(sets.complete && sets.proven);
    way_sets_free(&sets);
    assert_fails(way_find(&graph, NODES, &sets, &err), CW_RANGE, &err, "is not one of");
    graph.node_count = 3;
    assert_fails(way_find(&graph, 0, &sets, &err), CW_RANGE, &err, "not there");
}

/* ---- on the bench ---- */

static int64_t under(bench_box *box, int64_t job_id, const char *below, const char *above, int way)
{
    int64_t a, b, id = 0;
    assert_ok(cw_thing_named(box->bench, job_id, below, &a, &box->err), &box->err);
    assert_ok(cw_thing_named(box->bench, job_id, above, &b, &box->err), &box->err);
    assert_ok(cw_block_add(box->bench, a, b, way, &id, &box->err), &box->err);
    return id;
}

static void names_in_order(const cw_way *way, char out[400])
{
    out[0] = '\0';
    for (size_t i = 0; i < way->count; i++)
        snprintf(out + strlen(out), 400 - strlen(out), "%s%s", i == 0 ? "" : " > ", way->items[i].name);
}

static void a_circle_is_refused_and_named(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Tarnbrook 35"), top, knob, gear, id;
    under(box, job_id, "Winding gear", "Top cover", 0);
    under(box, job_id, "Top cover", "Rewind knob", 2);
    assert_ok(cw_thing_named(box->bench, job_id, "top  COVER", &top, &box->err), &box->err);
    assert_ok(cw_thing_named(box->bench, job_id, "rewind knob", &knob, &box->err), &box->err);
    assert_ok(cw_thing_named(box->bench, job_id, "winding gear", &gear, &box->err), &box->err);
    assert_fails(
        cw_block_add(box->bench, knob, gear, 0, &id, &box->err), CW_CONFLICT, &box->err,
        "\"Rewind knob\" is under \"Winding gear\", which is under \"Top cover\", which is under \"Rewind knob\"");
    assert_fails(cw_block_add(box->bench, knob, knob, 0, &id, &box->err), CW_CONFLICT, &box->err,
                 "\"Rewind knob\" is under \"Rewind knob\"");
    assert_fails(cw_block_add(box->bench, gear, top, 0, &id, &box->err), CW_CONFLICT, &box->err, "noted already");
    assert_fails(cw_block_add(box->bench, gear, top, 9, &id, &box->err), CW_INPUT, &box->err, "no way 9");
    int64_t other = box_job(box, "Ellory Reflex"), foreign;
    assert_ok(cw_thing_named(box->bench, other, "mirror", &foreign, &box->err), &box->err);
    assert_fails(cw_block_add(box->bench, gear, foreign, 0, &id, &box->err), CW_INPUT, &box->err, "different jobs");
    cw_block_list list;
    assert_ok(cw_block_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_string_equal(list.items[1].over, "Rewind knob");
    assert_int_equal(list.items[1].way, 2);
    cw_block_list_free(&list);
    assert_ok(cw_thing_delete(box->bench, top, &box->err), &box->err);
    assert_ok(cw_block_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 0);
    cw_block_list_free(&list);
    assert_ok(cw_undo(box->bench, job_id, NULL, &box->err), &box->err);
    assert_ok(cw_block_page(box->bench, job_id, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    cw_block_list_free(&list);
}

static void two_ways_in_are_both_shown_shortest_first(void **state)
{
    bench_box *box = *state;
    int64_t job_id = box_job(box, "Ellory Reflex"), step_id, knob;
    cw_way_list list;
    char names[400];
    under(box, job_id, "shutter", "front plate", 1);
    under(box, job_id, "front plate", "lens", 0);
    under(box, job_id, "front plate", "leather", 0);
    under(box, job_id, "shutter", "pressure plate", 2);
    under(box, job_id, "shutter", "tension screw", 0);
    under(box, job_id, "tension screw", "bottom cover", 0);
    cw_step step = {.job_id = job_id, .title = "Bottom cover off", .state = CW_STEP_DONE, .duration_s = NAN};
    assert_ok(cw_step_add(box->bench, &step, 0, &step_id, &box->err), &box->err);
    assert_ok(cw_thing_named(box->bench, job_id, "bottom cover", &knob, &box->err), &box->err);
    cw_thing thing = {.id = knob, .name = "Bottom cover", .step_id = step_id};
    assert_ok(cw_thing_update(box->bench, &thing, &box->err), &box->err);

    assert_ok(cw_way_in(box->bench, job_id, "SHUTTER", &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_true(list.complete && list.proven);
    names_in_order(&list.items[0], names);
    assert_string_equal(names, "Bottom cover > pressure plate > tension screw > shutter");
    assert_int_equal(list.items[0].items[0].step_id, step_id);
    assert_true(list.items[0].items[0].is_off);
    assert_false(list.items[0].items[1].is_off);
    assert_int_equal(list.items[1].count, 6);
    names_in_order(&list.items[1], names);
    assert_contains(names, "front plate");
    cw_way_list_free(&list);
    assert_fails(cw_way_in(box->bench, job_id, "shuter", &list, &box->err), CW_NOT_FOUND, &box->err,
                 "there is \"shutter\"");
    assert_fails(cw_way_in(box->bench, job_id, "  ", &list, &box->err), CW_INPUT, &box->err, "what is to be reached");
    assert_ok(cw_way_in(box->bench, job_id, "lens", &list, &box->err), &box->err);
    assert_int_equal(list.items[0].count, 1);
    assert_contains(list.told, "Nothing is recorded that lies over it");
    cw_way_list_free(&list);
}

static void earlier_jobs_of_the_same_camera_lead_the_way(void **state)
{
    bench_box *box = *state;
    int64_t first = box_job(box, "Tarnbrook 35"), second = box_job(box, "tarnbrook  35"), stranger;
    cw_way_list list;
    char names[400];
    under(box, first, "meter cell", "old window", 0);
    under(box, first, "rewind crank", "crank screw", 0);
    under(box, second, "meter cell", "top cover", 0);
    under(box, second, "top cover", "rewind crank", 0);
    stranger = box_job(box, "Ellory Reflex");
    under(box, stranger, "meter cell", "prism", 0);
    int64_t here = box_job(box, "Tarnbrook 35");
    assert_ok(cw_way_in(box->bench, here, "Meter cell", &list, &box->err), &box->err);
    names_in_order(&list.items[0], names);
    /* The newest record of each thing counts: the window of the first job is not asked for. */
    assert_string_equal(names, "crank screw > rewind crank > top cover > meter cell");
    assert_contains(list.told, "leans on earlier jobs");
    assert_int_equal(list.items[0].items[3].job_id, second);
    cw_way_list_free(&list);
    /* A newer record that contradicts it: left out, and told. */
    under(box, here, "crank screw", "meter cell", 0);
    assert_ok(cw_way_in(box->bench, here, "meter cell", &list, &box->err), &box->err);
    assert_contains(list.told, "contradicts");
    assert_int_equal(list.items[0].count, 4);
    cw_way_list_free(&list);
    assert_ok(cw_way_in_camera(box->bench, "Ellory Reflex", "meter cell", &list, &box->err), &box->err);
    names_in_order(&list.items[0], names);
    assert_string_equal(names, "prism > meter cell");
    cw_way_list_free(&list);
}

static void a_plan_takes_the_blocks_along(void **state)
{
    bench_box *box = *state;
    int64_t first = box_job(box, "Tarnbrook 35"), planned;
    under(box, first, "shutter", "lens", 1);
    under(box, first, "shutter", "back", 2);
    assert_ok(cw_job_plan(box->bench, first, "", "", "", &planned, &box->err), &box->err);
    cw_block_list list;
    assert_ok(cw_block_page(box->bench, planned, &list, &box->err), &box->err);
    assert_int_equal(list.count, 2);
    assert_string_equal(list.items[0].under, "shutter");
    assert_int_equal(list.items[0].way + list.items[1].way, 3);
    cw_block_list_free(&list);
}

static void letters_apart(void **state)
{
    (void)state;
    assert_int_equal(store_distance("escapement", "escapement", 2, false), 0);
    assert_int_equal(store_distance("escapment", "escapement", 2, false), 1);
    assert_int_equal(store_distance("govenror", "governor", 2, false), 1);
    assert_int_equal(store_distance("für", "fur", 2, false), 1);
    assert_int_equal(store_distance("shutter", "camera", 2, false), 3);
    assert_int_equal(store_distance("escapm", "escapement", 1, true), 1);
    assert_int_equal(store_distance("", "ab", 2, false), 2);
    assert_int_equal(store_distance("abcd", "", 2, false), 3);
}

CHECK_MAIN(cmocka_unit_test(ways_are_those_of_exhaustive_enumeration), BOX_TEST(precedence_agrees_with_a_graph_library),
           cmocka_unit_test(more_ways_than_are_shown_is_said),
           cmocka_unit_test(a_hopeless_number_of_ways_is_cut_and_said), BOX_TEST(a_circle_is_refused_and_named),
           BOX_TEST(two_ways_in_are_both_shown_shortest_first), BOX_TEST(earlier_jobs_of_the_same_camera_lead_the_way),
           BOX_TEST(a_plan_takes_the_blocks_along), cmocka_unit_test(letters_apart))
