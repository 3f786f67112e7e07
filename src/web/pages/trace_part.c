/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot as the sensors saw it, as a figure. */
#include "report/shot_trace.h"
#include "web/pages/recording_parts.h"

cw_status cw_write_trace(cw_html *h, cw_source *source, const cw_shot *shot, const json_t *recording, double from_s,
                         double to_s, cw_error *err)
{
    cw_buf svg = cw_buf_new(CW_HTML_MOST);
    cw_status status = cw_shot_trace_svg(source, shot, recording, from_s, to_s, &svg, err);
    if (status == CW_OK) {
        html_markup(h, "<figure class='plot trace'><div class='scroll' tabindex='0' role='group' aria-label='Traces'>");
        html_svg(h, &svg);
        html_markup(h, "</div></figure>\n");
    }
    cw_buf_free(&svg);
    return status;
}
