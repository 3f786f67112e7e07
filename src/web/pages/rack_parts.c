/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/rack_parts.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "base/unit.h"

static const char *state_word(cw_rack_state state)
{
    static const char *const words[] = {"fits", "file it", "loose", "will not do"};
    return words[state];
}

static const char *state_class(cw_rack_state state)
{
    static const char *const classes[] = {"verdict good", "verdict close", "verdict close", "verdict bad"};
    return classes[state];
}

static void write_unsized(cw_html *h, size_t count)
{
    if (count == 0)
        return;
    html_markup(h, "<p class='soft'>");
    html_textf(h, "%zu not compared: no span noted, or a kind that sizes do not decide about.", count);
    html_markup(h, "</p>\n");
}

void cw_write_rack_answer(cw_html *h, const cw_tool_answer *answer, size_t shown)
{
    char words[CW_ERROR_TEXT];
    cw_tool_answer_words(answer, words, sizeof words);
    html_markup(h, "<p");
    html_attr(h, "class", answer->count == 0 ? "verdict" : state_class(answer->items[0].match.state));
    html_markup(h, "><strong>");
    html_sentence(h, words);
    html_markup(h, "</strong></p>\n");
    write_unsized(h, answer->unsized);
    if (answer->count == 0)
        return;
    html_markup(h, "<ol class='lines'>");
    for (size_t i = 0; i < answer->count && i < shown; i++) {
        const cw_tool_match *m = &answer->items[i];
        html_markup(h, "<li><a");
        html_attrf(h, "href", "/tools/%" PRId64, m->tool->id);
        html_markup(h, "><strong>");
        html_text(h, m->tool->name);
        html_markup(h, "</strong> <span class='soft'>");
        html_textf(h, "%s%s", m->tool->place, m->tool->place[0] != '\0' ? "; " : "");
        if (m->match.state != CW_RACK_FITS)
            html_textf(h, "%s: ", state_word(m->match.state));
        html_said(h, m->match.words);
        html_markup(h, "</span></a></li>\n");
    }
    html_markup(h, "</ol>\n");
    if (answer->count > shown) {
        html_markup(h, "<p class='soft'>");
        html_textf(h, "%zu more of the kind serve worse.", answer->count - shown);
        html_markup(h, "</p>\n");
    }
}

json_t *cw_rack_answer_json(const cw_tool_answer *answer)
{
    static const char *const uses[] = {"fits", "file", "loose", "cannot"};
    char words[CW_ERROR_TEXT];
    cw_tool_answer_words(answer, words, sizeof words);
    json_t *list = json_array();
    for (size_t i = 0; i < answer->count; i++) {
        const cw_tool_match *m = &answer->items[i];
        json_array_append_new(list,
                              json_pack("{s:I,s:s,s:s,s:s,s:s}", "id", (json_int_t)m->tool->id, "name", m->tool->name,
                                        "place", m->tool->place, "use", uses[m->match.state], "words", m->match.words));
    }
    return json_pack("{s:s,s:o}", "answer", words, "tools", list);
}

static cw_status length_asked(const cw_request *request, const char *name, const char *label, double *length_m,
                              cw_error *err)
{
    const char *typed = cw_value(request, name, "");
    *length_m = NAN;
    if (typed[0] == '\0')
        return CW_OK;
    cw_status status = cw_parse_measure(typed, CW_LENGTH, "mm", length_m, err);
    if (status != CW_OK)
        cw_context(err, "%s", label);
    return status;
}

cw_status cw_rack_need_read(const cw_request *request, cw_rack_need *need, bool *asked, cw_error *err)
{
    cw_rack_need made = {.kind = CW_RACK_TWO_BLADE};
    const char *kind = cw_value(request, "kind", "two-blade");
    if (!cw_rack_kind_find(kind, &made.kind))
        return cw_fail(err, CW_INPUT, "\"%.40s\" is no kind of tool that sizes decide about", kind);
    CW_TRY(length_asked(request, "span", "Span", &made.span_m, err));
    CW_TRY(length_asked(request, "slot", "Slot or hole", &made.slot_m, err));
    CW_TRY(length_asked(request, "slot-length", "Slot length", &made.slot_length_m, err));
    CW_TRY(length_asked(request, "reach", "Depth to reach", &made.reach_m, err));
    CW_TRY(length_asked(request, "barrel", "Diameter to clear", &made.barrel_m, err));
    *asked = !isnan(made.span_m);
    *need = made;
    return CW_OK;
}

void cw_write_rack_question(cw_request *request, cw_html *h)
{
    cw_option_item kinds[CW_RACK_KIND_COUNT];
    for (int i = 0; i < CW_RACK_KIND_COUNT; i++)
        kinds[i] = (cw_option_item){cw_rack_kind_key((cw_rack_kind)i), cw_rack_kind_name((cw_rack_kind)i)};
    html_markup(h, "<form method='get' action='/tools'>");
    cw_field_choice(request, h, "kind", "Looked for", "two-blade", kinds, CW_RACK_KIND_COUNT, NULL);
    html_markup(h, "<div class='pair'>");
    const cw_input inputs[] = {
        {.name = "span", .label = "Span, or diameter to grip", .unit = "mm", .mode = "decimal", .example = "23.4"},
        {.name = "slot", .label = "Slot width, or hole", .unit = "mm", .mode = "decimal", .example = "1.2"},
        {.name = "slot-length", .label = "Slot length", .unit = "mm", .mode = "decimal"},
        {.name = "reach", .label = "Depth to reach", .unit = "mm", .mode = "decimal"},
        {.name = "barrel", .label = "Diameter to clear", .unit = "mm", .mode = "decimal"},
    };
    for (size_t i = 0; i < CW_COUNT(inputs); i++)
        cw_field_input(request, h, &inputs[i]);
    html_markup(h, "</div><div class='actions'><button class='main'>Have I something?</button></div></form>\n");
}
