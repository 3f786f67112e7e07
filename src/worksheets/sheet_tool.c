/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A result as a tool of the rack, and what a sheet asks of the tools that hang there already. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "worksheets/inside.h"

enum { DRAWING_MOST = 2 << 20 };

double cw_sheet_number(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, const char *key)
{
    size_t i = cw_sheet_field_index(sheet->outputs, sheet->output_count, key);
    if (out != NULL && i < sheet->output_count)
        return out->fields[i].cell.number.value;
    i = cw_sheet_field_index(sheet->inputs, sheet->input_count, key);
    return i < sheet->input_count ? in->fields[i].cell.number.value : NAN;
}

static char *sizes_text(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out)
{
    json_t *sizes = json_object();
    for (const char *const *pair = sheet->tool->sizes; pair[0] != NULL; pair += 2) {
        double size_m = cw_sheet_number(sheet, in, out, pair[1]);
        if (isfinite(size_m))
            json_object_set_new(sizes, pair[0], json_real(1e3 * size_m));
    }
    char *text = cw_json_written(sizes, CW_JSON_GIVEN_LINE);
    json_decref(sizes);
    return text;
}

static char *inputs_text(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out)
{
    json_t *result = cw_sheet_json(sheet, in, out);
    char *text = cw_json_written(json_object_get(result, "inputs"), CW_JSON_KEPT);
    json_decref(result);
    return text;
}

static cw_status drawing_text(const cw_worksheet *sheet, const cw_sheet_out *out, char **text, cw_error *err)
{
    cw_buf svg = cw_buf_new(DRAWING_MOST);
    cw_status status = CW_OK;
    for (size_t i = 0; i < sheet->output_count; i++)
        if (out->fields[i].drawing != NULL) {
            status = cw_drawing_svg(out->fields[i].drawing, &svg, err);
            break;
        }
    if (status == CW_OK)
        status = cw_buf_check(&svg, "the tool's drawing", err);
    if (status == CW_OK && (*text = cw_copy_text(cw_buf_string(&svg))) == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory for the tool's drawing");
    cw_buf_free(&svg);
    return status;
}

cw_status cw_sheet_make_tool(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out,
                             cw_sheet_made *made, cw_error *err)
{
    if (sheet->tool == NULL)
        return cw_fail(err, CW_INPUT, "\"%s\" makes no tool for the rack", sheet->title);
    cw_sheet_made texts = {sizes_text(sheet, in, out), NULL, inputs_text(sheet, in, out)};
    cw_status status = texts.sizes_json == NULL || texts.inputs_json == NULL
                           ? cw_fail(err, CW_MEMORY, "no memory to keep this tool")
                           : drawing_text(sheet, out, &texts.drawing_svg, err);
    if (status == CW_OK)
        *made = texts;
    else
        cw_sheet_made_free(&texts);
    return status;
}

void cw_sheet_made_free(cw_sheet_made *made)
{
    free(made->sizes_json);
    free(made->drawing_svg);
    free(made->inputs_json);
    *made = (cw_sheet_made){0};
}

bool cw_sheet_need(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out, cw_rack_need *need)
{
    if (sheet->tool == NULL)
        return false;
    cw_rack_need made = {sheet->tool->kind, NAN, NAN, NAN, NAN, NAN};
    const struct {
        const char *name;
        double *size_m;
    } places[] = {{"span", &made.span_m},
                  {"slot", &made.slot_m},
                  {"slot_length", &made.slot_length_m},
                  {"reach", &made.reach_m},
                  {"barrel", &made.barrel_m}};
    for (const char *const *pair = sheet->tool->need; pair[0] != NULL; pair += 2)
        for (size_t i = 0; i < CW_COUNT(places); i++)
            if (strcmp(places[i].name, pair[0]) == 0)
                *places[i].size_m = cw_sheet_number(sheet, in, out, pair[1]);
    if (!(made.span_m > 0))
        return false;
    *need = made;
    return true;
}
