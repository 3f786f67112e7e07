/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/picture_parts.h"

#include <inttypes.h>
#include <math.h>

#include "notebook/photo.h"

void cw_write_mark(cw_html *h, const cw_doc_mark *mark, double width, double height, double size)
{
    double x = mark->x * width, y = mark->y * height;
    html_markup(h, "<g class='mark'>");
    if (isfinite(mark->hook_deg)) {
        double angle = mark->hook_deg * M_PI / 180, reach = 2.6 * size;
        html_markup(h, "<path class='hook'");
        html_attrf(h, "d", "M%.1f %.1fL%.1f %.1f", x, y, x + reach * cos(angle), y - reach * sin(angle));
        html_markup(h, "/>");
    }
    html_markup(h, "<circle");
    html_attrf(h, "cx", "%.1f", x);
    html_attrf(h, "cy", "%.1f", y);
    html_attrf(h, "r", "%.1f", size);
    html_markup(h, "/><text text-anchor='middle'");
    html_attrf(h, "x", "%.1f", x);
    html_attrf(h, "y", "%.1f", y + 0.36 * size);
    html_attrf(h, "font-size", "%.1f", 1.1 * size);
    html_markup(h, ">");
    html_textf(h, "%d", mark->number);
    html_markup(h, "</text></g>");
}

/* The middle picture is at most 480 dots on its longer side; the marks lie over it in half of them. */
static void write_shot(cw_html *h, const cw_doc_photo *photo)
{
    double longer = fmax(photo->width_px, photo->height_px), scale = fmin(1, CW_THUMB_MIDDLE / longer);
    double width = fmax(1, round(photo->width_px * scale)), height = fmax(1, round(photo->height_px * scale));
    html_markup(h, "<a");
    html_attrf(h, "href", "/photos/%" PRId64, photo->id);
    html_markup(h, "><img loading='lazy'");
    html_attrf(h, "src", "/photos/%" PRId64 "/middle", photo->id);
    html_attrf(h, "width", "%.0f", width);
    html_attrf(h, "height", "%.0f", height);
    if (photo->caption != NULL && photo->caption[0] != '\0')
        html_attr(h, "alt", photo->caption);
    else
        html_attrf(h, "alt", "photo %" PRId64, photo->id);
    html_markup(h, ">");
    if (photo->mark_count > 0) {
        html_markup(h, "<svg aria-hidden='true'");
        html_attrf(h, "viewBox", "0 0 %.0f %.0f", width, height);
        html_markup(h, ">");
        for (size_t i = 0; i < photo->mark_count; i++)
            cw_write_mark(h, &photo->marks[i], width, height, 20);
        html_markup(h, "</svg>");
    }
    html_markup(h, "</a>");
}

void cw_write_record_photos(cw_html *h, const cw_doc_photo *photos, size_t count)
{
    bool any = false;
    for (size_t i = 0; i < count; i++) {
        if (photos[i].id == 0 || photos[i].width_px <= 0 || photos[i].height_px <= 0)
            continue;
        if (!any)
            html_markup(h, "<div class='record'>");
        any = true;
        html_markup(h, "<figure>");
        write_shot(h, &photos[i]);
        if (photos[i].caption != NULL && photos[i].caption[0] != '\0') {
            html_markup(h, "<figcaption>");
            html_text(h, photos[i].caption);
            html_markup(h, "</figcaption>");
        }
        html_markup(h, "</figure>");
    }
    if (any)
        html_markup(h, "</div>\n");
}

void cw_write_record_drawing(cw_html *h, const char *svg, const char *kind, const char *label, const char *caption)
{
    cw_buf copy = cw_buf_new(CW_HTML_MOST);
    cw_buf_text(&copy, svg);
    html_markup(h, "<figure");
    html_attrf(h, "class", "plot %s", kind);
    html_markup(h, "><div class='scroll' tabindex='0' role='group'");
    html_attr(h, "aria-label", label);
    html_markup(h, ">");
    html_svg(h, &copy);
    html_markup(h, "</div><figcaption>");
    html_said(h, caption);
    html_markup(h, "</figcaption></figure>\n");
}
