/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An arrangement as a lens, as words and as JSON. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/buf.h"
#include "optics/order_inside.h"

static void add_surface(cw_lens *lens, double c, double t, double n, double semi)
{
    cw_surface *surface = &lens->surface[lens->count++];
    *surface = (cw_surface){.curvature_per_mm = c, .thickness_mm = t, .n = {NAN, n, NAN}, .semi_diameter_mm = semi};
    if (n == 1)
        surface->n[CW_LINE_F] = surface->n[CW_LINE_C] = 1;
}

/* The ring behind `place`: its gap, with the stop as a surface of its own when this ring holds it. */
static void close_gap(const cw_puzzle *p, const cw_arrangement *what, size_t place, double next_c, cw_lens *lens)
{
    const cw_spacer *ring = &p->spacer[what->spacer[place]];
    cw_surface *rear = &lens->surface[lens->count - 1];
    double sag = cw_sag_mm(rear->curvature_per_mm, 0, ring->contact_mm / 2);
    double gap = ring->length_mm.value + sag - cw_sag_mm(next_c, 0, ring->contact_mm / 2);
    rear->thickness_mm = isfinite(gap) && gap > 0 ? gap : 0;
    if (!p->stop_known || p->stop_spacer != what->spacer[place])
        return;
    double at = fmin(fmax(sag + p->stop_after_mm, 0), rear->thickness_mm), rest = rear->thickness_mm - at;
    rear->thickness_mm = at;
    lens->stop = lens->count;
    add_surface(lens, 0, rest, 1, NAN);
}

cw_status cw_order_lens(const cw_puzzle *p, const cw_arrangement *what, cw_lens *lens, cw_error *err)
{
    cw_lens made;
    memset(&made, 0, sizeof made);
    snprintf(made.name, sizeof made.name, "%s", p->name);
    made.stop = SIZE_MAX;
    made.f_number = p->f_number;
    made.half_field_deg = p->half_field_deg;
    made.beam_mm = NAN;
    for (size_t place = 0; place < p->group_count; place++) {
        const cw_loose_group *g = &p->group[what->group[place]];
        bool turned = what->turned[place];
        size_t m = g->glasses;
        if (!g->inside_known)
            return cw_fail(err, CW_RANGE, "the glass inside group %s is not known", g->label);
        for (size_t i = 0; i <= m; i++) {
            double c = turned ? -g->curvature[m - i].value : g->curvature[i].value;
            if (i == 0 && place > 0)
                close_gap(p, what, place - 1, c, &made);
            size_t k = turned ? m - 1 - i : i;
            add_surface(&made, c, i < m ? g->thickness_mm[k].value : 0, i < m ? g->n_d[k].value : 1,
                        g->diameter_mm / 2);
        }
    }
    if (made.stop == SIZE_MAX)
        made.stop = made.count;
    made.surface[made.count - 1].thickness_mm = p->back_focus_mm.value;
    *lens = made;
    return CW_OK;
}

void cw_arrangement_text(const cw_puzzle *p, const cw_arrangement *what, char *out, size_t size)
{
    cw_buf text = cw_buf_new(size > 0 ? size - 1 : 0);
    for (size_t i = 0; i < p->group_count; i++) {
        cw_buf_printf(&text, "%s%s%s", i > 0 ? " " : "", p->group[what->group[i]].label,
                      what->turned[i] ? " (turned)" : "");
        if (i + 1 < p->group_count)
            cw_buf_printf(&text, " - %s -", p->spacer[what->spacer[i]].label);
    }
    snprintf(out, size, "%s", cw_buf_string(&text));
    cw_buf_free(&text);
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *candidate_json(const cw_puzzle *p, const cw_order *order, size_t i)
{
    const cw_order_candidate *c = &order->candidate[i];
    json_t *names = json_array(), *turned = json_object(), *spacers = json_array();
    for (size_t k = 0; k < p->group_count; k++) {
        json_array_append_new(names, json_string(p->group[c->what.group[k]].label));
        json_object_set_new(turned, p->group[c->what.group[k]].label, json_boolean(c->what.turned[k]));
        if (k + 1 < p->group_count)
            json_array_append_new(spacers, json_string(p->spacer[c->what.spacer[k]].label));
    }
    json_t *made = json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "order", names, "turned", turned, "spacers",
                             spacers, "focal_length_mm", number(c->focal_length_mm.value), "u_focal_length_mm",
                             number(c->focal_length_mm.u), "back_focus_mm", number(c->back_focus_mm.value),
                             "u_back_focus_mm", number(c->back_focus_mm.u), "spot_axis_mm", number(c->spot_axis_mm),
                             "spot_field_mm", number(c->spot_field_mm), "probability", number(c->probability));
    if (made != NULL && c->alike != SIZE_MAX)
        json_object_set_new(made, "alike_to_candidate", json_integer((json_int_t)c->alike + 1));
    return made;
}

json_t *cw_order_json(const cw_puzzle *p, const cw_order *order)
{
    json_t *candidates = json_array(), *warnings = json_array();
    for (size_t i = 0; i < order->count; i++)
        json_array_append_new(candidates, candidate_json(p, order, i));
    for (size_t i = 0; i < order->warning_count; i++)
        json_array_append_new(warnings, json_string(order->warning[i]));
    json_t *next = json_pack("{s:s,s:s,s:o}", "what", order->next_what, "why", order->next_why, "expected_bits",
                             number(order->next_bits));
    return json_pack("{s:s,s:I,s:I,s:o,s:o,s:o,s:b,s:o,s:o}", "format", "camerawright.lens-order/1", "arrangements",
                     (json_int_t)order->arrangements, "possible", (json_int_t)order->possible, "candidates", candidates,
                     "none_of_these", number(order->none_probability), "others_not_shown",
                     number(order->other_probability), "decided", order->decided, "next_measurement", next, "warnings",
                     warnings);
}
