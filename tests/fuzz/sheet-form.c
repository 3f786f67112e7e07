/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A filled-in form of any worksheet: the first line names it, each further line is key=value. It gives a sentence, or a
 * result without a number that is not finite, whose drawings can be written. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "worksheets/worksheet.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { PAIRS_MOST = 64, TEXT_MOST = 4096 };

static void check_finite(const json_t *value)
{
    const char *key;
    json_t *inner;
    size_t index;
    if (json_is_real(value) && !isfinite(json_real_value(value)))
        abort();
    json_object_foreach((json_t *)value, key, inner) check_finite(inner);
    json_array_foreach(value, index, inner) check_finite(inner);
}

static void check_result(const cw_worksheet *sheet, const cw_sheet_in *in, const cw_sheet_out *out)
{
    json_t *json = cw_sheet_json(sheet, in, out);
    if (json == NULL)
        abort();
    check_finite(json);
    json_decref(json);
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_drawing *drawing = cw_sheet_out_drawing(out, &sheet->outputs[i]);
        cw_buf svg = cw_buf_new(64 << 20);
        cw_error err;
        if (drawing != NULL && cw_drawing_svg(drawing, &svg, &err) != CW_OK)
            abort();
        cw_buf_free(&svg);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char text[TEXT_MOST];
    if (size >= sizeof text || memchr(data, '\0', size) != NULL)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    char *rest = text;
    const cw_worksheet *sheet = cw_worksheet_find(strsep(&rest, "\n"));
    if (sheet == NULL)
        return 0;
    const char *pairs[2 * PAIRS_MOST + 1];
    size_t used = 0;
    for (char *line; used < 2 * PAIRS_MOST && (line = strsep(&rest, "\n")) != NULL;) {
        char *value = line;
        strsep(&value, "=");
        if (value == NULL)
            continue;
        pairs[used++] = line;
        pairs[used++] = value;
    }
    pairs[used] = NULL;
    cw_error err = {0};
    cw_sheet_in *in = NULL;
    cw_sheet_out *out = NULL;
    cw_status status = cw_sheet_in_from_pairs(sheet, pairs, &in, &err);
    if (status == CW_OK)
        status = cw_sheet_run(sheet, in, &out, &err);
    if (status == CW_OK)
        check_result(sheet, in, out);
    else if (err.text[0] == '\0')
        abort();
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
    return 0;
}
