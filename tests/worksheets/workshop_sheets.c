/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sheets of tools, parts and sheet goods: what they add to the rooms below is choices, defaults, drawings and
 * words. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/fields.h"
#include "workshop/material.h"
#include "workshop/sheet.h"
#include "workshop/spring.h"

static cw_status run(const char *name, const char *const *pairs, json_t **json, cw_error *err)
{
    const cw_worksheet *sheet = cw_worksheet_find(name);
    assert_non_null(sheet);
    cw_sheet_in *in;
    cw_sheet_out *out;
    CW_TRY(cw_sheet_in_from_pairs(sheet, pairs, &in, err));
    cw_status status = cw_sheet_run(sheet, in, &out, err);
    if (status == CW_OK) {
        *json = cw_sheet_json(sheet, in, out);
        cw_sheet_out_free(out);
    }
    cw_sheet_in_free(in);
    return status;
}

static double value(const json_t *json, const char *key)
{
    const json_t *number = json_object_get(json_object_get(json_object_get(json, "outputs"), key), "value");
    if (!json_is_number(number))
        fail_msg("no number \"%s\"", key);
    return json_number_value(number);
}

#define PAIRS(...) ((const char *const[]){__VA_ARGS__, NULL})

static void choices_are_those_of_the_tables(void **state)
{
    (void)state;
    size_t count;
    const cw_material *materials = cw_materials(&count);
    for (size_t i = 0; i < count; i++) {
        assert_string_equal(cw_material_choices[i].key, materials[i].key);
        assert_string_equal(cw_material_choices[i].label, materials[i].label);
    }
    assert_string_equal(cw_material_choices[count].key, "own");
    assert_null(cw_material_choices[count + 1].key);
    const cw_friction *frictions = cw_frictions(&count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(cw_friction_choices[i].key, frictions[i].key);
    assert_null(cw_friction_choices[count].key);
    const cw_spring_wire *wires = cw_spring_wires(&count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(cw_spring_wire_choices[i].key, wires[i].key);
    assert_null(cw_spring_wire_choices[count].key);
    const cw_frame *frames = cw_frames(&count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(cw_frame_choices[i].key, frames[i].key);
    assert_null(cw_frame_choices[count].key);
}

/* Every choice of every sheet gives an answer or a sentence: no key that its room does not know. */
static void every_choice_is_known(void **state)
{
    (void)state;
    size_t sheets;
    const cw_worksheet *const *all = cw_worksheets(&sheets);
    for (size_t s = 0; s < sheets; s++)
        for (size_t f = 0; f < all[s]->input_count; f++) {
            const cw_field *field = &all[s]->inputs[f];
            for (const cw_choice *c = field->choices; c != NULL && c->key != NULL; c++) {
                const char *pairs[64];
                size_t used = 0;
                for (size_t k = 0; all[s]->example[k] != NULL && used < 60; k++)
                    pairs[used++] = all[s]->example[k];
                pairs[used++] = field->key;
                pairs[used++] = c->key;
                pairs[used] = NULL;
                json_t *json = NULL;
                cw_error err = {0};
                cw_status status = run(all[s]->name, pairs, &json, &err);
                if (status != CW_OK && (strlen(err.text) < 20 || status == CW_MEMORY || status == CW_NOT_FOUND))
                    fail_msg("%s with %s %s: %s", all[s]->name, field->key, c->key, err.text);
                json_decref(json);
            }
        }
}

static void a_wrench_tells_the_person_what_would_work(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        const char *pairs[16];
        const char *words;
    } rows[] = {
        {"flat-wrench",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "plate", "2", "tip", "1.4"},
         "file it to 1.15 mm"},
        {"flat-wrench",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "plate", "2", "barrel", "23"},
         "leaves no room for a tip"},
        {"flat-wrench",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "plate", "2", "steel", "own"},
         "own-yield"},
        {"flat-wrench",
         {"span", "23.4 s", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "plate", "2"},
         "units: m, mm"},
        {"flat-wrench",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6"},
         "Plate thickness is missing"},
        {"pin-driver",
         {"span", "8", "hole", "1", "hole-depth", "1", "pin", "1.2", "shape", "round"},
         "does not go into a hole of 1 mm"},
        {"clamp-block", {"held", "42", "cutouts", "90,10,20"}, "cuts the clamp in two"},
        {"friction-ring", {"outer", "34", "inner", "20", "glass", "22"}, "lies on glass of 22 mm"},
        {"friction-ring", {"outer", "34", "inner", "24", "seat", "3"}, "swallows rubber"},
        {"split-collar", {"cap", "28", "edge", "2.5", "play", "4"}, "would close it"},
        {"press-fit", {"hole", "2.01", "pin", "2.00", "hub", "6", "length", "3"}, "it is loose"},
        {"fit", {"diameter", "2", "fit", "p6/H7"}, "the hole comes first"},
        {"coil-spring", {"wire", "3", "outside", "2", "coils", "9", "load", "1"}, "must be the larger"},
        {"torsion-spring",
         {"wire", "0.4", "outside", "5", "turns", "4", "torque", "5", "pin", "4.5"},
         "does not go through a coil"},
        {"gear-mesh", {"teeth1", "18.5", "teeth2", "40", "module", "0.4"}, "whole number"},
        {"which-screw", {"diameter", "2", "pitch", "0.4", "per-inch", "60"}, "not both"},
        {"shims", {"wanted", "0.2", "kinds", "0.1,2", "outer", "20", "inner", "20"}, "has no width"},
        {"covering", {"straight", "100", "height", "40", "holes", "300,20,10"}, "outside the blank"},
        {"thin-alcohol", {"stock", "70 %", "wanted", "99 %"}, "water only thins"},
        {"compare-wrenches",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "designs", "thin,0.5;thick,2,30"},
         "thick: two tips 30 mm wide"},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        json_t *json = NULL;
        cw_error err;
        cw_status status = run(rows[i].name, rows[i].pairs, &json, &err);
        if (status == CW_OK)
            fail_msg("%s: \"%s\" was expected and it ran", rows[i].name, rows[i].words);
        assert_contains(err.text, rows[i].words);
        json_decref(json);
    }
}

/* The sheet's figures are those of the handbook examples the rooms are checked by. */
static void handbook_examples_come_through_the_sheets(void **state)
{
    (void)state;
    json_t *json;
    cw_error err;
    /* Jindal, Machine Design, ex. 8-9: music wire 1.5, OD 16, 4.25 turns, legs 20 + 20, M 497.2 N mm: 0.349 turn =
     * 125.6 degrees */
    assert_ok(run("torsion-spring",
                  PAIRS("wire", "1.5", "outside", "16", "turns", "4.25", "leg1", "20", "leg2", "20", "torque", "497.2",
                        "pin", "11.5"),
                  &json, &err),
              &err);
    assert_near(value(json, "turn") / (2 * M_PI), 0.349, 0.0005);
    assert_near(value(json, "wound-inside") * 1e3, 11.96, 0.005);
    json_decref(json);
    /* bolsover.com, "Profile shifted external spur gears": contact ratio 1.202, tip 44.840 */
    assert_ok(run("gear-mesh", PAIRS("teeth1", "12", "teeth2", "24", "module", "3", "shift1", "0.6", "shift2", "0.36"),
                  &json, &err),
              &err);
    assert_near(value(json, "contact-ratio"), 1.202, 0.0006);
    assert_near(value(json, "tip1") * 1e3, 44.840, 0.0005);
    json_decref(json);
    /* JIS B 0401 (1999): p6 from 6 to 10 mm is +24/+15 um; DIN ISO 286-2: H7 +15/0 */
    assert_ok(run("fit", PAIRS("diameter", "8", "fit", "H7/p6"), &json, &err), &err);
    assert_near(value(json, "shaft-most") * 1e3, 8.024, 1e-9);
    assert_near(value(json, "hole-most") * 1e3, 8.015, 1e-9);
    assert_near(value(json, "play-least") * 1e6, -24, 1e-6);
    json_decref(json);
    /* 70 parts alcohol to 30 parts water */
    assert_ok(
        run("thin-alcohol", PAIRS("stock", "100 %", "wanted", "70 %", "by", "parts", "amount", "50 ml"), &json, &err),
        &err);
    assert_near(value(json, "from-bottle") * 1e6, 35, 1e-9);
    json_decref(json);
}

/* Inches in, the same tool out. */
static void units_do_not_change_the_tool(void **state)
{
    (void)state;
    json_t *mm, *inches;
    cw_error err;
    assert_ok(run("flat-wrench",
                  PAIRS("span", "25.4mm", "slot-width", "1.27mm", "slot-depth", "0.762mm", "reach", "6.35mm", "plate",
                        "2.54mm"),
                  &mm, &err),
              &err);
    assert_ok(run("flat-wrench",
                  PAIRS("span", "1in", "slot-width", "0.05in", "slot-depth", "0.03in", "reach", "1/4 in", "plate",
                        "100 thou"),
                  &inches, &err),
              &err);
    assert_near(value(inches, "torque-most"), value(mm, "torque-most"), 1e-9 * value(mm, "torque-most"));
    assert_near(value(inches, "wind-up"), value(mm, "wind-up"), 1e-9 * value(mm, "wind-up"));
    json_decref(mm);
    json_decref(inches);
}

static const cw_mesh *mesh_of(const cw_worksheet *sheet, const cw_sheet_out *out)
{
    for (size_t i = 0; i < sheet->output_count; i++)
        if (sheet->outputs[i].kind == CW_KIND_MESH)
            return cw_sheet_out_mesh(out, &sheet->outputs[i]);
    return NULL;
}

/* The holder to print: a cylinder less its seat and hollow, by hand; 128 sides leave 0.04 % of a circle out. */
static void the_printed_holder_has_the_volume_of_its_drawing(void **state)
{
    (void)state;
    const cw_worksheet *sheet = cw_worksheet_find("friction-ring");
    cw_sheet_in *in;
    cw_sheet_out *out;
    cw_error err;
    assert_ok(cw_sheet_in_from_pairs(sheet,
                                     PAIRS("outer", "34", "inner", "24", "glass", "22", "glass-rise", "3", "seat", "1",
                                           "holder-height", "30"),
                                     &in, &err),
              &err);
    assert_ok(cw_sheet_run(sheet, in, &out, &err), &err);
    const cw_mesh *mesh = mesh_of(sheet, out);
    assert_non_null(mesh);
    assert_ok(cw_mesh_check(mesh, &err), &err); /* closed, every edge both ways */
    /* rubber 2 mm squashed 15 % is 1.7; glass 3 mm: hollow of 3 - 1.7 + 1 = 2.3 mm behind the seat, 23 mm wide */
    double by_hand = M_PI * (21 * 21 * 30 - 17.1 * 17.1 * 1 - 11.5 * 11.5 * 2.3);
    assert_near(cw_mesh_volume_mm3(mesh), by_hand, 0.001 * by_hand);
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
}

static const cw_drawing *drawing_of(const cw_worksheet *sheet, const cw_sheet_out *out)
{
    for (size_t i = 0; i < sheet->output_count; i++)
        if (sheet->outputs[i].kind == CW_KIND_DRAWING)
            return cw_sheet_out_drawing(out, &sheet->outputs[i]);
    return NULL;
}

/* Corners of a drawing's CUT layer, from its DXF: what a cutter would follow. */
static void cut_extent(const cw_drawing *drawing, double least[2], double most[2])
{
    cw_buf dxf = cw_buf_new(16 << 20);
    cw_error err;
    assert_ok(cw_drawing_dxf(drawing, &dxf, &err), &err);
    least[0] = least[1] = INFINITY;
    most[0] = most[1] = -INFINITY;
    char *text = cw_copy_text(cw_buf_string(&dxf)), *rest = text, *line;
    bool in_entities = false, cut = false;
    while ((line = strsep(&rest, "\n")) != NULL) {
        char *content = strsep(&rest, "\n");
        if (content == NULL)
            break;
        int code = (int)strtol(line, NULL, 10);
        content[strcspn(content, "\r")] = '\0';
        if (strcmp(content, "ENTITIES") == 0)
            in_entities = true;
        if (code == 8)
            cut = strcmp(content, "CUT") == 0;
        int axis = code == 10 || code == 11 ? 0 : code == 20 || code == 21 ? 1 : -1;
        if (!in_entities || !cut || axis < 0)
            continue;
        double coordinate = strtod(content, NULL);
        least[axis] = fmin(least[axis], coordinate);
        most[axis] = fmax(most[axis], coordinate);
    }
    free(text);
    cw_buf_free(&dxf);
}

static void templates_are_of_true_size(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        const char *pairs[16];
        double width_mm, height_mm;
    } rows[] = {
        {"flat-wrench",
         {"span", "23.4", "slot-width", "1.2", "slot-depth", "0.8", "reach", "6", "plate", "2", "length", "80", "body",
          "15"},
         80,
         21},
        {"clamp-block", {"held", "42", "width", "70", "length", "110"}, 110, 70},
        {"gate-glass", {"rails", "26.6", "outer-rails", "35.3"}, 48, 35},
        {"covering", {"straight", "100", "height", "42"}, 100 + M_PI * 0.35, 42},
    };
    for (size_t i = 0; i < CW_COUNT(rows); i++) {
        const cw_worksheet *sheet = cw_worksheet_find(rows[i].name);
        cw_sheet_in *in;
        cw_sheet_out *out;
        cw_error err;
        assert_ok(cw_sheet_in_from_pairs(sheet, rows[i].pairs, &in, &err), &err);
        assert_ok(cw_sheet_run(sheet, in, &out, &err), &err);
        double least[2], most[2];
        cut_extent(drawing_of(sheet, out), least, most);
        assert_near(most[0] - least[0], rows[i].width_mm, 1e-3);
        assert_near(most[1] - least[1], rows[i].height_mm, 1e-3);
        cw_sheet_out_free(out);
        cw_sheet_in_free(in);
    }
}

CHECK_MAIN(cmocka_unit_test(choices_are_those_of_the_tables), cmocka_unit_test(every_choice_is_known),
           cmocka_unit_test(a_wrench_tells_the_person_what_would_work),
           cmocka_unit_test(handbook_examples_come_through_the_sheets), cmocka_unit_test(units_do_not_change_the_tool),
           cmocka_unit_test(the_printed_holder_has_the_volume_of_its_drawing),
           cmocka_unit_test(templates_are_of_true_size))
