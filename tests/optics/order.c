/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The order search against published lenses fallen apart: eight puzzles with known answers, and fresh draws of noise.
 */
#include "optics/order.h"

#include "optics/paraxial.h"
#include "optics/support.h"

#include "optics/shatter.h"

static const char *const every_puzzle[] = {
    "triplet-f5",         "five-element-two-cemented",   "double-gauss-f5",
    "telephoto-f56",      "triplet-textbook-handworked", "four-three-1903",
    "four-meniscus-wide", "retrofocus-four-four",
};

static cw_puzzle load_puzzle(const char *name)
{
    char relative[256], path[4096], *bytes;
    size_t count;
    cw_error err;
    cw_puzzle puzzle;
    snprintf(relative, sizeof relative, "tests/data/lenses/%s.puzzle.json", name);
    check_path(relative, path, sizeof path);
    assert_ok(cw_read_file(path, 1 << 20, &bytes, &count, &err), &err);
    assert_ok(cw_puzzle_from_json(bytes, count, &puzzle, &err), &err);
    free(bytes);
    return puzzle;
}

static cw_order *rank(const cw_puzzle *puzzle, bool thorough)
{
    cw_order_prior prior = cw_order_prior_default();
    cw_order *order;
    cw_error err;
    assert_ok(cw_order_rank(puzzle, &prior, thorough, &order, &err), &err);
    return order;
}

static void assert_same_words(const json_t *a, const json_t *b)
{
    if (!json_equal(a, b))
        fail_msg("%s is not %s", json_dumps(a, JSON_ENCODE_ANY), json_dumps(b, JSON_ENCODE_ANY));
}

/* The answers stand in the puzzle files; the number of arrangements too. */
static void every_reference_puzzle_is_solved(void **state)
{
    (void)state;
    for (size_t i = 0; i < CW_COUNT(every_puzzle); i++) {
        char name[128];
        snprintf(name, sizeof name, "%s.puzzle", every_puzzle[i]);
        json_t *root = load_reference(name), *answer = json_object_get(root, "answer");
        cw_puzzle puzzle = load_puzzle(every_puzzle[i]);
        cw_order *order = rank(&puzzle, false);
        json_t *report = cw_order_json(&puzzle, order);
        const json_t *first = json_array_get(json_object_get(report, "candidates"), 0);
        assert_string_equal(json_string_value(json_object_get(report, "format")), "camerawright.lens-order/1");
        assert_same_words(json_object_get(first, "order"), json_object_get(answer, "order"));
        assert_same_words(json_object_get(first, "turned"), json_object_get(answer, "turned"));
        assert_same_words(json_object_get(first, "spacers"), json_object_get(answer, "spacers"));
        assert_near(real_at(report, "arrangements"), real_at(answer, "arrangements"), 0);
        assert_true(json_is_boolean(json_object_get(report, "decided")));
        assert_true(order->decided || order->next_what[0] != '\0');
        json_decref(report);
        json_decref(root);
        cw_order_free(order);
    }
}

/* 15 lenses in both puzzle forms, eight draws of noise each: the truth is among the first three nearly always, is never
 * contradicted by a "decided", and the stated probability is honest. */
static void fresh_noise_does_not_fool_the_ranking(void **state)
{
    (void)state;
    static const bench_noise forms[2] = {{false, 0.005, 0.02, 0.01, 0.15}, {true, 0.005, 0.02, 0.01, 0.1}};
    int draws = 0, first = 0, three = 0, wrong = 0;
    double stated = 0;
    for (size_t i = 0; i < CW_COUNT(every_lens); i++) {
        cw_lens lens = load_lens(every_lens[i]);
        for (int form = 0; form < (lens.half_field_deg > 0 ? 2 : 1); form++)
            for (uint64_t draw = 0; draw < 8; draw++) {
                check_random random = {0x5eed0000 + 100 * i + draw};
                shattered s = shatter(&lens, &forms[form], &random);
                if (!s.possible)
                    continue;
                cw_order *order = rank(&s.measured, false);
                size_t at = SIZE_MAX;
                double sum = order->none_probability + order->other_probability;
                for (size_t k = 0; k < order->count; k++) {
                    sum += order->candidate[k].probability;
                    if (at == SIZE_MAX && is_truth(&s, &order->candidate[k].what))
                        at = k;
                }
                assert_near(sum, 1, 1e-9);
                draws++;
                first += at == 0;
                three += at < 3;
                wrong += order->decided && at != 0;
                stated += order->candidate[0].probability;
                cw_order_free(order);
            }
    }
    assert_true(draws > 150);
    assert_int_equal(wrong, 0);
    assert_true(three >= draws * 97 / 100);
    /* never more sure of itself than it is right, within the scatter of so many draws */
    assert_true(first + 2 * sqrt(draws) > stated);
}

static void shortcuts_do_not_change_the_ranking(void **state)
{
    (void)state;
    for (size_t i = 0; i < CW_COUNT(every_puzzle); i += 3) {
        cw_puzzle puzzle = load_puzzle(every_puzzle[i]);
        if (puzzle.group_count > 3)
            continue;
        cw_order *quick = rank(&puzzle, false), *thorough = rank(&puzzle, true);
        assert_true(thorough->evaluated_rays >= quick->evaluated_rays);
        for (size_t k = 0; k < quick->count && quick->candidate[k].probability > 1e-9; k++) {
            assert_memory_equal(&quick->candidate[k].what, &thorough->candidate[k].what, sizeof(cw_arrangement));
            assert_near(quick->candidate[k].probability, thorough->candidate[k].probability, 1e-9);
        }
        cw_order_free(quick);
        cw_order_free(thorough);
    }
}

/* The triplet whose outer elements may be exchanged: without diameters it is not decided, and the seats tell. */
static void a_seat_decides_what_light_cannot(void **state)
{
    (void)state;
    cw_puzzle puzzle = load_puzzle("triplet-textbook-handworked");
    puzzle.f_number = NAN; /* so that the beam cannot tell either */
    cw_order *open = rank(&puzzle, false);
    assert_false(open->decided);
    assert_contains(open->next_what, "seat");
    assert_true(open->next_bits > 0.5 && open->next_bits < 2);
    size_t front = open->candidate[0].what.group[0], other = open->candidate[1].what.group[0];
    assert_true(front != other);
    puzzle.place[0].seat_mm = puzzle.group[other].diameter_mm + 0.05;
    cw_order *settled = rank(&puzzle, false);
    for (size_t i = 0; i < settled->count; i++)
        if (settled->candidate[i].what.group[0] != other)
            assert_true(settled->candidate[i].probability < 1e-3);
    assert_int_equal(settled->candidate[0].what.group[0], other);
    assert_string_not_equal(settled->next_what, open->next_what);
    cw_order_free(open);
    cw_order_free(settled);
}

static void what_is_fixed_stays_fixed(void **state)
{
    (void)state;
    cw_puzzle puzzle = load_puzzle("double-gauss-f5");
    puzzle.group[0].position = 0;
    puzzle.group[0].turned = 1;
    puzzle.spacer[1].position = 1;
    cw_order *order = rank(&puzzle, false);
    assert_near(order->arrangements, 6 * 8 * 2, 0);
    for (size_t i = 0; i < order->count; i++) {
        assert_int_equal(order->candidate[i].what.group[0], 0);
        assert_true(order->candidate[i].what.turned[0]);
        assert_int_equal(order->candidate[i].what.spacer[1], 1);
    }
    cw_order_free(order);
}

/* Equal rings and symmetric glass: the same glass in the same place is one candidate. */
static void the_same_glass_in_the_same_place_counts_once(void **state)
{
    (void)state;
    cw_puzzle puzzle = load_puzzle("triplet-f5");
    puzzle.spacer[1] = puzzle.spacer[0];
    snprintf(puzzle.spacer[1].label, sizeof puzzle.spacer[1].label, "other");
    puzzle.group[2].curvature[1].value = -puzzle.group[2].curvature[0].value;
    cw_order *order = rank(&puzzle, false);
    assert_near(order->arrangements, 48, 0);
    assert_near(order->possible, 24, 0);
    for (size_t i = 0; i < order->count; i++)
        for (size_t k = 0; k < i; k++)
            assert_memory_not_equal(&order->candidate[i].what, &order->candidate[k].what, sizeof(cw_arrangement));
    cw_order_free(order);
}

/* The stated uncertainty of focal length and back focus against thousands of lenses made of parts drawn from theirs: a
 * wrong derivative anywhere (gaps through the sags, turned pieces, inner faces) shows here. */
static void uncertainty_of_an_arrangement_is_that_of_its_parts(void **state)
{
    (void)state;
    static const char *const names[] = {"retrofocus-four-four", "four-meniscus-wide", "double-gauss-f5",
                                        "telephoto-f56"};
    check_random random = {60221};
    enum { TRIALS = 4000 };
    for (size_t which = 0; which < CW_COUNT(names); which++) {
        cw_puzzle p = load_puzzle(names[which]), drawn = p;
        cw_order *order = rank(&p, false);
        const cw_order_candidate *c = &order->candidate[0];
        double f2 = 0, b2 = 0;
        for (int trial = 0; trial < TRIALS; trial++) {
            for (size_t g = 0; g < p.group_count; g++) {
                for (size_t i = 0; i <= p.group[g].glasses; i++)
                    drawn.group[g].curvature[i].value =
                        p.group[g].curvature[i].value + p.group[g].curvature[i].u * check_gaussian(&random);
                for (size_t i = 0; i < p.group[g].glasses; i++)
                    drawn.group[g].thickness_mm[i].value =
                        p.group[g].thickness_mm[i].value + p.group[g].thickness_mm[i].u * check_gaussian(&random);
                drawn.spacer[g].length_mm.value =
                    p.spacer[g].length_mm.value + p.spacer[g].length_mm.u * check_gaussian(&random);
            }
            cw_lens lens;
            cw_cardinal cardinal;
            cw_error err;
            assert_ok(cw_order_lens(&drawn, &c->what, &lens, &err), &err);
            assert_ok(cw_lens_cardinal(&lens, CW_LINE_D, &cardinal, &err), &err);
            f2 += pow(cardinal.efl_mm - c->focal_length_mm.value, 2);
            b2 += pow(cardinal.bfl_mm - c->back_focus_mm.value, 2);
        }
        assert_near(sqrt(f2 / TRIALS), c->focal_length_mm.u, 0.06 * c->focal_length_mm.u);
        assert_near(sqrt(b2 / TRIALS), c->back_focus_mm.u, 0.06 * c->back_focus_mm.u);
        cw_order_free(order);
    }
}

/* Parts of another lens: nothing fits, and that is said. */
static void parts_of_another_lens_are_not_believed(void **state)
{
    (void)state;
    cw_puzzle puzzle = load_puzzle("four-three-1903");
    puzzle.focal_length_mm = (cw_quantity){88, 0.9};
    puzzle.back_focus_mm = (cw_quantity){121, 0.1};
    cw_order *order = rank(&puzzle, false);
    assert_false(order->decided);
    assert_true(order->none_probability > 0.9);
    assert_contains(order->warning[order->warning_count - 1], "fits badly");
    cw_order_free(order);
}

/* A single lens: 1/f = (n-1)(c1 - c2 + (n-1) t c1 c2 / n); Monte Carlo of the inputs must agree with the stated u. */
static void index_follows_from_focal_length_with_its_uncertainty(void **state)
{
    (void)state;
    cw_quantity c1 = {1 / 37.4, 0.005 / 37.4}, c2 = {-1 / 341.48, 0.005 / 341.48}, t = {5.9, 0.02};
    cw_quantity f = {55.34140799, 0.55},
                n; /* the triplet's first element in tests/data/lenses, by a library: 1.61272 */
    cw_error err;
    assert_ok(cw_index_from_focal_length(c1, c2, t, f, &n, &err), &err);
    assert_near(n.value, 1.61272, 1e-8);
    check_random random = {4711};
    double sum = 0, squares = 0;
    enum { TRIALS = 4000 };
    for (int i = 0; i < TRIALS; i++) {
        cw_quantity a = {c1.value + c1.u * check_gaussian(&random), 0},
                    b = {c2.value + c2.u * check_gaussian(&random), 0};
        cw_quantity d = {t.value + t.u * check_gaussian(&random), 0}, g = {f.value + f.u * check_gaussian(&random), 0},
                    m;
        assert_ok(cw_index_from_focal_length(a, b, d, g, &m, &err), &err);
        sum += m.value;
        squares += (m.value - n.value) * (m.value - n.value);
    }
    assert_near(sqrt(squares / TRIALS), n.u, 0.06 * n.u);
    f.value = -55;
    assert_fails(cw_index_from_focal_length(c1, c2, t, f, &n, &err), CW_RANGE, &err, "no glass between");
}

/* Indices left out and focal lengths given instead: the same answer. */
static void unknown_glass_is_carried_by_its_focal_length(void **state)
{
    (void)state;
    cw_puzzle puzzle = load_puzzle("four-three-1903");
    /* group B is the cemented pair: by a library f 91.967, focal distances 92.465 and 87.777 mm, here turned */
    cw_loose_group *pair = &puzzle.group[1];
    pair->inside_known = false;
    pair->n_d[0].value = pair->n_d[1].value = NAN;
    pair->focal_length_mm = (cw_quantity){91.967, 0.5};
    pair->front_focus_mm = (cw_quantity){92.465, 0.3};
    pair->back_focus_mm = (cw_quantity){87.777, 0.3};
    cw_order *order = rank(&puzzle, false);
    assert_true(isnan(order->candidate[0].spot_axis_mm));
    assert_int_equal(order->candidate[0].what.group[0], 0);
    assert_int_equal(order->candidate[0].what.group[1], 2);
    assert_true(order->candidate[0].what.turned[2]);
    assert_contains(order->warning[0], "inside a cemented piece");
    cw_order_free(order);
}

static void six_loose_groups_are_all_tried(void **state)
{
    (void)state;
    cw_puzzle p = {.group_count = 6,
                   .focal_length_mm = {55, 0.5},
                   .back_focus_mm = {35, 0.1},
                   .f_number = 4,
                   .half_field_deg = NAN};
    static const double radii[6][2] = {{40, -60}, {-45, 38}, {70, -50}, {-80, 45}, {55, -90}, {120, -40}};
    for (size_t i = 0; i < 6; i++) {
        p.group[i] = (cw_loose_group){.glasses = 1,
                                      .diameter_mm = 20,
                                      .position = SIZE_MAX,
                                      .turned = -1,
                                      .inside_known = true,
                                      .focal_length_mm = {NAN, NAN},
                                      .front_focus_mm = {NAN, NAN},
                                      .back_focus_mm = {NAN, NAN}};
        p.group[i].label[0] = (char)('A' + i);
        for (int k = 0; k < 2; k++)
            p.group[i].curvature[k] = (cw_quantity){1 / radii[i][k], 0.005 / fabs(radii[i][k])};
        p.group[i].thickness_mm[0] = (cw_quantity){3 + 0.3 * (double)i, 0.02};
        p.group[i].n_d[0] = (cw_quantity){1.52 + 0.03 * (double)i, 0};
        p.spacer[i] = (cw_spacer){
            .label = {'s', (char)('1' + i)}, .length_mm = {5, 0.02}, .contact_mm = 19, .position = SIZE_MAX};
        p.place[i] = (cw_barrel_place){NAN, NAN};
    }
    cw_order *order = rank(&p, false);
    assert_near(order->arrangements, 46080, 0);
    assert_near(order->possible, 46080, 0);
    cw_order_free(order);
}

CHECK_MAIN(cmocka_unit_test(every_reference_puzzle_is_solved), cmocka_unit_test(fresh_noise_does_not_fool_the_ranking),
           cmocka_unit_test(shortcuts_do_not_change_the_ranking), cmocka_unit_test(a_seat_decides_what_light_cannot),
           cmocka_unit_test(what_is_fixed_stays_fixed), cmocka_unit_test(the_same_glass_in_the_same_place_counts_once),
           cmocka_unit_test(uncertainty_of_an_arrangement_is_that_of_its_parts),
           cmocka_unit_test(parts_of_another_lens_are_not_believed),
           cmocka_unit_test(index_follows_from_focal_length_with_its_uncertainty),
           cmocka_unit_test(unknown_glass_is_carried_by_its_focal_length),
           cmocka_unit_test(six_loose_groups_are_all_tried))
