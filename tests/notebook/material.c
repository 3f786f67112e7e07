/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench_box.h"

#include "notebook/care.h"
#include "notebook/material.h"
#include "notebook/rack.h"

static cw_material_entry plate(void)
{
    cw_material_entry entry = {.is = cw_own_material_none(), .notes = "two pieces left"};
    entry.is.name = "Plate from the drawer";
    entry.is.kind = "steel";
    entry.is.source = "its wrapper";
    entry.is.yield_pa = (cw_quantity){412e6, 17e6};
    entry.is.elastic_pa = (cw_quantity){207e9, NAN};
    entry.is.expansion_per_k.value = 11.3e-6;
    return entry;
}

static int64_t add(bench_box *box, const cw_material_entry *entry)
{
    int64_t id = 0;
    assert_ok(cw_material_add(box->bench, entry, &id, &box->err), &box->err);
    return id;
}

static size_t how_many(bench_box *box)
{
    cw_material_entry_list list;
    assert_ok(cw_material_page(box->bench, &list, &box->err), &box->err);
    size_t count = list.count;
    cw_material_entry_list_free(&list);
    return count;
}

static void every_figure_comes_back(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate(), back;
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    for (size_t i = 0; i < count; i++) /* each another value, all allowed, and none given for a neighbour's */
        *cw_own_figure_of(&entry.is, &figures[i]) =
            (cw_quantity){figures[i].least + 0.013 * (double)(i + 1) * (figures[i].most - figures[i].least) / 8,
                          i % 2 == 0 ? NAN : 0.0017 * figures[i].most};
    entry.is.yield_pa = (cw_quantity){412e6, 17e6};
    entry.is.tensile_pa = (cw_quantity){530e6, NAN};
    entry.is.elastic_pa = (cw_quantity){207e9, 3e9};
    entry.is.shear_pa = (cw_quantity){80.4e9, 1e9};
    entry.is.poisson = (cw_quantity){0.287, 0.003};
    int64_t id = add(box, &entry);
    cw_bench_close(box->bench);
    assert_ok(cw_bench_open(box->folder, CW_BENCH_OPEN, &box->bench, &box->err), &box->err);
    assert_ok(cw_material_get(box->bench, id, &back, &box->err), &box->err);
    assert_string_equal(back.is.name, "Plate from the drawer");
    assert_string_equal(back.is.kind, "steel");
    assert_string_equal(back.is.source, "its wrapper");
    assert_string_equal(back.notes, "two pieces left");
    for (size_t i = 0; i < count; i++) {
        cw_quantity was = cw_own_figure_get(&entry.is, &figures[i]), is = cw_own_figure_get(&back.is, &figures[i]);
        assert_true(is.value == was.value);
        assert_true(is.u == was.u || (isnan(is.u) && isnan(was.u)));
    }
    cw_material_entry_free(&back);
    assert_ok(cw_material_get_named(box->bench, "  PLATE from  the drawer", &back, &box->err), &box->err);
    assert_int_equal(back.id, id);
    cw_material_entry_free(&back);
    assert_fails(cw_material_get_named(box->bench, "plat", &back, &box->err), CW_NOT_FOUND, &box->err,
                 "it has \"Plate from the drawer\"");
}

static void a_name_stands_once(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate(), back;
    int64_t id, first = add(box, &entry);
    entry.is.name = "PLATE FROM THE DRAWER";
    assert_fails(cw_material_add(box->bench, &entry, &id, &box->err), CW_CONFLICT, &box->err, "has a material");
    entry.is.name = "mild-steel";
    assert_fails(cw_material_add(box->bench, &entry, &id, &box->err), CW_INPUT, &box->err, "the program's own");
    entry.is.name = "other plate";
    int64_t second = add(box, &entry);
    assert_ok(cw_material_get(box->bench, second, &back, &box->err), &box->err);
    back.is.name = "plate from the drawer";
    assert_fails(cw_material_update(box->bench, &back, &box->err), CW_CONFLICT, &box->err, "already (number 1)");
    back.is.name = "Other Plate"; /* its own name in other letters is no other's */
    assert_ok(cw_material_update(box->bench, &back, &box->err), &box->err);
    assert_fails(cw_material_update(box->bench, &back, &box->err), CW_CONFLICT, &box->err, "since");
    cw_material_entry_free(&back);
    assert_ok(cw_material_get(box->bench, second, &back, &box->err), &box->err);
    back.is.yield_pa.value = -1;
    assert_fails(cw_material_update(box->bench, &back, &box->err), CW_RANGE, &box->err, "yield or proof stress");
    cw_material_entry_free(&back);
    assert_int_equal(first, 1);
    assert_int_equal(how_many(box), 2);
}

static void a_bad_line_is_refused(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate();
    int64_t id;
    entry.is.kind = "two\nlines";
    assert_fails(cw_material_add(box->bench, &entry, &id, &box->err), CW_INPUT, &box->err, "the kind");
    entry.is.kind = "";
    entry.is.source = "\xff";
    assert_fails(cw_material_add(box->bench, &entry, &id, &box->err), CW_INPUT, &box->err, "where the figures come");
    assert_int_equal(how_many(box), 0);
}

static void what_belongs_to_the_bench_is_undone_apart_from_the_jobs(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate(), back;
    char words[CW_LINE_MOST + 1];
    int64_t id = add(box, &entry);
    assert_ok(cw_material_get(box->bench, id, &back, &box->err), &box->err);
    back.is.yield_pa.value = 390e6;
    assert_ok(cw_material_update(box->bench, &back, &box->err), &box->err);
    cw_material_entry_free(&back);
    assert_ok(cw_material_delete(box->bench, id, &box->err), &box->err);
    int64_t job_id = box_job(box, "Tarnbrook 35"); /* newer, and not touched by this undo */
    cw_change_list changes;
    assert_ok(cw_change_page(box->bench, CW_BENCH_OWN, 0, 10, &changes, &box->err), &box->err);
    assert_int_equal(changes.total, 3);
    cw_change_list_free(&changes);
    assert_ok(cw_undo(box->bench, CW_BENCH_OWN, words, &box->err), &box->err);
    assert_string_equal(words, "material \"Plate from the drawer\" removed");
    assert_ok(cw_material_get(box->bench, id, &back, &box->err), &box->err);
    assert_near(back.is.yield_pa.value, 390e6, 0);
    cw_material_entry_free(&back);
    assert_ok(cw_undo(box->bench, CW_BENCH_OWN, words, &box->err), &box->err);
    assert_ok(cw_material_get(box->bench, id, &back, &box->err), &box->err);
    assert_near(back.is.yield_pa.value, 412e6, 0);
    cw_material_entry_free(&back);
    assert_ok(cw_redo(box->bench, CW_BENCH_OWN, words, &box->err), &box->err);
    assert_ok(cw_redo(box->bench, CW_BENCH_OWN, words, &box->err), &box->err);
    assert_int_equal(how_many(box), 0);
    cw_job job;
    assert_ok(cw_job_get(box->bench, job_id, &job, &box->err), &box->err);
    cw_job_free(&job);
}

static void a_backup_has_them(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate(), back;
    cw_backup_report report;
    cw_bench *copy;
    char folder[600];
    int64_t id = add(box, &entry);
    snprintf(folder, sizeof folder, "%s/copy", box->scratch);
    assert_ok(cw_backup(box->bench, folder, &report, &box->err), &box->err);
    assert_ok(cw_bench_open(folder, CW_BENCH_READ, &copy, &box->err), &box->err);
    assert_ok(cw_material_get(copy, id, &back, &box->err), &box->err);
    assert_near(back.is.yield_pa.u, 17e6, 0);
    cw_material_entry_free(&back);
    cw_bench_close(copy);
}

static void json_tells_the_own_from_the_programs(void **state)
{
    bench_box *box = *state;
    cw_material_entry entry = plate();
    cw_material_entry_list list;
    size_t count;
    add(box, &entry);
    assert_ok(cw_material_page(box->bench, &list, &box->err), &box->err);
    json_t *json = cw_materials_json(&list);
    cw_material_entry_list_free(&list);
    json_t *own = json_array_get(json_object_get(json, "own"), 0), *yield = json_object_get(own, "yield");
    assert_string_equal(json_string_value(json_object_get(own, "name")), "Plate from the drawer");
    assert_near(json_number_value(json_object_get(yield, "value")), 412e6, 0);
    assert_string_equal(json_string_value(json_object_get(yield, "unit")), "Pa");
    assert_true(json_is_null(json_object_get(own, "shear")));
    cw_materials(&count);
    assert_int_equal(json_array_size(json_object_get(json, "program")), count);
    json_decref(json);
}

CHECK_MAIN(BOX_TEST(every_figure_comes_back), BOX_TEST(a_name_stands_once), BOX_TEST(a_bad_line_is_refused),
           BOX_TEST(what_belongs_to_the_bench_is_undone_apart_from_the_jobs), BOX_TEST(a_backup_has_them),
           BOX_TEST(json_tells_the_own_from_the_programs))
