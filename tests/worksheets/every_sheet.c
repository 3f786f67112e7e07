/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What must hold for every worksheet of the registry: its table is whole, its example runs, its drawings can be
 * written, its JSON comes back, and nonsense in any number field gives a sentence and never a NaN. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/cautions.h"
#include "worksheets/worksheet.h"

enum { PAIRS_MOST = 200 };

static void check_key(const cw_worksheet *sheet, const char *key)
{
    bool good = key != NULL && *key != '\0';
    for (const char *s = key; good && *s != '\0'; s++)
        good = islower((unsigned char)*s) || isdigit((unsigned char)*s) || *s == '-';
    if (!good)
        fail_msg("%s: the key \"%s\" is not lower case with hyphens", sheet->name, key != NULL ? key : "(none)");
}

static void check_fields(const cw_worksheet *sheet, const cw_field *fields, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const cw_field *field = &fields[i];
        check_key(sheet, field->key);
        if (field->label == NULL || field->label[0] == '\0')
            fail_msg("%s: \"%s\" has no label", sheet->name, field->key);
        for (size_t k = 0; k < i; k++)
            if (strcmp(fields[k].key, field->key) == 0)
                fail_msg("%s: \"%s\" is there twice", sheet->name, field->key);
        if (field->kind == CW_KIND_NUMBER && cw_unit_find(field->dimension, field->unit) == NULL)
            fail_msg("%s: \"%s\" has a unit \"%s\" of another dimension", sheet->name, field->key, field->unit);
        if (field->kind == CW_KIND_CHOICE && field->choices == NULL)
            fail_msg("%s: \"%s\" offers no choices", sheet->name, field->key);
        if (field->kind == CW_KIND_ROWS) {
            assert_true(field->column_count > 0);
            check_fields(sheet, field->columns, field->column_count);
        }
    }
}

static void tables_are_whole(void **state)
{
    (void)state;
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    assert_true(count > 0);
    for (size_t i = 0; i < count; i++) {
        const cw_worksheet *sheet = sheets[i];
        check_key(sheet, sheet->name);
        assert_true(sheet->title[0] != '\0' && sheet->group[0] != '\0' && strlen(sheet->purpose) > 20);
        assert_non_null(sheet->example);
        if (sheet->sources == NULL || sheet->sources[0] == NULL)
            fail_msg("%s names no source", sheet->name);
        check_fields(sheet, sheet->inputs, sheet->input_count);
        check_fields(sheet, sheet->outputs, sheet->output_count);
        for (size_t c = 0; sheet->cautions != NULL && sheet->cautions[c] != NULL; c++)
            if (cw_caution(sheet->cautions[c]) == NULL)
                fail_msg("%s: there is no caution \"%s\"", sheet->name, sheet->cautions[c]);
        assert_ptr_equal(cw_worksheet_find(sheet->name), sheet);
        for (size_t k = i + 1; k < count; k++) { /* a group's sheets stand together, each once */
            assert_string_not_equal(sheets[k]->name, sheet->name);
            if (strcmp(sheets[k]->group, sheet->group) == 0 && strcmp(sheets[k - 1]->group, sheet->group) != 0)
                fail_msg("%s stands apart from its group %s", sheets[k]->name, sheet->group);
        }
    }
}

static void write_drawings(const cw_worksheet *sheet, const cw_sheet_out *out)
{
    cw_error err;
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_drawing *drawing = cw_sheet_out_drawing(out, &sheet->outputs[i]);
        const cw_mesh *mesh = cw_sheet_out_mesh(out, &sheet->outputs[i]);
        cw_buf svg = cw_buf_new(64 << 20), pdf = cw_buf_new(64 << 20), dxf = cw_buf_new(64 << 20),
               stl = cw_buf_new(64 << 20);
        if (drawing != NULL) {
            assert_ok(cw_drawing_svg(drawing, &svg, &err), &err);
            assert_ok(cw_drawing_pdf(drawing, "A4", &pdf, &err), &err);
            assert_ok(cw_drawing_dxf(drawing, &dxf, &err), &err);
            assert_contains(cw_buf_string(&svg), "<svg");
            assert_null(strstr(cw_buf_string(&svg), "nan"));
            assert_memory_equal(cw_buf_string(&pdf), "%PDF", 4);
            assert_contains(cw_buf_string(&dxf), "EOF");
        }
        if (mesh != NULL) {
            assert_ok(cw_mesh_stl(mesh, &stl, &err), &err);
            assert_true(stl.length > 84);
        }
        cw_buf_free(&svg);
        cw_buf_free(&pdf);
        cw_buf_free(&dxf);
        cw_buf_free(&stl);
    }
}

static void examples_run_and_come_back_from_json(void **state)
{
    (void)state;
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    for (size_t i = 0; i < count; i++) {
        cw_error err = {0};
        cw_sheet_in *in, *again;
        cw_sheet_out *out, *second;
        print_message("%s\n", sheets[i]->name);
        assert_ok(cw_sheet_in_from_pairs(sheets[i], sheets[i]->example, &in, &err), &err);
        assert_ok(cw_sheet_run(sheets[i], in, &out, &err), &err);
        write_drawings(sheets[i], out);
        json_t *json = cw_sheet_json(sheets[i], in, out);
        assert_non_null(json);
        assert_ok(cw_sheet_in_from_json(sheets[i], json_object_get(json, "inputs"), &again, &err), &err);
        assert_ok(cw_sheet_run(sheets[i], again, &second, &err), &err);
        cw_sheet_out_free(second);
        cw_sheet_in_free(again);
        cw_sheet_out_free(out);
        cw_sheet_in_free(in);
        json_decref(json);
    }
}

/* Every number of the result is finite, or null on purpose. */
static void check_finite(const cw_worksheet *sheet, const json_t *value)
{
    const char *key;
    json_t *inner;
    size_t index;
    if (json_is_real(value) && !isfinite(json_real_value(value)))
        fail_msg("%s: a number that is not finite reached the JSON", sheet->name);
    json_object_foreach((json_t *)value, key, inner) check_finite(sheet, inner);
    json_array_foreach(value, index, inner) check_finite(sheet, inner);
}

static void run_with(const cw_worksheet *sheet, const char *key, const char *value)
{
    const char *pairs[PAIRS_MOST + 3];
    size_t used = 0;
    for (size_t k = 0; sheet->example[k] != NULL; k += 2)
        if (strcmp(sheet->example[k], key) != 0 && used < PAIRS_MOST) {
            pairs[used++] = sheet->example[k];
            pairs[used++] = sheet->example[k + 1];
        }
    pairs[used++] = key;
    pairs[used++] = value;
    pairs[used] = NULL;
    cw_error err = {0};
    cw_sheet_in *in = NULL;
    cw_sheet_out *out = NULL;
    cw_status status = cw_sheet_in_from_pairs(sheet, pairs, &in, &err);
    if (status == CW_OK)
        status = cw_sheet_run(sheet, in, &out, &err);
    if (status == CW_OK) {
        json_t *json = cw_sheet_json(sheet, in, out);
        check_finite(sheet, json);
        json_decref(json);
    } else if (err.text[0] == '\0' || strstr(err.text, "does not declare") != NULL ||
               strstr(err.text, " nan") != NULL) {
        fail_msg("%s with --%s %s: %s", sheet->name, key, value, err.text);
    }
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
}

static void nonsense_gives_a_sentence(void **state)
{
    (void)state;
    static const char *const nonsense[] = {"0", "-1", "1e-9", "1e9", "1e-300", "abc", "-0", "1/0"};
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    for (size_t i = 0; i < count; i++)
        for (size_t f = 0; f < sheets[i]->input_count; f++) {
            const cw_field *field = &sheets[i]->inputs[f];
            for (size_t n = 0; n < CW_COUNT(nonsense); n++)
                run_with(sheets[i], field->key, nonsense[n]);
            if (field->kind != CW_KIND_NUMBER)
                continue;
            char edge[64]; /* both ends of the allowed range */
            const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
            snprintf(edge, sizeof edge, "%.17g", cw_to_unit(field->least, unit));
            run_with(sheets[i], field->key, edge);
            snprintf(edge, sizeof edge, "%.17g", cw_to_unit(field->most, unit));
            run_with(sheets[i], field->key, edge);
        }
}

CHECK_MAIN(cmocka_unit_test(tables_are_whole), cmocka_unit_test(examples_run_and_come_back_from_json),
           cmocka_unit_test(nonsense_gives_a_sentence))
