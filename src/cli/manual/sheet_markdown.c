/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A worksheet's page of the reference, from its declaration; the example in it is run. */
#include <stdlib.h>
#include <string.h>

#include "cli/manual/manual.h"
#include "cli/sheet_command.h"
#include "worksheets/cautions.h"

/* A cell of a table: the bar would end it. */
static void cell(cw_buf *out, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == '|' || *text == '<')
            cw_buf_char(out, '\\');
        cw_buf_char(out, *text == '\n' ? ' ' : *text);
    }
}

static void write_kind(cw_buf *out, const cw_field *field)
{
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    switch (field->kind) {
    case CW_KIND_NUMBER:
        cw_buf_text(out, *unit->name != '\0' ? unit->name : "number");
        if (field->least != 0 || field->most != 0)
            cw_buf_printf(out, ", %.6g to %.6g", cw_to_unit(field->least, unit), cw_to_unit(field->most, unit));
        return;
    case CW_KIND_CHOICE:
        for (const cw_choice *choice = field->choices; choice != NULL && choice->key != NULL; choice++)
            cw_buf_printf(out, "%s`%s`", choice == field->choices ? "" : ", ", choice->key);
        return;
    case CW_KIND_TEXT:
        cw_buf_text(out, "text");
        return;
    case CW_KIND_ROWS:
        cw_buf_text(out, "table");
        return;
    case CW_KIND_VERDICT:
        cw_buf_text(out, "verdict");
        return;
    case CW_KIND_DRAWING:
        cw_buf_text(out, "drawing: `--out FILE.svg`, `.pdf`, `.dxf`, `.png`");
        return;
    case CW_KIND_MESH:
        cw_buf_text(out, "body to print: `--out FILE.stl`");
        return;
    }
}

static void write_row(cw_buf *out, const cw_field *field, const char *before, bool input)
{
    cw_buf_printf(out, "| %s%s` | ", before, field->key);
    cell(out, field->label);
    cw_buf_text(out, " | ");
    write_kind(out, field);
    if (input) {
        cw_buf_text(out, " | ");
        if (field->required)
            cw_buf_text(out, "needed");
        else if (field->fallback != NULL)
            cell(out, field->fallback[0] != '\0' ? field->fallback : "empty");
        else
            cw_buf_text(out, "may be left out");
    }
    cw_buf_text(out, " | ");
    cell(out, field->help != NULL ? field->help : "");
    cw_buf_text(out, " |\n");
}

static void write_fields(cw_buf *out, const cw_field *fields, size_t count, bool input)
{
    cw_buf_text(
        out, input
                 ? "\n## In\n\n| Option | What | Unit, range or choice | If not given | How |\n|---|---|---|---|---|\n"
                 : "\n## Out\n\n| Key | What | Unit or kind | How to read it |\n|---|---|---|---|\n");
    for (size_t i = 0; i < count; i++) {
        write_row(out, &fields[i], input ? "`--" : "`", input);
        for (size_t c = 0; c < fields[i].column_count; c++)
            write_row(out, &fields[i].columns[c], "column `", input);
    }
}

static cw_status write_example(const cw_worksheet *sheet, cw_buf *out, cw_error *err)
{
    cw_sheet_in *in;
    cw_sheet_out *result;
    CW_TRY(cw_sheet_in_from_pairs(sheet, sheet->example, &in, err));
    cw_status status = cw_sheet_run(sheet, in, &result, err);
    if (status == CW_OK) {
        char *text = NULL;
        size_t length = 0;
        FILE *to = open_memstream(&text, &length);
        if (to == NULL) {
            status = cw_fail(err, CW_MEMORY, "no memory for the example");
        } else {
            cw_sheet_command_print(sheet, in, result, to);
            if (fclose(to) != 0)
                status = cw_fail(err, CW_MEMORY, "no memory for the example");
            else
                cw_buf_add(out, text, length);
            free(text);
        }
        cw_sheet_out_free(result);
    }
    cw_sheet_in_free(in);
    return status;
}

cw_status cw_manual_sheet_markdown(const cw_worksheet *sheet, cw_buf *out, cw_error *err)
{
    cw_buf_printf(out, "# %s\n\n%s\n", sheet->title, sheet->purpose);
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++)
        cw_buf_printf(out, "\n**Caution.** %s\n", cw_caution(sheet->cautions[i]));
    write_fields(out, sheet->inputs, sheet->input_count, true);
    write_fields(out, sheet->outputs, sheet->output_count, false);
    cw_buf_text(out, "\n## Example\n\nWith");
    for (const char *const *pair = sheet->example; pair[0] != NULL; pair += 2)
        cw_buf_printf(out, " `--%s \"%s\"`", pair[0], pair[1]);
    cw_buf_printf(out, ":\n\n```console\n$ camerawright %s --example\n", sheet->name);
    cw_status status = write_example(sheet, out, err);
    if (status != CW_OK) {
        cw_context(err, "example of %s", sheet->name);
        return status;
    }
    cw_buf_text(out, "```\n");
    for (size_t i = 0; sheet->sources != NULL && sheet->sources[i] != NULL; i++)
        cw_buf_printf(out, "%s- %s\n", i == 0 ? "\n## Sources\n\n" : "", sheet->sources[i]);
    return CW_OK;
}

void cw_manual_sheets_index(cw_buf *out)
{
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    cw_buf_text(out, "# Worksheets\n\nEach is a command, a form on the page and JSON, from one table. These pages are "
                     "written from the tables by `scripts/write-docs`.\n");
    for (size_t i = 0; i < count; i++) {
        if (i == 0 || strcmp(sheets[i]->group, sheets[i - 1]->group) != 0)
            cw_buf_printf(out, "\n## %s\n\n", sheets[i]->group);
        cw_buf_printf(out, "- [%s](%s.md): `camerawright %s`\n", sheets[i]->title, sheets[i]->name, sheets[i]->name);
    }
}

/* ---- words to translate ---- */

static void word(cw_buf *out, const char *text)
{
    if (text != NULL && text[0] != '\0')
        cw_buf_add(out, text, strlen(text) + 1);
}

static void field_words(cw_buf *out, const cw_field *fields, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        word(out, fields[i].label);
        word(out, fields[i].help);
        for (const cw_choice *choice = fields[i].choices; choice != NULL && choice->key != NULL; choice++)
            word(out, choice->label);
        for (size_t c = 0; c < fields[i].column_count; c++) {
            word(out, fields[i].columns[c].label);
            word(out, fields[i].columns[c].help);
        }
    }
}

void cw_manual_words(cw_buf *out)
{
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    for (size_t i = 0; i < count; i++) {
        word(out, sheets[i]->title);
        word(out, sheets[i]->group);
        word(out, sheets[i]->purpose);
        field_words(out, sheets[i]->inputs, sheets[i]->input_count);
        field_words(out, sheets[i]->outputs, sheets[i]->output_count);
        for (size_t c = 0; sheets[i]->cautions != NULL && sheets[i]->cautions[c] != NULL; c++)
            word(out, cw_caution(sheets[i]->cautions[c]));
    }
}
