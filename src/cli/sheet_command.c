/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_command.h"
#include "cli/print.h"

#include <stdlib.h>
#include <string.h>

#include "base/say.h"
#include "base/utf8.h"
#include "cli/command.h"
#include "cli/file_out.h"
#include "cli/sheet_against.h"
#include "cli/sheet_keep.h"
#include "cli/sheet_material.h"
#include "worksheets/cautions.h"

/* The flags before those with a value. */
const char *const cw_sheet_face_options[] = {"json", "check",    "example", "keep",    "keep-tool", "out",  "paper",
                                             "job",  "for-part", "title",   "against", "bench",     "when", NULL};
enum { FACE_FLAGS = 5, FACE_OPTIONS = CW_COUNT(cw_sheet_face_options) - 1 };

enum { OPTIONS_MOST = 128, CELL_MOST = 64 * 1024 };

/* ---- help ---- */

static void print_limits(const cw_field *field, FILE *out)
{
    if (field->kind != CW_KIND_NUMBER || (field->least == 0 && field->most == 0))
        return;
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    fprintf(out, " [%.6g to %.6g]", cw_to_unit(field->least, unit), cw_to_unit(field->most, unit));
}

static void print_input_help(const cw_field *field, FILE *out)
{
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    bool has_unit = field->kind == CW_KIND_NUMBER && *unit->name != '\0';
    fprintf(out, "  --%-20s %s%s%s%s", field->key, field->label, has_unit ? ", " : "", has_unit ? unit->name : "",
            field->required ? " (needed)" : "");
    print_limits(field, out);
    if (field->fallback != NULL)
        fprintf(out, " (%s unless given)", field->fallback);
    fputc('\n', out);
    if (field->help != NULL)
        fprintf(out, "  %-22s %s\n", "", field->help);
    for (const cw_choice *choice = field->choices; choice != NULL && choice->key != NULL; choice++)
        fprintf(out, "  %-22s   %s: %s\n", "", choice->key, choice->label);
    if (cw_field_takes(field) != CW_TAKES_NONE)
        fprintf(out, "  %-22s   or the name of a material of your own (camerawright material list)\n", "");
    if (field->kind == CW_KIND_ROWS) {
        fprintf(out, "  %-22s rows as \"", "");
        for (size_t c = 0; c < field->column_count; c++)
            fprintf(out, "%s%s", c > 0 ? "," : "", field->columns[c].key);
        fprintf(out, ";...\" (| between cells when a decimal comma is meant):\n");
        for (size_t c = 0; c < field->column_count; c++) {
            const cw_field *column = &field->columns[c];
            const cw_unit *cell_unit = cw_unit_find(column->dimension, column->unit);
            fprintf(out, "  %-22s   %s: %s%s%s%s\n", "", column->key, column->label, *cell_unit->name ? ", " : "",
                    cell_unit->name, column->required ? " (needed)" : "");
        }
    }
}

void cw_sheet_command_help(const cw_worksheet *sheet, FILE *out)
{
    fprintf(out, "usage: camerawright %s --key value ... [--json] [--check] [--out FILE]\n", sheet->name);
    fprintf(out, "       camerawright %s --example\n\n%s\n\n%s\n\n", sheet->name, sheet->title, sheet->purpose);
    for (size_t i = 0; i < sheet->input_count; i++)
        print_input_help(&sheet->inputs[i], out);
    fprintf(out,
            "\n  --json                 the result as JSON, numbers in SI units\n"
            "  --check                exit status 1 when a verdict is outside its limit\n"
            "  --out FILE             write the drawing: .svg, .pdf or .dxf at true size, .png, .stl for a printer\n"
            "  --paper NAME           of a .pdf: A4 unless given, A3, A2, Letter, Legal, Tabloid\n"
            "  --example              run the worked example\n"
            "  --keep --job N         keep the result in a job; --for-part N: as how that part is to be made;\n"
            "                         --title TEXT: what it is for; --bench FOLDER;\n"
            "                         --when before|after: it says how the camera was, or is\n"
            "  --against KEY=VALUE;...  a second design with these inputs changed, side by side\n");
    if (sheet->tool != NULL)
        fprintf(
            out,
            "  --keep-tool            hang it up in the rack as a tool made (--title TEXT, --job N it was made for)\n");
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++)
        fprintf(out, "\nCaution: %s\n", cw_caution(sheet->cautions[i]));
    for (size_t i = 0; sheet->sources != NULL && sheet->sources[i] != NULL; i++)
        fprintf(out, "%sSource: %s\n", i == 0 ? "\n" : "", sheet->sources[i]);
}

/* ---- result ---- */

static const char *verdict_word(cw_verdict verdict)
{
    static const char *const words[] = {[CW_VERDICT_INSIDE] = "yes",
                                        [CW_VERDICT_OUTSIDE] = "NO",
                                        [CW_VERDICT_TOO_CLOSE] = "TOO CLOSE TO CALL",
                                        [CW_VERDICT_UNKNOWN] = "not known"};
    return words[verdict];
}

/* One cell of a table: row 0 is the labels. In the reader's words. */
static cw_buf cell_of(const cw_sheet_out *out, const cw_field *field, size_t row, size_t column)
{
    char text[CW_ERROR_TEXT];
    cw_buf told = cw_buf_new(CELL_MOST);
    if (row > 0)
        cw_sheet_out_cell_shown(out, field, row - 1, &field->columns[column], text, sizeof text);
    cw_tell(&told, row > 0 ? text : field->columns[column].label);
    return told;
}

/* A table whose columns are as wide as their widest cell. */
static void print_rows(const cw_sheet_out *out, const cw_field *field, FILE *to)
{
    enum { COLUMNS_MOST = 16 };
    size_t widths[COLUMNS_MOST] = {0}, rows = cw_sheet_out_rows(out, field) + 1;
    size_t columns = field->column_count < COLUMNS_MOST ? field->column_count : COLUMNS_MOST;
    cw_print(to, "\n%s:\n", field->label);
    const cw_manner *before = cw_manner_use(cw_print_manner());
    for (size_t i = 0; i < rows * columns; i++) {
        cw_buf cell = cell_of(out, field, i / columns, i % columns);
        size_t width = cw_utf8_length(cw_buf_string(&cell));
        widths[i % columns] = width > widths[i % columns] ? width : widths[i % columns];
        cw_buf_free(&cell);
    }
    for (size_t row = 0; row < rows; row++) {
        fputc(' ', to);
        for (size_t c = 0; c < columns; c++) {
            cw_buf cell = cell_of(out, field, row, c);
            const char *text = cw_buf_string(&cell);
            fprintf(to, " %s%*s", text, (int)(widths[c] - cw_utf8_length(text)), "");
            cw_buf_free(&cell);
        }
        fputc('\n', to);
    }
    cw_manner_use(before);
}

void cw_sheet_command_print(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, FILE *to)
{
    char text[CW_ERROR_TEXT];
    cw_print(to, "%s\n\n", sheet->title);
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_field *field = &sheet->outputs[i];
        if (field->kind == CW_KIND_ROWS) {
            if (cw_sheet_out_rows(out, field) > 0)
                print_rows(out, field, to);
            continue;
        }
        cw_sheet_out_shown(sheet, out, field, text, sizeof text);
        if (text[0] == '\0')
            continue;
        if (field->kind == CW_KIND_VERDICT)
            cw_print_told(to, "%s: %s. %s\n", field->label, verdict_word(cw_sheet_out_verdict(out, field)), text);
        else
            cw_print_told(to, "%-34s %s\n", field->label, text);
    }
    for (size_t i = 0; i < cw_sheet_out_note_count(out); i++)
        cw_print_told(to, "\n%s\n", cw_sheet_out_note(out, i));
    bool own;
    for (size_t i = 0; cw_sheet_in_material(in, i, text, sizeof text, &own); i++)
        if (own)
            cw_print(to, "\nYour material %s\n", text);
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++)
        cw_print(to, "\nCaution: %s\n", cw_caution(sheet->cautions[i]));
}

/* ---- running ---- */

/* Of the first output that can be written in the path's form. */
static cw_status write_drawing(const cw_worksheet *sheet, const cw_sheet_out *out, const char *path, const char *paper,
                               cw_error *err)
{
    const cw_drawing *drawing = NULL;
    const cw_mesh *mesh = NULL;
    for (size_t i = 0; i < sheet->output_count; i++) {
        drawing = drawing != NULL ? drawing : cw_sheet_out_drawing(out, &sheet->outputs[i]);
        mesh = mesh != NULL ? mesh : cw_sheet_out_mesh(out, &sheet->outputs[i]);
    }
    return cw_write_drawing(path, drawing, mesh, paper, err);
}

/* The fields' options first, then the face's own. */
static cw_status collect(const cw_worksheet *sheet, size_t count, const char *const *args, cw_option *options,
                         const char **pairs, cw_error *err)
{
    size_t fields = sheet->input_count, operand_count, used = 0;
    if (fields + FACE_OPTIONS > OPTIONS_MOST)
        return cw_fail(err, CW_RANGE, "the worksheet \"%s\" has more than %d fields", sheet->name, OPTIONS_MOST);
    for (size_t i = 0; i < fields; i++)
        options[i] = (cw_option){.key = sheet->inputs[i].key};
    for (size_t i = 0; i < FACE_OPTIONS; i++)
        options[fields + i] = (cw_option){.key = cw_sheet_face_options[i], .is_flag = i < FACE_FLAGS};
    CW_TRY(cw_options_read(count, args, options, fields + FACE_OPTIONS, NULL, 0, &operand_count, err));
    for (size_t i = 0; i < fields; i++)
        if (options[i].value != NULL) {
            pairs[used++] = options[i].key;
            pairs[used++] = options[i].value;
        }
    pairs[used] = NULL;
    return CW_OK;
}

/* The file first, so that a refusal does not follow a result. With --json nothing but JSON reaches the output. */
static cw_status give_out(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *result,
                          const cw_option *options, size_t option_count, const cw_sheet_keep *keep, FILE *out,
                          cw_error *err)
{
    const char *path = cw_option_value(options, option_count, "out"),
               *paper = cw_option_value(options, option_count, "paper");
    bool json = cw_option_given(options, option_count, "json");
    if (path != NULL)
        CW_TRY(write_drawing(sheet, result, path, paper != NULL ? paper : "A4", err));
    if (!json)
        cw_sheet_command_print(sheet, in, result, out);
    if (keep->as_tool || keep->in_job)
        CW_TRY(cw_sheet_keep_run(sheet, in, result, keep, json ? stderr : out, err));
    return json ? cw_print_json(out, cw_sheet_json(sheet, in, result), err) : CW_OK;
}

cw_status cw_sheet_command_run(const cw_worksheet *sheet, size_t count, const char *const *args, FILE *out,
                               bool *outside, cw_error *err)
{
    cw_option options[OPTIONS_MOST];
    const char *typed[2 * OPTIONS_MOST + 1];
    size_t option_count = sheet->input_count + FACE_OPTIONS;
    CW_TRY(collect(sheet, count, args, options, typed, err));
    bool example = cw_option_given(options, option_count, "example");
    if (example && typed[0] != NULL)
        return cw_fail(err, CW_INPUT, "--example stands alone: it brings its own values");

    cw_sheet_keep keep = {
        cw_option_given(options, option_count, "keep-tool"), cw_option_given(options, option_count, "keep"),
        cw_option_value(options, option_count, "bench"),     cw_option_value(options, option_count, "job"),
        cw_option_value(options, option_count, "for-part"),  cw_option_value(options, option_count, "title"),
        cw_option_value(options, option_count, "when")};
    CW_TRY(cw_sheet_keep_check(sheet, &keep, err));

    cw_sheet_in *in;
    cw_sheet_out *result;
    CW_TRY(cw_sheet_in_of_bench(sheet, example ? sheet->example : typed, keep.bench, &in, err));
    cw_status status = cw_sheet_run(sheet, in, &result, err);
    if (status == CW_OK) {
        const char *against = cw_option_value(options, option_count, "against");
        if (against != NULL)
            status = cw_sheet_against(sheet, example ? sheet->example : typed, keep.bench, in, result, against,
                                      cw_option_given(options, option_count, "json"), out, err);
        else
            status = give_out(sheet, in, result, options, option_count, &keep, out, err);
        *outside =
            cw_option_given(options, option_count, "check") && cw_sheet_worst(sheet, result) == CW_VERDICT_OUTSIDE;
        cw_sheet_out_free(result);
    }
    cw_sheet_in_free(in);
    return status;
}
