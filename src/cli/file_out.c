/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/file_out.h"

#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/json.h"

enum { OUT_MOST = 256 << 20, PICTURE_DPI = 300 };

static bool ends_with(const char *path, const char *ending)
{
    size_t np = strlen(path), ne = strlen(ending);
    return np > ne && strcasecmp(path + np - ne, ending) == 0;
}

static cw_status render(const char *path, const cw_drawing *drawing, const cw_mesh *mesh, const char *paper,
                        cw_buf *bytes, cw_error *err)
{
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
    return cw_fail(err, CW_INPUT, "\"%s\" cannot be written: %s", path,
                   drawing == NULL && mesh == NULL
                       ? "there is nothing to draw in this result"
                       : (mesh == NULL ? "the drawing can be had as .svg, .pdf, .dxf or .png"
                                       : "there is a drawing for .svg, .pdf, .dxf or .png and a body for .stl"));
}

cw_status cw_write_drawing(const char *path, const cw_drawing *drawing, const cw_mesh *mesh, const char *paper,
                           cw_error *err)
{
    cw_buf bytes = cw_buf_new(OUT_MOST);
    cw_status status = render(path, drawing, mesh, paper, &bytes, err);
    if (status == CW_OK)
        status = cw_buf_check(&bytes, "the drawing", err);
    if (status == CW_OK)
        status = cw_write_file(path, cw_buf_string(&bytes), bytes.length, err);
    cw_buf_free(&bytes);
    return status;
}

static cw_status print_json(FILE *out, json_t *json, cw_json_form form, cw_error *err)
{
    char *text = cw_json_written(json, form);
    json_decref(json);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the result as JSON");
    fprintf(out, "%s\n", text);
    free(text);
    return CW_OK;
}

cw_status cw_print_json(FILE *out, json_t *json, cw_error *err)
{
    return print_json(out, json, CW_JSON_GIVEN, err);
}

cw_status cw_print_json_line(FILE *out, json_t *json, cw_error *err)
{
    return print_json(out, json, CW_JSON_GIVEN_LINE, err);
}
