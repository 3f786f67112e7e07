/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/method_section.h"

#include <math.h>

#include "base/manner.h"
#include "base/quantity.h"
#include "base/say.h"
#include "report/cells.h"
#include "shutter/marks.h"

enum { LINE_MOST = 8192 };

/* How most of the exposures were got. */
static cw_exposure_method commonest_method(const cw_shutter_test *test)
{
    size_t counts[CW_METHOD_PHOTO + 1] = {0}, best = 0;
    for (size_t i = 0; i < test->shot_count; i++)
        for (size_t s = 0; s < test->shots[i].sensor_count && s < CW_SENSORS_MOST; s++)
            if (test->shots[i].sensors[s].seen && (size_t)test->shots[i].sensors[s].method <= CW_METHOD_PHOTO)
                counts[test->shots[i].sensors[s].method]++;
    for (size_t m = 0; m <= CW_METHOD_PHOTO; m++)
        if (counts[m] > counts[best])
            best = m;
    return (cw_exposure_method)best;
}

static const char *method_words(cw_exposure_method method)
{
    switch (method) {
    case CW_METHOD_AREA:
        return "The exposure is the area under the light's trace over its full-open level, so a slow detector and a "
               "slit narrower than the beam do not change it.";
    case CW_METHOD_MID_LEVEL:
        return "The exposure is the time between the two moments at which the light passes half of its full level.";
    case CW_METHOD_EDGES:
        return "The exposure is the time between two edges of a comparator (light gate or logic analyser).";
    case CW_METHOD_READING:
        return "The exposures are numbers read from a timer.";
    case CW_METHOD_SOUND:
        return "The exposures were picked from the sound of the shutter: good to a few milliseconds at best, an "
               "estimate.";
    case CW_METHOD_PHOTO:
        return "The exposures follow from the brightness of pairs of photographs.";
    default:
        return "";
    }
}

/* The sensors that looked on: those of the plan, or where it gives no places, the channels that were measured. */
static size_t count_sensors(const cw_shutter_test *test)
{
    size_t count = test->setup.sensor_count;
    for (size_t i = 0; i < test->shot_count; i++)
        if (test->shots[i].sensor_count > count)
            count = test->shots[i].sensor_count;
    return count;
}

static void places(cw_buf *out, const cw_shutter_test *test)
{
    const cw_test_setup *setup = &test->setup;
    const char *beam = setup->beam == CW_BEAM_POINT ? "narrow beam" : "wide beam";
    size_t count = count_sensors(test);
    bool known = setup->sensor_count > 0;
    cw_buf list = cw_buf_new(LINE_MOST);
    for (size_t i = 0; i < setup->sensor_count && i < CW_SENSORS_MOST; i++) {
        char place[64];
        known = known && isfinite(setup->sensors_mm[i]);
        cw_number_text(setup->sensors_mm[i], 3, place, sizeof place);
        cw_buf_printf(&list, "%s%s", i == 0 ? "" : "; ", place);
    }
    if (known)
        cw_say(out,
               count == 1 ? "%zu sensor at %s mm along the travel, %s; "
                          : "%zu sensors at %s mm along the travel, %s; ",
               count, cw_buf_string(&list), beam);
    else
        cw_say(out, count == 1 ? "%zu sensor, %s; " : "%zu sensors, %s; ", count, beam);
    cw_buf_free(&list);
}

static void set_up_words(cw_document *document, const char *when, const cw_report_test *kept)
{
    cw_buf text = cw_buf_new(LINE_MOST);
    const cw_test_setup *setup = &kept->test->setup;
    size_t shots = kept->test->shot_count;
    cw_exposure_method method = commonest_method(kept->test);
    if (method == CW_METHOD_AREA || method == CW_METHOD_MID_LEVEL || method == CW_METHOD_EDGES)
        places(&text, kept->test);
    cw_say(&text, shots == 1 ? "%s; %zu shot in all." : "%s; %zu shots in all.",
           setup->kind == CW_SHUTTER_LEAF ? "leaf shutter" : "focal-plane shutter", shots);
    if (kept->tested_on != NULL && *kept->tested_on != '\0')
        cw_say(&text, " Tested on %s.", kept->tested_on);
    if (kept->source != NULL && *kept->source != '\0')
        cw_say_told(&text, " Source: %s.", kept->source);
    if (kept->notes != NULL && *kept->notes != '\0')
        cw_buf_printf(&text, " %s", kept->notes);
    cw_doc_labelled(document, when, cw_buf_string(&text));
    cw_buf_free(&text);
    if (setup->kind == CW_SHUTTER_LEAF && setup->beam == CW_BEAM_POINT)
        cw_doc_paragraph(document,
                         "A narrow beam through a leaf shutter gives the time that one place stays open, which is "
                         "longer than the effective exposure of the whole lens at the fast speeds.");
}

static void budget(cw_document *document, const cw_shutter_test *test)
{
    size_t worst = 0;
    for (size_t i = 1; i < test->speed_count && i < CW_SPEEDS_MOST; i++)
        if (test->budget_count[i] > 0 && test->speeds[i].error_ev.u > test->speeds[worst].error_ev.u)
            worst = i;
    if (test->speed_count == 0 || test->budget_count[worst] == 0)
        return;
    char mark[80];
    cw_buf sentence = cw_buf_new(LINE_MOST);
    cw_mark_text(test->speeds[worst].marked_s, mark, sizeof mark);
    cw_say(&sentence, "The least certain speed is %s s; its standard uncertainty is made of:", mark);
    cw_doc_paragraph(document, cw_buf_string(&sentence));
    cw_buf_free(&sentence);
    cw_cells cells = {.narrow = true};
    cw_cells_column(&cells, "source", CW_CELL_START);
    cw_cells_column(&cells, "u (k = 1)", CW_CELL_END);
    for (size_t k = 0; k < test->budget_count[worst] && k < CW_BUDGET_MOST; k++) {
        const cw_budget_line *line = &test->budget[worst][k];
        cw_cells_told(&cells, line->source, false);
        if (isfinite(line->u_ev))
            cw_cells_format(&cells, "%.4f EV", line->u_ev);
        else
            cw_cells_text(&cells, "not known");
    }
    cw_cells_finish(&cells, document);
}

void cw_method_section(cw_document *document, const cw_report_test *before, const cw_report_test *after)
{
    const cw_report_test *last = after->test != NULL ? after : before;
    cw_doc_heading(document, 2, "How it was measured, and how well");
    if (before->test != NULL)
        set_up_words(document, "Before", before);
    if (after->test != NULL)
        set_up_words(document, "After", after);
    cw_doc_paragraph(document, method_words(commonest_method(last->test)));
    cw_doc_paragraph(
        document,
        last->test->setup.geometric
            ? "The error is the logarithm to base 2 of the measured exposure over the exact time of the "
              "geometric series behind the mark (1/128 s for 1/125). Plus is more light; +1 EV is twice the light."
            : "The error is the logarithm to base 2 of the measured exposure over the marked time. Plus is more "
              "light than marked; +1 EV is twice the light.");
    cw_doc_paragraph(
        document,
        "What follows a \xc2\xb1 is the expanded uncertainty (k = 2): if the measurement is as described, the true "
        "value lies within it about 95 times in 100. It holds noise, sampling, clock, detector and the scatter "
        "of repeated shots, combined as in JCGM 100; where few shots were fired, Student's t widens it.");
    cw_doc_paragraph(document, cw_verdict_rule());
    const cw_tolerance *tolerance = &last->test->setup.tolerance;
    if (*tolerance->name != '\0') {
        cw_buf text = cw_buf_new(LINE_MOST);
        cw_say_told(&text, "\"%s\" (%s)", tolerance->name,
                    *tolerance->source != '\0' ? tolerance->source : cw_words_of("no source"));
        cw_doc_labelled(document, "Tolerance", cw_buf_string(&text));
        cw_buf_free(&text);
    }
    budget(document, last->test);
}
