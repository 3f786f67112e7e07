/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photos with their numbered marks, and drawings, as a page shows them. */
#ifndef CW_WEB_PICTURE_PARTS_H
#define CW_WEB_PICTURE_PARTS_H

#include "report/document.h"
#include "web/html.h"

/* A numbered mark in an SVG of that width and height; size: its radius. */
void cw_write_mark(cw_html *h, const cw_doc_mark *mark, double width, double height, double size);
/* Photos of a record side by side, each with its marks and caption, leading to its page; nothing where there are none.
 * Those without a number in the bench are left out. */
void cw_write_record_photos(cw_html *h, const cw_doc_photo *photos, size_t count);
/* A drawing with its caption, for who cannot see it too; kind: its class beside "plot". */
void cw_write_record_drawing(cw_html *h, const char *svg, const char *kind, const char *label, const char *caption);

#endif
