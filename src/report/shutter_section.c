/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shutter_section.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/manner.h"
#include "base/quantity.h"
#include "base/say.h"
#include "draw/plot_shutter.h"
#include "report/cells.h"
#include "report/document_model.h"
#include "report/method_section.h"
#include "report/steps_section.h"
#include "shutter/marks.h"

enum { ROWS_MOST = 2 * CW_SPEEDS_MOST, TEXT_MOST = 64 * 1024 };

/* The marks of both tests, slowest first. */
typedef struct {
    size_t count;
    double marked_s[ROWS_MOST];
    const cw_speed *speed[2][ROWS_MOST]; /* before, after */
    bool tested[2];
} rows;

static const char *const words[] = {"before", "after"};

static bool same_mark(double a, double b)
{
    return fabs(log(a / b)) < 1e-6;
}

static int slowest_first(const void *left, const void *right)
{
    const double *a = left, *b = right;
    return *a > *b ? -1 : *a < *b;
}

static void gather(rows *r, const cw_shutter_test *tests[2])
{
    for (int which = 0; which < 2; which++) {
        r->tested[which] = tests[which] != NULL;
        for (size_t i = 0; tests[which] != NULL && i < tests[which]->speed_count && i < CW_SPEEDS_MOST; i++) {
            double marked_s = tests[which]->speeds[i].marked_s;
            bool known = !(marked_s > 0);
            for (size_t k = 0; k < r->count; k++)
                known = known || same_mark(r->marked_s[k], marked_s);
            if (!known)
                r->marked_s[r->count++] = marked_s;
        }
    }
    qsort(r->marked_s, r->count, sizeof *r->marked_s, slowest_first);
    for (int which = 0; which < 2; which++)
        for (size_t i = 0; tests[which] != NULL && i < tests[which]->speed_count && i < CW_SPEEDS_MOST; i++)
            for (size_t k = 0; k < r->count; k++)
                if (same_mark(r->marked_s[k], tests[which]->speeds[i].marked_s))
                    r->speed[which][k] = &tests[which]->speeds[i];
}

static const char *verdict_words(cw_speed_verdict verdict)
{
    switch (verdict) {
    case CW_SPEED_INSIDE:
        return "inside";
    case CW_SPEED_OUTSIDE:
        return "OUTSIDE";
    case CW_SPEED_TOO_CLOSE:
        return "too close to call";
    case CW_SPEED_UNKNOWN:
        break;
    }
    return "no verdict";
}

static void mark_words(double marked_s, char *out, size_t size)
{
    char mark[64];
    cw_mark_text(marked_s, mark, sizeof mark);
    snprintf(out, size, "%s s", mark);
}

/* "+0.15 ± 0.03 EV": the sign shows always, the uncertainty is expanded, both to the same place. */
static void error_words(cw_quantity error, char *out, size_t size)
{
    char text[CW_QUANTITY_TEXT];
    if (!isfinite(error.value)) {
        snprintf(out, size, "%s", cw_words_of("not known"));
        return;
    }
    cw_signed_ev_text(error.value, text, sizeof text);
    if (!isfinite(error.u) || error.u <= 0) {
        snprintf(out, size, "%s", text);
        return;
    }
    text[strlen(text) - strlen(" EV")] = '\0';
    snprintf(out, size, "%s \xc2\xb1 %.2f EV", text, fmax(2 * error.u, 0.005));
    cw_comma_digits(out);
}

static void ms_words(cw_quantity q, char *out, size_t size)
{
    cw_quantity_text(q, cw_unit_find(CW_TIME, "ms"), 3, out, size);
}

/* ---- exposure and verdict ---- */

static void exposure_cells(cw_cells *cells, const cw_speed *speed)
{
    char text[CW_QUANTITY_TEXT];
    if (speed == NULL) {
        cw_cells_text(cells, "\xe2\x80\x93");
        cw_cells_text(cells, NULL);
        cw_cells_text(cells, "not tested");
        return;
    }
    cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    cw_cells_firm(cells, text, false);
    error_words(speed->error_ev, text, sizeof text);
    cw_cells_firm(cells, text, false);
    if (speed->verdict == CW_SPEED_OUTSIDE)
        cw_cells_bold(cells, verdict_words(speed->verdict));
    else
        cw_cells_text(cells, verdict_words(speed->verdict));
}

static void exposure_table(cw_document *document, const rows *r)
{
    cw_cells cells = {0};
    bool both = r->tested[0] && r->tested[1];
    cw_cells_column(&cells, "marked", CW_CELL_END);
    for (int which = 0; which < 2; which++) {
        if (!r->tested[which])
            continue;
        cw_cells_column(&cells, !both ? "measured" : which == 0 ? "before" : "after", CW_CELL_END);
        cw_cells_column(&cells, "error", CW_CELL_END);
        cw_cells_column(&cells, "verdict", CW_CELL_START);
    }
    cw_cells_column(&cells, "limit", CW_CELL_END);
    for (size_t i = 0; i < r->count; i++) {
        char text[CW_QUANTITY_TEXT];
        mark_words(r->marked_s[i], text, sizeof text);
        cw_cells_firm(&cells, text, true);
        for (int which = 0; which < 2; which++)
            if (r->tested[which])
                exposure_cells(&cells, r->speed[which][i]);
        const cw_speed *last = r->speed[1][i] != NULL ? r->speed[1][i] : r->speed[0][i];
        if (isfinite(last->limit_ev))
            cw_cells_format(&cells,
                            "\xc2\xb1%.2f\xc2\xa0"
                            "EV",
                            last->limit_ev);
        else
            cw_cells_text(&cells, "none");
    }
    cw_cells_finish(&cells, document);
}

/* ---- what else was measured ---- */

/* A column that is printed only where something is known. */
typedef struct {
    const char *head[3];                                          /* before, after, and where there is one test only */
    void (*write)(const cw_speed *speed, char *out, size_t size); /* "" where not known */
} extra;

/* "3", or "3 / 5" before and after. */
static void shots_cell(cw_cells *cells, const rows *r, size_t row)
{
    cw_buf text = cw_buf_new(200);
    for (int which = 0; which < 2; which++) {
        if (!r->tested[which])
            continue;
        if (text.length > 0)
            cw_buf_text(&text, " / ");
        cw_buf_printf(&text, "%zu", r->speed[which][row] != NULL ? r->speed[which][row]->shots : 0);
    }
    cw_cells_firm(cells, cw_buf_string(&text), false);
    cw_buf_free(&text);
}

static void write_spread(const cw_speed *speed, char *out, size_t size)
{
    *out = '\0';
    if (isfinite(speed->spread_ev))
        cw_fixed_text(speed->spread_ev, 3, out, size);
}

static void write_evenness(const cw_speed *speed, char *out, size_t size)
{
    *out = '\0';
    if (isfinite(speed->evenness_ev))
        cw_fixed_text(speed->evenness_ev, 2, out, size);
}

static void write_open(const cw_speed *speed, char *out, size_t size)
{
    *out = '\0';
    if (!isfinite(speed->fully_open_s))
        return;
    if (speed->fully_open_s > 0)
        cw_fixed_text(speed->fully_open_s * 1e3, 2, out, size);
    else
        snprintf(out, size, "%s", cw_words_of("never"));
}

static void write_contact(const cw_speed *speed, char *out, size_t size)
{
    *out = '\0';
    if (!isfinite(speed->contact_delay_s.value))
        return;
    const cw_quantity ms = {speed->contact_delay_s.value * 1e3, speed->contact_delay_s.u * 1e3};
    cw_quantity_text(ms, NULL, 3, out, size);
}

static const extra extras[] = {
    {{"spread before, EV", "spread after, EV", "spread, EV"}, write_spread},
    {{"uneven before, EV", "uneven after, EV", "uneven, EV"}, write_evenness},
    {{"fully open before, ms", "fully open after, ms", "fully open, ms"}, write_open},
    {{"contact before, ms", "contact after, ms", "contact, ms"}, write_contact},
};

static bool any_known(const rows *r, int which, const extra *e)
{
    char text[CW_QUANTITY_TEXT];
    for (size_t i = 0; i < r->count; i++) {
        if (r->speed[which][i] == NULL)
            continue;
        e->write(r->speed[which][i], text, sizeof text);
        if (*text != '\0')
            return true;
    }
    return false;
}

static void extras_table(cw_document *document, const rows *r)
{
    cw_cells cells = {0};
    bool both = r->tested[0] && r->tested[1], shown[2][CW_COUNT(extras)] = {0};
    cw_cells_column(&cells, "marked", CW_CELL_END);
    cw_cells_column(&cells, "shots", CW_CELL_END);
    for (size_t e = 0; e < CW_COUNT(extras); e++) {
        for (int which = 0; which < 2; which++) {
            shown[which][e] = r->tested[which] && any_known(r, which, &extras[e]);
            if (shown[which][e])
                cw_cells_column(&cells, extras[e].head[both ? which : 2], CW_CELL_END);
        }
    }
    for (size_t i = 0; i < r->count; i++) {
        char text[CW_QUANTITY_TEXT];
        mark_words(r->marked_s[i], text, sizeof text);
        cw_cells_firm(&cells, text, true);
        shots_cell(&cells, r, i);
        for (size_t e = 0; e < CW_COUNT(extras); e++) {
            for (int which = 0; which < 2; which++) {
                *text = '\0';
                if (shown[which][e] && r->speed[which][i] != NULL)
                    extras[e].write(r->speed[which][i], text, sizeof text);
                if (shown[which][e])
                    cw_cells_firm(&cells, text, false);
            }
        }
    }
    cw_cells_finish(&cells, document);
    cw_doc_small(document,
                 "Shots: before / after. Spread: standard deviation of single shots. Uneven: longest over shortest "
                 "exposure across the frame. Fully "
                 "open: how long the whole frame is open at once, which is what a flash needs. Contact: from the first "
                 "opening to the flash contact.");
}

/* ---- curtains ---- */

static void curtain_row(cw_cells *cells, const char *name, const cw_shutter_test *tests[2],
                        cw_quantity (*of)(const cw_curtains *curtains))
{
    char text[CW_QUANTITY_TEXT];
    cw_cells_bold(cells, name);
    for (int which = 0; which < 2; which++) {
        if (tests[which] == NULL)
            continue;
        ms_words(of(&tests[which]->curtains), text, sizeof text);
        cw_cells_text(cells, text);
    }
}

static cw_quantity travel1(const cw_curtains *curtains)
{
    return curtains->travel1_s;
}

static cw_quantity travel2(const cw_curtains *curtains)
{
    return curtains->travel2_s;
}

static void curtains_part(cw_document *document, const cw_shutter_test *tests[2])
{
    bool any = false;
    for (int which = 0; which < 2; which++)
        any = any || (tests[which] != NULL && tests[which]->curtains.form != CW_CURTAINS_NONE);
    if (!any)
        return;
    cw_doc_heading(document, 2, "Curtains");
    cw_cells cells = {.narrow = true};
    cw_cells_column(&cells, "travel over the frame", CW_CELL_START);
    for (int which = 0; which < 2; which++)
        if (tests[which] != NULL)
            cw_cells_column(&cells, words[which], CW_CELL_END);
    curtain_row(&cells, "first curtain", tests, travel1);
    curtain_row(&cells, "second curtain", tests, travel2);
    cw_cells_finish(&cells, document);
    for (int which = 1; which >= 0; which--) {
        if (tests[which] == NULL)
            continue;
        cw_doc_small_told(document, tests[which]->curtains.told);
        break;
    }
}

/* ---- plots ---- */

static void error_plot(cw_document *document, const cw_shutter_test *tests[2])
{
    cw_buf svg = cw_buf_new(16 << 20);
    cw_error trouble;
    cw_status status = cw_plot_speed_errors(tests[0], tests[1], 0, &svg, &trouble);
    if (status == CW_OK)
        cw_doc_svg(document, cw_buf_string(&svg), 128,
                   "Exposure error by marked speed; the shaded band is the tolerance.");
    cw_buf_free(&svg);
    if (status != CW_OK && document->failure.status == CW_OK)
        document->failure = trouble;
}

static void across_the_frame(cw_document *document, const cw_shutter_test *tests[2])
{
    bool known = false;
    for (int which = 0; which < 2; which++)
        known = known || (tests[which] != NULL && cw_plot_has_profile(tests[which]));
    if (!known)
        return;
    cw_buf svg = cw_buf_new(16 << 20);
    cw_error trouble;
    cw_doc_heading(document, 2, "Across the frame");
    cw_status status = cw_plot_profile_pair(tests[0], tests[1], 3, &svg, &trouble);
    if (status == CW_OK)
        cw_doc_svg(
            document, cw_buf_string(&svg), 170,
            "From the edge that opens first; markers are the sensors. Outside them the curve is carried on by the "
            "model, and the band says how far it can be trusted.");
    else if (document->failure.status == CW_OK)
        document->failure = trouble;
    cw_buf_free(&svg);
}

/* ---- findings ---- */

static void findings(cw_document *document, const cw_shutter_test *tests[2])
{
    cw_doc_heading(document, 2, "Findings");
    bool any = false;
    for (int which = 0; which < 2; which++) {
        for (size_t i = 0; tests[which] != NULL && i < tests[which]->finding_count && i < CW_FINDINGS_MOST; i++) {
            const cw_finding *finding = &tests[which]->findings[i];
            cw_buf text = cw_buf_new(TEXT_MOST);
            cw_say_told(&text, "%s: %s", which == 0 ? "Before" : "After", finding->text);
            if (*finding->evidence != '\0')
                cw_say_told(&text, "\nEvidence: %s", finding->evidence);
            cw_doc_item(document, cw_buf_string(&text));
            cw_buf_free(&text);
            any = true;
        }
    }
    if (!any)
        cw_doc_paragraph(document, "None: the figures show no fault beyond what the table says.");
}

static void trace_picture(cw_document *document, const cw_report_test *kept)
{
    if (!cw_report_given(kept->trace_svg))
        return;
    cw_doc_heading(document, 2, "One shot");
    cw_buf caption = cw_buf_new(TEXT_MOST);
    cw_tell(&caption, kept->trace_caption != NULL ? kept->trace_caption : "");
    cw_doc_svg(document, kept->trace_svg, 120, cw_buf_string(&caption));
    cw_buf_free(&caption);
}

void cw_maps_part(cw_document *document, const cw_report_test *kept)
{
    for (size_t i = 0; i < kept->map_count; i++)
        cw_doc_svg(document, kept->maps[i].svg, 110, kept->maps[i].caption);
}

static void evenness_maps(cw_document *document, const cw_report_test *before, const cw_report_test *after)
{
    const cw_report_test *tests[2] = {before, after};
    for (int which = 0; which < 2; which++) {
        if (tests[which]->map_count == 0)
            continue;
        cw_doc_heading_format(document, 2, "Evenness over the frame, %s", words[which]);
        cw_maps_part(document, tests[which]);
    }
}

void cw_shutter_section(cw_document *document, const cw_report_test *before, const cw_report_test *after)
{
    const cw_shutter_test *tests[2] = {before->test, after->test};
    rows r = {0};
    gather(&r, tests);
    if (r.count == 0)
        return;
    cw_doc_heading(document, 1, before->test != NULL && after->test != NULL ? "Shutter, before and after" : "Shutter");
    exposure_table(document, &r);
    error_plot(document, tests);
    findings(document, tests);
    curtains_part(document, tests);
    across_the_frame(document, tests);
    cw_doc_heading(document, 2, "Steadiness, evenness, flash");
    extras_table(document, &r);
    evenness_maps(document, before, after);
    trace_picture(document, after->test != NULL && cw_report_given(after->trace_svg) ? after : before);
    cw_method_section(document, before, after);
}

void cw_exposure_table(cw_document *document, const cw_report_test *before, const cw_report_test *after)
{
    const cw_shutter_test *tests[2] = {before->test, after->test};
    rows r = {0};
    gather(&r, tests);
    if (r.count > 0)
        exposure_table(document, &r);
}
