/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/lens_out.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"

enum { DRAWING_MOST = 64 * 1024 * 1024 };

cw_status cw_write_drawing(const char *path, const cw_drawing *drawing, cw_error *err)
{
    const char *dot = strrchr(path, '.');
    cw_buf bytes = cw_buf_new(DRAWING_MOST);
    cw_status status;
    if (dot != NULL && strcmp(dot, ".svg") == 0)
        status = cw_drawing_svg(drawing, &bytes, err);
    else if (dot != NULL && strcmp(dot, ".pdf") == 0)
        status = cw_drawing_pdf(drawing, "A4", &bytes, err);
    else if (dot != NULL && strcmp(dot, ".dxf") == 0)
        status = cw_drawing_dxf(drawing, &bytes, err);
    else
        status = cw_fail(err, CW_INPUT, "\"%s\": the drawing can be written as .svg, .pdf or .dxf", path);
    if (status == CW_OK)
        status = cw_buf_check(&bytes, "the drawing", err);
    if (status == CW_OK)
        status = cw_write_file(path, bytes.text, bytes.length, err);
    cw_buf_free(&bytes);
    return status;
}

cw_status cw_print_json(FILE *out, json_t *json, cw_error *err)
{
    char *text = json != NULL ? json_dumps(json, JSON_INDENT(1) | JSON_REAL_PRECISION(12)) : NULL;
    json_decref(json);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the result as JSON");
    fprintf(out, "%s\n", text);
    free(text);
    return CW_OK;
}
