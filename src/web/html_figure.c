/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/html.h"

void html_drawing(cw_html *h, const cw_drawing *drawing)
{
    cw_error err = {0};
    if (cw_drawing_svg(drawing, &h->buf, &err) != CW_OK && h->trouble.status == CW_OK)
        h->trouble = err;
}

void html_svg(cw_html *h, cw_buf *svg)
{
    if (svg->failed)
        h->buf.failed = true;
    cw_buf_add(&h->buf, cw_buf_string(svg), svg->length);
    cw_buf_free(svg);
}
