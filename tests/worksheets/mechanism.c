/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mechanism itself, on a sheet made for this test: what is declared is checked, what is not declared is refused. */
#include <math.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/worksheet.h"

static const cw_choice steels[] = {{"mild", "Mild steel"}, {"tool", "Tool steel"}, {NULL, NULL}};
static const cw_field pair_columns[] = {
    {.key = "true", .label = "True distance", .dimension = CW_LENGTH, .unit = "m", .required = true},
    {.key = "shown", .label = "Shown distance", .dimension = CW_LENGTH, .unit = "m", .required = true},
};
static const cw_field inputs[] = {
    {.key = "span",
     .label = "Span",
     .dimension = CW_LENGTH,
     .unit = "mm",
     .required = true,
     .least = 2e-3,
     .most = 0.2},
    {.key = "steel", .label = "Steel", .kind = CW_KIND_CHOICE, .choices = steels, .fallback = "mild"},
    {.key = "remark", .label = "Remark", .kind = CW_KIND_TEXT},
    {.key = "pairs",
     .label = "Pairs",
     .kind = CW_KIND_ROWS,
     .columns = pair_columns,
     .column_count = 2,
     .rows_most = 3},
};
static const cw_field out_columns[] = {{.key = "sum", .label = "Sum", .dimension = CW_LENGTH, .unit = "m"}};
static const cw_field outputs[] = {
    {.key = "half", .label = "Half", .dimension = CW_LENGTH, .unit = "mm", .required = true, .figures = 4},
    {.key = "fits", .label = "Fits", .kind = CW_KIND_VERDICT},
    {.key = "sums", .label = "Sums", .kind = CW_KIND_ROWS, .columns = out_columns, .column_count = 1},
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    (void)err;
    double span = cw_in_number(in, "span");
    if (cw_in_is(in, "remark", "slip"))
        cw_in_number(in, "no-such-field");
    cw_out_quantity(
        out, "half",
        (cw_quantity){cw_in_is(in, "remark", "nan") ? NAN : span / 2, cw_in_is(in, "steel", "tool") ? 1e-5 : NAN});
    cw_out_verdict(out, "fits", span > 0.1 ? CW_VERDICT_OUTSIDE : CW_VERDICT_INSIDE, "a span of %g m", span);
    for (size_t i = 0; i < cw_in_rows(in, "pairs"); i++) {
        size_t row = cw_out_row(out, "sums");
        cw_out_cell_number(out, "sums", row, "sum",
                           cw_in_cell_number(in, "pairs", i, "true") + cw_in_cell_number(in, "pairs", i, "shown"));
    }
    return CW_OK;
}

static const char *const example[] = {"span", "23.4", NULL};
static const cw_worksheet sheet = {
    "test-sheet", "Test", "Bench", "A test.", inputs, CW_COUNT(inputs), outputs, CW_COUNT(outputs),
    NULL,         NULL,   compute, example,   NULL};

static cw_status run_pairs(const char *const *pairs, cw_sheet_in **in, cw_sheet_out **out, cw_error *err)
{
    *in = NULL;
    *out = NULL;
    CW_TRY(cw_sheet_in_from_pairs(&sheet, pairs, in, err));
    return cw_sheet_run(&sheet, *in, out, err);
}

static void typed_values_reach_the_sum(void **state)
{
    (void)state;
    cw_error err;
    cw_sheet_in *in;
    cw_sheet_out *out;
    const char *pairs[] = {"span", "0.92in", "pairs", "1,1.02;2,2.1", "steel", "tool", NULL};
    assert_ok(run_pairs(pairs, &in, &out, &err), &err);
    char shown[96];
    cw_sheet_out_shown(&sheet, out, &outputs[0], shown, sizeof shown);
    assert_string_equal(shown, "11.684 \xc2\xb1 0.020 mm"); /* 0.92 in = 23.368 mm; twice u of 0.01 mm */
    assert_int_equal(cw_sheet_out_rows(out, &outputs[2]), 2);
    cw_sheet_out_cell_shown(out, &outputs[2], 1, &out_columns[0], shown, sizeof shown);
    assert_string_equal(shown, "4.10 m");
    assert_int_equal(cw_sheet_worst(&sheet, out), CW_VERDICT_INSIDE);

    json_t *json = cw_sheet_json(&sheet, in, out);
    assert_near(json_number_value(json_object_get(json_object_get(json_object_get(json, "outputs"), "half"), "value")),
                0.011684, 1e-15);
    cw_sheet_in *again;
    assert_ok(cw_sheet_in_from_json(&sheet, json_object_get(json, "inputs"), &again, &err), &err);
    assert_near(cw_in_number(again, "span"), 0.023368, 1e-15);
    assert_near(cw_in_cell_number(again, "pairs", 1, "shown"), 2.1, 1e-15);
    cw_sheet_in_free(again);
    json_decref(json);
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
}

static void a_form_with_empty_rows_is_read(void **state)
{
    (void)state;
    cw_error err;
    cw_sheet_in *in;
    const char *pairs[] = {
        "span", "23,4", "pairs.0.true", "", "pairs.0.shown", "", "pairs.1.true", "3", "pairs.1.shown", "3,05", "steel",
        "",     NULL};
    assert_ok(cw_sheet_in_from_pairs(&sheet, pairs, &in, &err), &err);
    assert_int_equal(cw_in_rows(in, "pairs"), 1);
    assert_near(cw_in_cell_number(in, "pairs", 0, "shown"), 3.05, 1e-15);
    assert_true(cw_in_is(in, "steel", "mild"));
    cw_sheet_in_free(in);
}

static void what_cannot_be_used_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *pairs[7], *words;
    } rows[] = {
        {{NULL}, "Span is missing; give --span"},
        {{"span", "1", NULL}, "Span: 1 mm cannot be used; from 2 to 200 mm can"},
        {{"span", "23.4 s", NULL}, "Span: \"23.4 s\" is not a length"},
        {{"span", "23", "steel", "gold", NULL}, "Steel: \"gold\" is not one of: mild, tool"},
        {{"span", "23", "colour", "red", NULL}, "has no field \"colour\""},
        {{"span", "23", "pairs", "1,2;3", NULL}, "Pairs, row 2: Shown distance is missing"},
        {{"span", "23", "pairs", "1,2,3", NULL}, "2 values are wanted in a row"},
        {{"span", "23", "pairs", "1,2;1,2;1,2;1,2", NULL}, "more than 3 rows"},
        {{"span", "23", "pairs.99999999.true", "2", NULL}, "more than 3 rows"},
        {{"span", "23", "pairs.x.true", "2", NULL}, "has no place"},
        {{"span", "23", "pairs", "1,abc", NULL}, "Pairs, row 1, Shown distance: \"abc\""},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_error err;
        cw_sheet_in *in;
        assert_fails(cw_sheet_in_from_pairs(&sheet, rows[i].pairs, &in, &err), CW_INPUT, &err, rows[i].words);
    }
}

static void an_authors_slip_and_a_nan_do_not_pass(void **state)
{
    (void)state;
    cw_error err;
    cw_sheet_in *in;
    cw_sheet_out *out;
    const char *slip[] = {"span", "23", "remark", "slip", NULL};
    assert_fails(run_pairs(slip, &in, &out, &err), CW_RANGE, &err, "no-such-field");
    cw_sheet_in_free(in);
    const char *nan[] = {"span", "23", "remark", "nan", NULL};
    assert_fails(run_pairs(nan, &in, &out, &err), CW_RANGE, &err, "no Half comes out");
    cw_sheet_in_free(in);
}

static void json_of_the_wrong_shape_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text, *words;
    } rows[] = {
        {"[1]", "not a JSON object"},
        {"{\"span\": [1]}", "a number or a text is wanted"},
        {"{\"span\": 23.4, \"pairs\": 3}", "an array of objects is wanted"},
        {"{\"span\": 23.4, \"pairs\": [[1, 2]]}", "row 1: an object is wanted"},
        {"{\"span\": 23.4, \"pairs\": [{\"wide\": 1}]}", "there is no column \"wide\""},
        {"{\"span\": 23.4, \"nothing\": 1}", "has no field \"nothing\""},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        cw_error err;
        cw_sheet_in *in;
        json_t *object = json_loads(rows[i].text, 0, NULL);
        assert_fails(cw_sheet_in_from_json(&sheet, object, &in, &err), CW_INPUT, &err, rows[i].words);
        json_decref(object);
    }
}

CHECK_MAIN(cmocka_unit_test(typed_values_reach_the_sum), cmocka_unit_test(a_form_with_empty_rows_is_read),
           cmocka_unit_test(what_cannot_be_used_is_refused), cmocka_unit_test(an_authors_slip_and_a_nan_do_not_pass),
           cmocka_unit_test(json_of_the_wrong_shape_is_refused))
