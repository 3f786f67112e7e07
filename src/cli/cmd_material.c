/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright material list | show | add | change | remove | undo | redo: the person's own materials. */
#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "cli/bench_command.h"
#include "cli/file_out.h"
#include "notebook/material.h"

/* --yield and --yield-u, for each figure in its order; then the texts. */
static const char *const figure_keys[] = {"yield",    "yield-u",    "tensile", "tensile-u", "modulus",   "modulus-u",
                                          "shear",    "shear-u",    "poisson", "poisson-u", "expansion", "expansion-u",
                                          "friction", "friction-u", "density", "density-u"};
static const char *const text_keys[] = {"name", "kind", "source", "notes", "bench"};
enum { OPTIONS = CW_COUNT(figure_keys) + CW_COUNT(text_keys) };

static void write_options(cw_option options[OPTIONS])
{
    size_t n = 0;
    for (size_t i = 0; i < CW_COUNT(figure_keys); i++)
        options[n++] = (cw_option){.key = figure_keys[i]};
    for (size_t i = 0; i < CW_COUNT(text_keys); i++)
        options[n++] = (cw_option){.key = text_keys[i]};
}

/* ---- what is shown ---- */

static void print_figures(const cw_own_material *material, FILE *out)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    const char *between = "";
    for (size_t i = 0; i < count; i++) {
        cw_quantity q = cw_own_figure_get(material, &figures[i]);
        char text[CW_QUANTITY_TEXT];
        if (isnan(q.value))
            continue;
        cw_quantity_text(q, cw_unit_find(figures[i].dimension, figures[i].unit), 3, text, sizeof text);
        fprintf(out, "%s%s %s", between, figures[i].name, text);
        between = ", ";
    }
    fputc('\n', out);
}

static void print_entry(const cw_material_entry *entry, FILE *out)
{
    fprintf(out, "%4" PRId64 "  %s%s%s%s\n      ", entry->id, entry->is.name, entry->is.kind[0] != '\0' ? " (" : "",
            entry->is.kind, entry->is.kind[0] != '\0' ? ")" : "");
    print_figures(&entry->is, out);
    fprintf(out, "      from: %s\n", entry->is.source[0] != '\0' ? entry->is.source : "no source noted");
    if (entry->notes[0] != '\0')
        fprintf(out, "      %s\n", entry->notes);
}

static void print_program(FILE *out)
{
    size_t count;
    const cw_material *table = cw_materials(&count);
    fputs("\nThe program's:\n", out);
    for (size_t i = 0; i < count; i++) {
        cw_own_material m = cw_own_material_none();
        m.yield_pa = table[i].yield_pa;
        m.elastic_pa = table[i].elastic_pa;
        m.expansion_per_k.value = table[i].expansion_per_k;
        fprintf(out, "      %s: %s\n      ", table[i].key, table[i].label);
        print_figures(&m, out);
        fprintf(out, "      from: %s\n", table[i].source);
    }
}

static cw_status own_materials(const char *place, cw_material_entry_list *list, cw_error *err)
{
    cw_bench *bench;
    CW_TRY(cw_bench_from_option(place, CW_BENCH_READ, &bench, err));
    cw_status status = cw_material_page(bench, list, err);
    cw_bench_close(bench);
    return status;
}

static cw_status run_list(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "json", .is_flag = true}, {.key = "bench"}};
    size_t operands;
    cw_material_entry_list list = {0};
    CW_TRY(cw_options_read(count, args, options, 2, NULL, 0, &operands, err));
    const char *place = cw_option_value(options, 2, "bench");
    cw_status status = own_materials(place, &list, err);
    if (status == CW_NOT_FOUND && place == NULL)
        status = CW_OK; /* without a bench there is nothing of the person's own, but the program's all the same */
    CW_TRY(status);
    if (cw_option_given(options, 2, "json")) {
        status = cw_print_json(out, cw_materials_json(&list), err);
    } else {
        fputs(list.count > 0 ? "Your own:\n" : "None of your own yet; camerawright material add begins.\n", out);
        for (size_t i = 0; i < list.count; i++)
            print_entry(&list.items[i], out);
        print_program(out);
    }
    cw_material_entry_list_free(&list);
    return status;
}

/* By name, or by number. */
static cw_status find(cw_bench *bench, const char *which, cw_material_entry *entry, cw_error *err)
{
    int64_t id;
    cw_error no_number;
    cw_status status = cw_material_get_named(bench, which, entry, err);
    if (status == CW_NOT_FOUND && cw_id_parse(which, "material", &id, &no_number) == CW_OK)
        return cw_material_get(bench, id, entry, err);
    return status;
}

static cw_status run_show(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    cw_bench *bench;
    cw_material_entry entry;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which material: camerawright material show \"my plate\"");
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_READ, &bench, err));
    cw_status status = find(bench, operand[0], &entry, err);
    if (status == CW_OK) {
        print_entry(&entry, out);
        cw_material_entry_free(&entry);
    }
    cw_bench_close(bench);
    return status;
}

/* ---- add, change, remove ---- */

/* "" takes a figure away; a step in a unit has no offset, so the uncertainty is read like a value. */
static cw_status read_measure(const cw_option *options, const char *key, const cw_own_figure *figure, double *value,
                              cw_error *err)
{
    const char *typed = cw_option_value(options, OPTIONS, key);
    if (typed == NULL)
        return CW_OK;
    if (typed[0] == '\0') {
        *value = NAN;
        return CW_OK;
    }
    cw_status status = cw_parse_measure(typed, figure->dimension, figure->unit, value, err);
    if (status != CW_OK)
        cw_context(err, "--%s", key);
    return status;
}

static cw_status read_figures(const cw_option *options, cw_own_material *material, cw_error *err)
{
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    for (size_t i = 0; i < count; i++) {
        cw_quantity *q = cw_own_figure_of(material, &figures[i]);
        CW_TRY(read_measure(options, figure_keys[2 * i], &figures[i], &q->value, err));
        CW_TRY(read_measure(options, figure_keys[2 * i + 1], &figures[i], &q->u, err));
        if (isnan(q->value) && cw_option_given(options, OPTIONS, figure_keys[2 * i]))
            q->u = NAN; /* what is taken away takes its uncertainty with it */
    }
    return CW_OK;
}

static void read_text(const cw_option *options, const char *key, const char **text)
{
    const char *typed = cw_option_value(options, OPTIONS, key);
    if (typed != NULL)
        *text = typed;
}

static cw_status read_entry(const cw_option *options, cw_material_entry *entry, cw_error *err)
{
    read_text(options, "name", &entry->is.name);
    read_text(options, "kind", &entry->is.kind);
    read_text(options, "source", &entry->is.source);
    read_text(options, "notes", &entry->notes);
    return read_figures(options, &entry->is, err);
}

static cw_status run_add(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[OPTIONS];
    const char *operand[1];
    size_t operands;
    int64_t id;
    cw_bench *bench;
    cw_material_entry entry = {.is = cw_own_material_none(), .notes = ""};
    write_options(options);
    CW_TRY(cw_options_read(count, args, options, OPTIONS, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT,
                       "say what it is called: camerawright material add \"my plate\" --yield 410MPa --modulus 205GPa "
                       "--source \"its data sheet\"");
    entry.is.name = operand[0];
    CW_TRY(read_entry(options, &entry, err));
    CW_TRY(cw_own_material_check(&entry.is, err)); /* before a bench is made for it */
    CW_TRY(cw_bench_from_option(cw_option_value(options, OPTIONS, "bench"), CW_BENCH_CREATE, &bench, err));
    cw_status status = cw_material_add(bench, &entry, &id, err);
    cw_bench_close(bench);
    if (status == CW_OK)
        fprintf(out, "material %" PRId64 "; every worksheet takes it as \"%s\"\n", id, entry.is.name);
    return status;
}

static cw_status run_change(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[OPTIONS];
    const char *operand[1];
    size_t operands;
    cw_bench *bench;
    cw_material_entry entry;
    write_options(options);
    CW_TRY(cw_options_read(count, args, options, OPTIONS, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which material: camerawright material change \"my plate\" --yield 400MPa");
    CW_TRY(cw_bench_from_option(cw_option_value(options, OPTIONS, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = find(bench, operand[0], &entry, err);
    if (status == CW_OK) {
        status = read_entry(options, &entry, err);
        if (status == CW_OK)
            status = cw_material_update(bench, &entry, err);
        if (status == CW_OK)
            print_entry(&entry, out);
        cw_material_entry_free(&entry);
    }
    cw_bench_close(bench);
    return status;
}

static cw_status run_remove(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    const char *operand[1];
    size_t operands;
    cw_bench *bench;
    cw_material_entry entry;
    CW_TRY(cw_options_read(count, args, options, 1, operand, 1, &operands, err));
    if (operands == 0)
        return cw_fail(err, CW_INPUT, "say which material: camerawright material remove \"my plate\"");
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = find(bench, operand[0], &entry, err);
    if (status == CW_OK) {
        status = cw_material_delete(bench, entry.id, err);
        if (status == CW_OK)
            fprintf(out,
                    "\"%s\" is removed; results that are kept go on with what they had of it. camerawright material "
                    "undo brings it back\n",
                    entry.is.name);
        cw_material_entry_free(&entry);
    }
    cw_bench_close(bench);
    return status;
}

static cw_status step_history(size_t count, const char *const *args, bool back, FILE *out, cw_error *err)
{
    cw_option options[] = {{.key = "bench"}};
    char words[CW_LINE_MOST + 1];
    size_t operands;
    cw_bench *bench;
    CW_TRY(cw_options_read(count, args, options, 1, NULL, 0, &operands, err));
    CW_TRY(cw_bench_from_option(cw_option_value(options, 1, "bench"), CW_BENCH_OPEN, &bench, err));
    cw_status status = back ? cw_undo(bench, CW_BENCH_OWN, words, err) : cw_redo(bench, CW_BENCH_OWN, words, err);
    if (status == CW_OK)
        fprintf(out, "%s: %s\n", back ? "undone" : "done again", words);
    cw_bench_close(bench);
    return status;
}

static cw_status run_undo(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    return step_history(count, args, true, out, err);
}

static cw_status run_redo(size_t count, const char *const *args, FILE *out, cw_error *err)
{
    return step_history(count, args, false, out, err);
}

static cw_status run_material(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    static const cw_verb verbs[] = {{"list", run_list},     {"show", run_show},     {"add", run_add},
                                    {"change", run_change}, {"remove", run_remove}, {"undo", run_undo},
                                    {"redo", run_redo}};
    (void)outside;
    const cw_verb *verb = cw_verb_find(verbs, CW_COUNT(verbs), count, args);
    if (verb != NULL)
        return verb->run(count - 1, args + 1, out, err);
    return cw_fail(err, CW_INPUT, "say what to do: material list, show, add, change, remove, undo or redo");
}

const cw_command cw_cmd_material = {
    "material", "list|show|add|change|remove|undo|redo ...", "your own materials, for every worksheet",
    "  material list [--json]       yours, and the program's, with where the figures come from\n"
    "  material show NAME\n"
    "  material add NAME [--kind WORD] [--source TEXT] [--notes TEXT], and what is known of it:\n"
    "           --yield S  yield or proof stress     --tensile S   tensile strength, for springs\n"
    "           --modulus S  of elasticity           --shear S     shear modulus\n"
    "           --poisson N  Poisson's ratio         --expansion E linear, for each kelvin\n"
    "           --friction N against what it rubs on --density D\n"
    "           each with its standard uncertainty where known: --yield-u, --modulus-u ...\n"
    "  material change NAME [--name NEW] ...    the same options; an empty one takes the figure away\n"
    "  material remove NAME         results that are kept go on with what they had of it\n"
    "  material undo | redo         of the bench's own changes: materials, rack, levels, lists\n"
    "Stresses S in MPa (moduli in GPa), expansion in 1e-6/K, density in kg/m3 unless they say otherwise (36ksi, "
    "2.7g/cm3).\n"
    "NAME may be the number that list shows. Everywhere: --bench FOLDER.\n",
    run_material};
