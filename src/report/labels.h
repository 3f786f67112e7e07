/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Round labels for the caps of parts trays: a number to read, a QR code for the phone, a line of words. */
#ifndef CW_REPORT_LABELS_H
#define CW_REPORT_LABELS_H

#include <stddef.h>

#include "base/buf.h"
#include "base/error.h"

typedef struct {
    long number;      /* 0 to 99999 */
    const char *line; /* one line under it, cut with an ellipsis where the cap is too narrow; NULL or "": none */
    const char *qr;   /* what the code says, such as the tray's page; NULL or "": no code, a larger number */
} cw_label;

typedef struct {
    const char *paper;  /* "A4", "Letter" ... */
    double diameter_mm; /* of the cap, 10 to 100 */
    const char *title;  /* at the head of the sheet; NULL: none */
    size_t skip;        /* places at the start that were used up before */
} cw_label_sheet;

/* A PDF of sheets with circles to cut out, at true size with a check bar of 50 mm. The code has error correction level
 * M and a quiet zone of four modules (ISO/IEC 18004). Modules smaller than 0.35 mm are refused, for a phone held by
 * hand would not read them: CW_RANGE says the smallest cap that does. CW_RANGE: no label, impossible diameter, too
 * many. */
cw_status cw_labels_pdf(const cw_label_sheet *sheet, const cw_label *labels, size_t count, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));

/* How many labels fit one sheet. CW_INPUT, CW_RANGE as above. */
cw_status cw_labels_a_sheet(const cw_label_sheet *sheet, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));

#endif
