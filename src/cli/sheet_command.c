/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_command.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "cli/command.h"
#include "worksheets/cautions.h"

enum { OUT_MOST = 256 << 20, OPTIONS_MOST = 128, PICTURE_DPI = 300 };

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
    if (field->kind == CW_KIND_ROWS) {
        fprintf(out, "  %-22s rows as \"", "");
        for (size_t c = 0; c < field->column_count; c++)
            fprintf(out, "%s%s", c > 0 ? "," : "", field->columns[c].key);
        fputs(";...\" (| between cells when a decimal comma is meant):\n", out);
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
    fputs("\n  --json                 the result as JSON, numbers in SI units\n"
          "  --check                exit status 1 when a verdict is outside its limit\n"
          "  --out FILE             write the drawing: .svg, .pdf or .dxf at true size, .png, .stl for a printer\n"
          "  --paper NAME           of a .pdf: A4 unless given, A3, A2, Letter, Legal, Tabloid\n"
          "  --example              run the worked example\n",
          out);
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

/* A table whose columns are as wide as their widest cell. */
static void print_rows(const cw_sheet_out *out, const cw_field *field, FILE *to)
{
    enum { COLUMNS_MOST = 16 };
    char text[CW_ERROR_TEXT];
    int widths[COLUMNS_MOST] = {0};
    size_t rows = cw_sheet_out_rows(out, field);
    size_t columns = field->column_count < COLUMNS_MOST ? field->column_count : COLUMNS_MOST;
    for (size_t c = 0; c < columns; c++) {
        widths[c] = (int)strlen(field->columns[c].label);
        for (size_t r = 0; r < rows; r++) {
            cw_sheet_out_cell_shown(out, field, r, &field->columns[c], text, sizeof text);
            widths[c] = (int)strlen(text) > widths[c] ? (int)strlen(text) : widths[c];
        }
    }
    fprintf(to, "\n%s:\n ", field->label);
    for (size_t c = 0; c < columns; c++)
        fprintf(to, " %-*s", widths[c], field->columns[c].label);
    fputc('\n', to);
    for (size_t r = 0; r < rows; r++) {
        fputc(' ', to);
        for (size_t c = 0; c < columns; c++) {
            cw_sheet_out_cell_shown(out, field, r, &field->columns[c], text, sizeof text);
            fprintf(to, " %-*s", widths[c], text);
        }
        fputc('\n', to);
    }
}

void cw_sheet_command_print(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, FILE *to)
{
    (void)in;
    char text[CW_ERROR_TEXT];
    fprintf(to, "%s\n\n", sheet->title);
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
            fprintf(to, "%s: %s. %s\n", field->label, verdict_word(cw_sheet_out_verdict(out, field)), text);
        else
            fprintf(to, "%-34s %s\n", field->label, text);
    }
    for (size_t i = 0; i < cw_sheet_out_note_count(out); i++)
        fprintf(to, "\n%s\n", cw_sheet_out_note(out, i));
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++)
        fprintf(to, "\nCaution: %s\n", cw_caution(sheet->cautions[i]));
}

/* ---- drawings to files ---- */

static bool ends_with(const char *path, const char *ending)
{
    size_t np = strlen(path), ne = strlen(ending);
    return np > ne && strcasecmp(path + np - ne, ending) == 0;
}

static cw_status render(const cw_worksheet *sheet, const cw_sheet_out *out, const char *path, const char *paper,
                        cw_buf *bytes, cw_error *err)
{
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_drawing *drawing = cw_sheet_out_drawing(out, &sheet->outputs[i]);
        const cw_mesh *mesh = cw_sheet_out_mesh(out, &sheet->outputs[i]);
        if (drawing != NULL && ends_with(path, ".svg"))
            return cw_drawing_svg(drawing, bytes, err);
        if (drawing != NULL && ends_with(path, ".pdf"))
            return cw_drawing_pdf(drawing, paper, bytes, err);
        if (drawing != NULL && ends_with(path, ".dxf"))
            return cw_drawing_dxf(drawing, bytes, err);
        if (drawing != NULL && ends_with(path, ".png"))
            return cw_drawing_png(drawing, PICTURE_DPI, bytes, err);
        if (mesh != NULL && ends_with(path, ".stl"))
            return cw_mesh_stl(mesh, bytes, err);
    }
    return cw_fail(err, CW_INPUT,
                   "\"%s\" cannot be written: this worksheet has nothing to draw in that form; the endings are .svg, "
                   ".pdf, .dxf, .png for drawings and .stl for printed bodies",
                   path);
}

static cw_status write_drawing(const cw_worksheet *sheet, const cw_sheet_out *out, const char *path, const char *paper,
                               cw_error *err)
{
    cw_buf bytes = cw_buf_new(OUT_MOST);
    cw_status status = render(sheet, out, path, paper, &bytes, err);
    if (status == CW_OK)
        status = cw_buf_check(&bytes, "the drawing", err);
    if (status == CW_OK)
        status = cw_write_file(path, cw_buf_string(&bytes), bytes.length, err);
    cw_buf_free(&bytes);
    return status;
}

/* ---- running ---- */

static cw_status print_result(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *result, bool json,
                              FILE *out, cw_error *err)
{
    if (!json) {
        cw_sheet_command_print(sheet, in, result, out);
        return CW_OK;
    }
    json_t *object = cw_sheet_json(sheet, in, result);
    if (object == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the JSON");
    json_dumpf(object, out, JSON_INDENT(1));
    fputc('\n', out);
    json_decref(object);
    return CW_OK;
}

/* The fields' options first, then the face's own; the flags before those with a value. */
static const char *const face_options[] = {"json", "check", "example", "out", "paper"};
enum { FACE_FLAGS = 3 };

static cw_status collect(const cw_worksheet *sheet, size_t count, const char *const *args, cw_option *options,
                         const char **pairs, cw_error *err)
{
    size_t fields = sheet->input_count, operand_count, used = 0;
    if (fields + CW_COUNT(face_options) > OPTIONS_MOST)
        return cw_fail(err, CW_RANGE, "the worksheet \"%s\" has more than %d fields", sheet->name, OPTIONS_MOST);
    for (size_t i = 0; i < fields; i++)
        options[i] = (cw_option){.key = sheet->inputs[i].key};
    for (size_t i = 0; i < CW_COUNT(face_options); i++)
        options[fields + i] = (cw_option){.key = face_options[i], .is_flag = i < FACE_FLAGS};
    CW_TRY(cw_options_read(count, args, options, fields + CW_COUNT(face_options), NULL, 0, &operand_count, err));
    for (size_t i = 0; i < fields; i++)
        if (options[i].value != NULL) {
            pairs[used++] = options[i].key;
            pairs[used++] = options[i].value;
        }
    pairs[used] = NULL;
    return CW_OK;
}

cw_status cw_sheet_command_run(const cw_worksheet *sheet, size_t count, const char *const *args, FILE *out,
                               bool *outside, cw_error *err)
{
    cw_option options[OPTIONS_MOST];
    const char *typed[2 * OPTIONS_MOST + 1];
    size_t option_count = sheet->input_count + CW_COUNT(face_options);
    CW_TRY(collect(sheet, count, args, options, typed, err));
    bool example = cw_option_given(options, option_count, "example");
    if (example && typed[0] != NULL)
        return cw_fail(err, CW_INPUT, "--example stands alone: it brings its own values");

    cw_sheet_in *in;
    cw_sheet_out *result;
    CW_TRY(cw_sheet_in_from_pairs(sheet, example ? sheet->example : typed, &in, err));
    cw_status status = cw_sheet_run(sheet, in, &result, err);
    if (status == CW_OK) {
        const char *path = cw_option_value(options, option_count, "out"),
                   *paper = cw_option_value(options, option_count, "paper");
        if (path != NULL) /* first, so that a refusal does not follow a result */
            status = write_drawing(sheet, result, path, paper != NULL ? paper : "A4", err);
        if (status == CW_OK)
            status = print_result(sheet, in, result, cw_option_given(options, option_count, "json"), out, err);
        *outside =
            cw_option_given(options, option_count, "check") && cw_sheet_worst(sheet, result) == CW_VERDICT_OUTSIDE;
        cw_sheet_out_free(result);
    }
    cw_sheet_in_free(in);
    return status;
}
