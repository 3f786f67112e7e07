/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The person's own materials, in every worksheet that takes a material, a wire or what rubs on what. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/fields.h"

enum { PAIRS_MOST = 64, CHOICES_MOST = 64 };

/* Every choice of a material there is: the sheet, the field, and for a table its column. */
typedef struct {
    const cw_worksheet *sheet;
    const cw_field *field;
    cw_own_use use;
} place;

static size_t every_place(place *places)
{
    size_t count, found = 0;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    for (size_t s = 0; s < count; s++)
        for (size_t i = 0; i < sheets[s]->input_count; i++)
            if (cw_field_takes(&sheets[s]->inputs[i]) != CW_TAKES_NONE) {
                assert_true(found < CHOICES_MOST);
                places[found++] = (place){sheets[s], &sheets[s]->inputs[i], cw_field_takes(&sheets[s]->inputs[i])};
            }
    assert_true(found > 20);
    return found;
}

/* The sheet's example with that field chosen; a measured friction would win over what rubs. */
static void pairs_with(const place *at, const char *chosen, const char **pairs)
{
    size_t used = 0;
    for (const char *const *p = at->sheet->example; p[0] != NULL; p += 2) {
        assert_true(used + 4 < PAIRS_MOST);
        if (at->use == CW_TAKES_FRICTION && strcmp(p[0], "friction") == 0)
            continue;
        pairs[used++] = p[0];
        pairs[used++] = p[1];
    }
    pairs[used++] = at->field->key; /* what comes later counts */
    pairs[used++] = chosen;
    pairs[used] = NULL;
}

static json_t *ran(const cw_worksheet *sheet, cw_sheet_in *in)
{
    cw_error err;
    cw_sheet_out *out = NULL;
    assert_ok(cw_sheet_run(sheet, in, &out, &err), &err);
    json_t *json = cw_sheet_json(sheet, in, out);
    assert_non_null(json);
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
    return json;
}

static json_t *ran_with(const place *at, const char *chosen, const cw_own_materials *own)
{
    const char *pairs[PAIRS_MOST];
    cw_error err;
    cw_sheet_in *in = NULL;
    pairs_with(at, chosen, pairs);
    assert_ok(cw_sheet_in_with(at->sheet, pairs, own, &in, &err), &err);
    return ran(at->sheet, in);
}

/* The entry that says of itself what the program says of `key`. */
static cw_own_material like(const place *at, const char *key)
{
    cw_own_material m = cw_own_material_none();
    m.name = "Bar from the old lathe";
    m.kind = "found";
    m.source = "copied from the table";
    const cw_material *table = cw_material_find(key);
    const cw_friction *rubs = cw_friction_find(key);
    if (at->use == CW_TAKES_MATERIAL) {
        m.yield_pa = table->yield_pa;
        m.elastic_pa = table->elastic_pa;
        m.poisson.value = table->poisson;
        m.expansion_per_k.value = table->expansion_per_k;
    } else if (at->use == CW_TAKES_FRICTION) {
        m.friction = rubs->mu;
    } else {
        m.tensile_pa.value = 1830e6;
        m.elastic_pa.value = 203e9;
        m.shear_pa.value = 78e9;
    }
    return m;
}

/* Outputs without the sentences, in which the material's name stands. */
static json_t *numbers(const json_t *result)
{
    json_t *only = json_object(), *value;
    const char *key;
    json_object_foreach(json_object_get(result, "outputs"), key,
                        value) if (json_is_object(value) && json_object_get(value, "value") != NULL)
        json_object_set(only, key, value);
    return only;
}

static void the_same_figures_give_the_same_result(void **state)
{
    (void)state;
    place places[CHOICES_MOST];
    size_t count = every_place(places);
    for (size_t i = 0; i < count; i++) {
        const place *at = &places[i];
        const char *key = at->field->fallback;
        for (const char *const *p = at->sheet->example; p[0] != NULL; p += 2)
            if (strcmp(p[0], at->field->key) == 0)
                key = p[1];
        if (at->use == CW_TAKES_WIRE)
            continue;
        cw_own_material m = like(at, key);
        cw_own_materials own = {1, &m};
        json_t *table = ran_with(at, key, &own), *mine = ran_with(at, "bar FROM the old lathe", &own);
        json_t *expected = numbers(table), *got = numbers(mine);
        if (!json_equal(got, expected))
            fail_msg("%s, %s: not as with the table's figures", at->sheet->name, at->field->key);
        json_decref(expected);
        json_decref(got);
        json_decref(table);
        json_decref(mine);
    }
}

static const json_t *own_of(const json_t *result)
{
    const json_t *one;
    size_t index;
    json_array_foreach(json_object_get(result, "materials"), index,
                       one) if (json_is_true(json_object_get(one, "own"))) return one;
    return NULL;
}

static void a_kept_result_keeps_its_material(void **state)
{
    (void)state;
    place places[CHOICES_MOST];
    size_t count = every_place(places);
    for (size_t i = 0; i < count; i++) {
        const place *at = &places[i];
        cw_own_material m = like(at, at->field->fallback);
        cw_own_materials own = {1, &m};
        json_t *kept = ran_with(at, m.name, &own);
        const json_t *copy = own_of(kept);
        assert_non_null(copy);
        assert_string_equal(json_string_value(json_object_get(copy, "name")), "Bar from the old lathe");
        assert_string_equal(json_string_value(json_object_get(copy, "kind")), "found");
        assert_string_equal(json_string_value(json_object_get(copy, "source")), "copied from the table");

        cw_sheet_in *in = NULL; /* the bench has no such material any more, or another one */
        cw_error err;
        assert_ok(cw_sheet_in_from_kept(at->sheet, kept, &in, &err), &err);
        json_t *again = ran(at->sheet, in);
        if (!json_equal(again, kept))
            fail_msg("%s, %s: not the same result again", at->sheet->name, at->field->key);
        assert_fails(cw_sheet_in_from_json(at->sheet, json_object_get(kept, "inputs"), &in, &err), CW_INPUT, &err,
                     "nor of your own materials");
        json_decref(again);
        json_decref(kept);
    }
}

static void what_a_sheet_misses_is_named(void **state)
{
    (void)state;
    place places[CHOICES_MOST];
    size_t count = every_place(places);
    for (size_t i = 0; i < count; i++) {
        const place *at = &places[i];
        const char *pairs[PAIRS_MOST];
        cw_own_material m = cw_own_material_none();
        cw_sheet_in *in = NULL;
        cw_sheet_out *out = NULL;
        cw_error err;
        m.name = "lump";
        m.density_kg_m3.value = 7310;
        cw_own_materials own = {1, &m};
        pairs_with(at, "lump", pairs);
        cw_status status = cw_sheet_in_with(at->sheet, pairs, &own, &in, &err);
        if (status == CW_OK) {
            status = cw_sheet_run(at->sheet, in, &out, &err);
            cw_sheet_in_free(in);
        }
        if (status != CW_INPUT || strstr(err.text, "your material \"lump\" has no ") == NULL)
            fail_msg("%s, %s: %s", at->sheet->name, at->field->key, status == CW_OK ? "it ran" : err.text);
    }
}

static void a_table_of_designs_takes_them_too(void **state)
{
    (void)state;
    const cw_worksheet *sheet = cw_worksheet_find("compare-wrenches");
    cw_own_material m = cw_own_material_none();
    m.name = "old saw";
    m.yield_pa.value = 1130e6;
    m.shear_pa.value = 79.3e9;
    m.elastic_pa.value = 204e9;
    cw_own_materials own = {1, &m};
    const char *pairs[] = {"span",  "23.4mm", "slot-width", "1.2mm",   "slot-depth",
                           "0.8mm", "reach",  "6mm",        "designs", "a,1mm,,,,old saw;b,1mm,,,,spring-steel",
                           NULL};
    cw_sheet_in *in = NULL;
    cw_error err;
    char words[400];
    bool is_own = false;
    assert_ok(cw_sheet_in_with(sheet, pairs, &own, &in, &err), &err);
    assert_true(cw_sheet_in_material(in, 1, words, sizeof words, &is_own));
    assert_string_equal(words, "old saw: yield or proof stress 1130 MPa, modulus of elasticity 204 GPa, shear modulus "
                               "79.3 GPa; from: no source noted");
    assert_true(is_own);
    assert_true(cw_sheet_in_material(in, 2, words, sizeof words, &is_own));
    assert_false(is_own);
    assert_false(cw_sheet_in_material(in, 3, words, sizeof words, &is_own));
    json_t *kept = ran(sheet, in);
    assert_int_equal(json_array_size(json_object_get(kept, "materials")), 3); /* the ring's is the first */
    json_decref(kept);
    assert_fails(cw_sheet_in_from_pairs(sheet, pairs, &in, &err), CW_INPUT, &err, "row 1, Steel: \"old saw\"");
}

/* A kept result comes from an archive that anybody may have written. */
static void a_kept_material_that_cannot_be_is_refused(void **state)
{
    (void)state;
    cw_sheet_in *in = NULL;
    cw_error err;
    json_t *result =
        json_loads("{\"inputs\":{\"bar-of\":\"odd\",\"width\":\"3 mm\",\"length\":\"20 mm\"},\"materials\":"
                   "[{\"name\":\"odd\",\"own\":true,\"yield\":{\"value\":-3.0}}]}",
                   0, NULL);
    assert_non_null(result);
    assert_fails(cw_sheet_in_from_kept(cw_worksheet_find("bar-twist"), result, &in, &err), CW_RANGE, &err,
                 "the kept material \"odd\"");
    json_decref(result);
}

CHECK_MAIN(cmocka_unit_test(the_same_figures_give_the_same_result), cmocka_unit_test(a_kept_result_keeps_its_material),
           cmocka_unit_test(what_a_sheet_misses_is_named), cmocka_unit_test(a_table_of_designs_takes_them_too),
           cmocka_unit_test(a_kept_material_that_cannot_be_is_refused))
