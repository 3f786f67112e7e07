/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two designs beside each other: what differs is found, and the stronger and stiffer one is told by the law it obeys.
 */
#include "worksheets/compare.h"

#include <math.h>
#include <string.h>

#include "support/check.h"

enum { PAIRS_MOST = 64 };

typedef struct {
    const cw_worksheet *sheet;
    cw_sheet_in *in;
    cw_sheet_out *out;
} design;

static design example_with(const char *name, const char *key, const char *value)
{
    design d = {cw_worksheet_find(name), NULL, NULL};
    const char *pairs[PAIRS_MOST];
    size_t used = 0;
    cw_error err;
    assert_non_null(d.sheet);
    for (const char *const *p = d.sheet->example; p[0] != NULL && used + 4 < PAIRS_MOST; p += 2) {
        pairs[used++] = p[0];
        pairs[used++] = p[1];
    }
    pairs[used++] = key; /* NULL ends it here: the example itself */
    pairs[used++] = value;
    pairs[used] = NULL;
    assert_ok(cw_sheet_in_from_pairs(d.sheet, pairs, &d.in, &err), &err);
    assert_ok(cw_sheet_run(d.sheet, d.in, &d.out, &err), &err);
    return d;
}

static void forget(design *d)
{
    cw_sheet_out_free(d->out);
    cw_sheet_in_free(d->in);
}

/* The laws of beams, bars and springs say which way each goes (Shigley; Timoshenko and Goodier): thicker is stronger
 * and stiffer, longer winds up further, a rate goes with the fourth power of the wire. */
static void the_better_design_is_told(void **state)
{
    (void)state;
    static const struct {
        const char *sheet, *key, *value, *output;
        int better;
        double ratio; /* 0: not known beforehand */
    } rows[] = {
        {"flat-wrench", "plate", "3mm", "torque-most", 1, 0},
        {"flat-wrench", "plate", "3mm", "wind-up", 1, 0},
        {"pin-driver", "steel", "mild-steel", "torque-most", 0, 0},
        {"pin-driver", "steel", "aluminium-soft", "wind-up", 0, 0},
        {"split-collar", "rod", "20mm", "handle-most", 1, 0},
        {"split-collar", "rod", "20mm", "wind-up", 1, 0},
        {"split-collar", "friction", "0.1", "torque-most", 0, 0},
        {"friction-ring", "friction", "0.1", "torque-most", 0, 0},
        {"friction-ring", "rubber", "6mm", "wind-up", 0, 0},
        {"clamp-block", "friction", "0.1", "torque-most", 0, 0},
        {"clamp-block", "board-of", "hardwood", "screw-most", 1, 60 / 34.1}, /* as the two bend */
        {"bar-twist", "length", "130mm", "wind-up", 0, 0},
        {"bar-twist", "bar-of", "mild-steel", "torque-most", 0, 440.0 / 250},
        {"driver-tip", "tip-of", "mild-steel", "tip-torque", 0, 1500.0 / 250},
        {"pin-strength", "pin-of", "brass-soft", "yields-at", 0, 0},
        {"staked-pin", "friction", "0.02", "holding", 0, 0},
        {"staked-pin", "pin-of", "brass-soft", "pull-out", 0, 0},
        {"press-fit", "length", "30mm", "holds", 1, 0},
        {"press-fit", "hub-of", "brass-soft", "reserve", 0, 44.0 / 23},
        {"press-fit", "pin-of", "brass-soft", "pin-reserve", 0, 0},
        {"gear-strength", "gear-of", "brass-soft", "torque-most", 0, 0},
        {"coil-spring", "wire-of", "stainless", "rate", 0, 12.0 / 10}, /* as the shear moduli, Shigley, table 10-5 */
        {"torsion-spring", "turns", "8.5", "rate", 0, 0},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        design a = example_with(rows[i].sheet, NULL, NULL), b = example_with(rows[i].sheet, rows[i].key, rows[i].value);
        cw_sheet_ranking rankings[CW_RANKINGS_MOST];
        size_t count = cw_sheet_rank(a.sheet, a.out, b.out, rankings), k = 0;
        while (k < count && strcmp(rankings[k].output->key, rows[i].output) != 0)
            k++;
        if (k == count)
            fail_msg("%s does not rank by %s", rows[i].sheet, rows[i].output);
        if (rankings[k].better != rows[i].better)
            fail_msg("%s, %s = %s: by %s the better is %d", rows[i].sheet, rows[i].key, rows[i].value, rows[i].output,
                     rankings[k].better);
        assert_true(rankings[k].ratio > 1);
        if (rows[i].ratio > 0)
            assert_near(rankings[k].ratio, rows[i].ratio, 1e-6 * rows[i].ratio);
        forget(&a);
        forget(&b);
    }
}

static void alike_is_alike(void **state)
{
    (void)state;
    design a = example_with("flat-wrench", NULL, NULL), b = example_with("flat-wrench", "span", "2.34cm");
    cw_sheet_ranking rankings[CW_RANKINGS_MOST];
    char words[200];
    assert_int_equal(cw_sheet_rank(a.sheet, a.out, b.out, rankings), 2);
    assert_int_equal(rankings[0].better, -1);
    cw_sheet_ranking_words(&rankings[0], "this", "that", words, sizeof words);
    assert_string_equal(words, "stronger by \"Torque it passes\": neither, they are alike");
    for (size_t i = 0; i < a.sheet->input_count; i++)
        assert_false(cw_sheet_input_differs(a.in, b.in, &a.sheet->inputs[i]));
    forget(&a);
    forget(&b);
}

static void overlapping_intervals_are_said(void **state)
{
    (void)state;
    design a = example_with("flat-wrench", NULL, NULL), near = example_with("flat-wrench", "plate", "2.1mm"),
           far = example_with("flat-wrench", "plate", "3.5mm");
    cw_sheet_ranking rankings[CW_RANKINGS_MOST];
    char words[200];
    cw_sheet_rank(a.sheet, a.out, near.out, rankings);
    assert_true(rankings[1].overlap);
    cw_sheet_ranking_words(&rankings[1], "this", "that", words, sizeof words);
    assert_contains(words, "stiffer by \"Wind-up\": that, 1.");
    assert_contains(words, "; the uncertainties overlap");
    cw_sheet_rank(a.sheet, a.out, far.out, rankings);
    assert_false(rankings[1].overlap);
    forget(&a);
    forget(&near);
    forget(&far);
}

static void what_differs_is_named(void **state)
{
    (void)state;
    design a = example_with("compare-wrenches", NULL, NULL),
           b = example_with(
               "compare-wrenches", "designs",
               "steel rule,1mm,,,,spring-steel;gauge plate,2mm,,,,tool-steel-annealed;mild strip,3mm,,,,hardwood"),
           c = example_with("compare-wrenches", "reach", "7mm");
    json_t *ab = cw_sheet_compare_json(a.sheet, a.in, a.out, b.in, b.out),
           *ac = cw_sheet_compare_json(a.sheet, a.in, a.out, c.in, c.out);
    assert_string_equal(json_string_value(json_array_get(json_object_get(ab, "differs"), 0)), "designs");
    assert_int_equal(json_array_size(json_object_get(ab, "differs")), 1);
    assert_string_equal(json_string_value(json_array_get(json_object_get(ac, "differs"), 0)), "reach");
    assert_int_equal(json_array_size(json_object_get(ac, "designs")), 2);
    json_decref(ab);
    json_decref(ac);
    forget(&a);
    forget(&b);
    forget(&c);
}

/* One name, two entries: what was kept before the entry was changed, against today's. */
static void a_changed_material_differs(void **state)
{
    (void)state;
    const cw_worksheet *sheet = cw_worksheet_find("bar-twist");
    const char *pairs[] = {"width", "3mm", "length", "20mm", "bar-of", "old saw", NULL};
    cw_own_material was = cw_own_material_none(), is;
    was.name = "old saw";
    was.yield_pa.value = 1130e6;
    was.shear_pa.value = 79.3e9;
    is = was;
    is.shear_pa.value = 77.1e9;
    design a = {sheet, NULL, NULL}, b = a, c = a;
    cw_error err;
    assert_ok(cw_sheet_in_with(sheet, pairs, &(cw_own_materials){1, &was}, &a.in, &err), &err);
    assert_ok(cw_sheet_in_with(sheet, pairs, &(cw_own_materials){1, &is}, &b.in, &err), &err);
    assert_ok(cw_sheet_in_with(sheet, pairs, &(cw_own_materials){1, &was}, &c.in, &err), &err);
    for (size_t i = 0; i < sheet->input_count; i++) {
        assert_int_equal(cw_sheet_input_differs(a.in, b.in, &sheet->inputs[i]),
                         strcmp(sheet->inputs[i].key, "bar-of") == 0);
        assert_false(cw_sheet_input_differs(a.in, c.in, &sheet->inputs[i]));
    }
    forget(&a);
    forget(&b);
    forget(&c);
}

CHECK_MAIN(cmocka_unit_test(the_better_design_is_told), cmocka_unit_test(alike_is_alike),
           cmocka_unit_test(overlapping_intervals_are_said), cmocka_unit_test(what_differs_is_named),
           cmocka_unit_test(a_changed_material_differs))
