/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The files a worksheet's result is given out as. */
#include <stdio.h>
#include <string.h>

#include "draw/mesh.h"
#include "web/pages/sheet_run.h"

enum { FILE_MOST = 64 * 1024 * 1024 };

static cw_status write_file(const cw_sheet_page *page, const cw_field *field, const char *ending, const char *paper,
                            cw_buf *buf, const char **type, cw_error *err)
{
    const cw_drawing *drawing = field->kind == CW_KIND_DRAWING ? cw_sheet_out_drawing(page->out, field) : NULL;
    const cw_mesh *mesh = field->kind == CW_KIND_MESH ? cw_sheet_out_mesh(page->out, field) : NULL;
    if (drawing != NULL && strcmp(ending, ".svg") == 0) {
        *type = "image/svg+xml";
        return cw_drawing_svg(drawing, buf, err);
    }
    if (drawing != NULL && strcmp(ending, ".pdf") == 0) {
        *type = "application/pdf";
        return cw_drawing_pdf(drawing, paper, buf, err);
    }
    if (drawing != NULL && strcmp(ending, ".dxf") == 0) {
        *type = "image/vnd.dxf";
        return cw_drawing_dxf(drawing, buf, err);
    }
    if (mesh != NULL && strcmp(ending, ".stl") == 0) {
        *type = "model/stl";
        return cw_mesh_stl(mesh, buf, err);
    }
    return cw_fail(err, CW_NOT_FOUND, "this worksheet has no such file for these inputs");
}

static const cw_field *output_named(const cw_worksheet *sheet, const char *name, size_t length)
{
    for (size_t i = 0; i < sheet->output_count; i++)
        if (strlen(sheet->outputs[i].key) == length && strncmp(sheet->outputs[i].key, name, length) == 0)
            return &sheet->outputs[i];
    return NULL;
}

cw_status cw_sheet_reply_file(const cw_sheet_page *page, const char *name, const char *paper, cw_reply *reply,
                              cw_error *err)
{
    const char *ending = strrchr(name, '.');
    const cw_field *field = ending == NULL ? NULL : output_named(page->sheet, name, (size_t)(ending - name));
    if (field == NULL)
        return cw_fail(err, CW_NOT_FOUND, "this worksheet makes no file \"%.60s\"", name);
    cw_buf buf = cw_buf_new(FILE_MOST);
    const char *type = NULL;
    cw_status status = write_file(page, field, ending, paper, &buf, &type, err);
    char file_name[200];
    snprintf(file_name, sizeof file_name, "%s-%s", page->sheet->name, name);
    if (status == CW_OK)
        status = cw_reply_buffer(reply, &buf, type, file_name, err);
    cw_buf_free(&buf);
    return status;
}
