/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/qr.h"

#include <errno.h>
#include <qrencode.h>
#include <string.h>

enum { QUIET = 4 };

static bool is_dark(const QRcode *code, int x, int y)
{
    return x >= 0 && y >= 0 && x < code->width && y < code->width && (code->data[y * code->width + x] & 1) != 0;
}

/* One horizontal run of dark modules a rectangle: a path of "Mx,yhNv1h-Nz". */
static void write_row(cw_html *h, const QRcode *code, int y)
{
    for (int x = 0; x < code->width; x++) {
        int start = x;
        while (is_dark(code, x, y))
            x++;
        if (x > start)
            html_textf(h, "M%d,%dh%dv1h-%dz", start + QUIET, y + QUIET, x - start, x - start);
    }
}

void cw_qr_svg(cw_html *h, const char *text, const char *label)
{
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_M);
    if (code == NULL) {
        if (h->trouble.status == CW_OK)
            h->trouble.status = cw_fail(&h->trouble, CW_RANGE, "no QR code could be made: %s", strerror(errno));
        return;
    }
    int side = code->width + 2 * QUIET;
    html_markup(h, "<svg class='qr' role='img'");
    html_attr(h, "aria-label", label);
    html_attrf(h, "viewBox", "0 0 %d %d", side, side);
    html_markup(h, " shape-rendering='crispEdges'><path fill='#fff'");
    html_attrf(h, "d", "M0,0h%dv%dh-%dz", side, side, side);
    html_markup(h, "/><path fill='#000' d='");
    for (int y = 0; y < code->width; y++)
        write_row(h, code, y);
    html_markup(h, "'/></svg>");
    QRcode_free(code);
}

void cw_qr_print(const char *text, FILE *out)
{
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_L);
    if (code == NULL)
        return;
    for (int y = -QUIET; y < code->width + QUIET; y += 2) {
        fputs("  \033[30;47m", out); /* black on white whatever the terminal's colours */
        for (int x = -QUIET; x < code->width + QUIET; x++) {
            bool upper = is_dark(code, x, y), lower = is_dark(code, x, y + 1);
            fputs(upper && lower ? "\u2588" : upper ? "\u2580" : lower ? "\u2584" : " ", out);
        }
        fputs("\033[0m\n", out);
    }
    QRcode_free(code);
}
