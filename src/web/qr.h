/* SPDX-License-Identifier: GPL-3.0-or-later */
/* QR codes by libqrencode: on a page as SVG, in a terminal as half blocks. */
#ifndef CW_WEB_QR_H
#define CW_WEB_QR_H

#include <stdio.h>

#include "web/html.h"

/* An <svg class='qr'> with the words in `label` as its name. A text too long for a code remembers trouble in h. */
void cw_qr_svg(cw_html *h, const char *text, const char *label);
/* Dark on light, with the quiet margin of four modules that ISO/IEC 18004 asks. Nothing when it does not fit. */
void cw_qr_print(const char *text, FILE *out);

#endif
