/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/quantity.h"
#include "shutter/compare.h"
#include "shutter/marks.h"

enum { COLUMNS = 80 };

#define PLUS_MINUS "\xc2\xb1"
#define DASH "\xe2\x80\x93"

/* Columns of a UTF-8 text: bytes that do not continue a character. */
static size_t columns_of(const char *text, size_t bytes)
{
    size_t columns = 0;
    for (size_t i = 0; i < bytes; i++)
        columns += ((unsigned char)text[i] & 0xc0) != 0x80;
    return columns;
}

/* The text, then spaces up to `width` columns; at least one. */
static void cell(cw_buf *out, const char *text, size_t width)
{
    size_t columns = columns_of(text, strlen(text));
    cw_buf_text(out, text);
    do
        cw_buf_char(out, ' ');
    while (++columns < width);
}

static void end_line(cw_buf *out)
{
    while (!out->failed && out->length > 0 && out->text[out->length - 1] == ' ')
        out->text[--out->length] = '\0';
    cw_buf_char(out, '\n');
}

void cw_wrapped_text(const char *text, size_t indent, cw_buf *out)
{
    size_t column = 0;
    while (*text != '\0') {
        size_t blank = strspn(text, " "), bytes = strcspn(text + blank, " ");
        size_t columns = columns_of(text + blank, bytes);
        if (bytes == 0)
            break;
        if (column > 0 && column + 1 + columns > COLUMNS) {
            cw_buf_char(out, '\n');
            column = 0;
        }
        if (column == 0)
            for (; column < indent; column++)
                cw_buf_char(out, ' ');
        else {
            cw_buf_char(out, ' ');
            column++;
        }
        cw_buf_add(out, text + blank, bytes);
        column += columns;
        text += blank + bytes;
    }
    cw_buf_char(out, '\n');
}

static void error_text(cw_quantity error_ev, char *out, size_t size)
{
    if (isfinite(error_ev.value))
        cw_error_ev_text(error_ev, out, size);
    else
        snprintf(out, size, DASH);
}

static void number_or_dash(double value, const char *format_sign, char *out, size_t size)
{
    if (isfinite(value))
        snprintf(out, size, "%s%.2f", format_sign, value);
    else
        snprintf(out, size, DASH);
}

static const char *verdict_words(cw_speed_verdict verdict)
{
    static const char *const words[] = {
        [CW_SPEED_INSIDE] = "inside",
        [CW_SPEED_OUTSIDE] = "OUTSIDE",
        [CW_SPEED_TOO_CLOSE] = "too close",
        [CW_SPEED_UNKNOWN] = "not known",
    };
    return words[verdict];
}

static void speed_row(const cw_speed *speed, cw_buf *out)
{
    char text[CW_QUANTITY_TEXT];
    cw_mark_text(speed->marked_s, text, sizeof text);
    cell(out, text, 9);
    cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    cell(out, speed->shots > 0 ? text : "no light", 12);
    error_text(speed->error_ev, text, sizeof text);
    cell(out, text, 16);
    number_or_dash(speed->spread_ev, "", text, sizeof text);
    cell(out, text, 8);
    number_or_dash(speed->evenness_ev, "", text, sizeof text);
    cell(out, text, 8);
    number_or_dash(speed->limit_ev, PLUS_MINUS, text, sizeof text);
    cell(out, text, 9);
    snprintf(text, sizeof text, "%zu", speed->shots);
    cell(out, text, 7);
    cell(out, verdict_words(speed->verdict), 10);
    end_line(out);
}

static void milliseconds(const char *what, cw_quantity q, cw_buf *out)
{
    char text[CW_QUANTITY_TEXT];
    const cw_unit *ms = cw_unit_find(CW_TIME, "ms");
    cw_quantity_text(q, ms, 4, text, sizeof text);
    cw_buf_printf(out, "  %s %s\n", what, text);
}

static void curtains(const cw_shutter_test *test, cw_buf *out)
{
    const cw_curtains *found = &test->curtains;
    if (test->setup.kind == CW_SHUTTER_LEAF) {
        cw_buf_char(out, '\n');
        cw_wrapped_text(found->told, 0, out);
        return;
    }
    cw_buf_text(out, "\nCurtains\n");
    if (found->form != CW_CURTAINS_NONE) {
        milliseconds("first over the frame:      ", found->travel1_s, out);
        milliseconds("second over the frame:     ", found->travel2_s, out);
        milliseconds("second takes longer by:    ", found->mismatch_s, out);
        if (isfinite(found->drag_s.value))
            milliseconds("bend of the exposure:      ", found->drag_s, out);
    }
    cw_wrapped_text(found->told, 2, out);
}

static void findings(const cw_shutter_test *test, cw_buf *out)
{
    cw_buf_text(out, "\nFindings\n");
    if (test->finding_count == 0)
        cw_wrapped_text("None: nothing stands clear of the uncertainty of this measurement.", 2, out);
    for (size_t i = 0; i < test->finding_count; i++) {
        const cw_finding *finding = &test->findings[i];
        cw_buf_printf(out, "%s  %s\n", i > 0 ? "\n" : "", finding->code);
        cw_wrapped_text(finding->evidence, 4, out);
        cw_wrapped_text(finding->text, 4, out);
    }
}

cw_status cw_shutter_table(const cw_shutter_test *test, cw_buf *out, cw_error *err)
{
    static const struct {
        const char *title;
        size_t width;
    } heads[] = {{"Marked", 9}, {"Measured", 12}, {"Error EV", 16}, {"Spread", 8},
                 {"Uneven", 8}, {"Limit", 9},     {"Shots", 7},     {"Verdict", 10}};
    for (size_t i = 0; i < CW_COUNT(heads); i++)
        cell(out, heads[i].title, heads[i].width);
    end_line(out);
    for (size_t k = 0; k < test->speed_count; k++)
        speed_row(&test->speeds[k], out);
    curtains(test, out);
    findings(test, out);
    cw_buf_text(out, "\n");
    char limits[400];
    snprintf(limits, sizeof limits, "Limits: \"%s\" (%s).%s", test->setup.tolerance.name, test->setup.tolerance.source,
             test->setup.geometric ? " Compared with the geometric series." : "");
    cw_wrapped_text(limits, 0, out);
    cw_wrapped_text(
        "Error: plus is more light; the second number is the 95 % interval (k = 2). Tolerances of ISO 516 are "
        "targets, not an inspection limit.",
        0, out);
    cw_wrapped_text(cw_verdict_rule(), 0, out);
    return cw_buf_check(out, "the table of the test", err);
}

static void side_cells(const cw_speed *speed, cw_buf *out)
{
    char text[CW_QUANTITY_TEXT] = DASH;
    if (speed != NULL)
        cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    cell(out, text, 11);
    error_text(speed != NULL ? speed->error_ev : (cw_quantity){NAN, NAN}, text, sizeof text);
    cell(out, text, 15);
}

cw_status cw_comparison_table(const cw_comparison *comparison, cw_buf *out, cw_error *err)
{
    static const struct {
        const char *title;
        size_t width;
    } heads[] = {{"Marked", 8},    {"Before", 11},  {"error EV", 15}, {"After", 11},
                 {"error EV", 15}, {"verdict", 11}, {"change", 8}};
    for (size_t i = 0; i < CW_COUNT(heads); i++)
        cell(out, heads[i].title, heads[i].width);
    end_line(out);
    for (size_t i = 0; i < comparison->count; i++) {
        const cw_speed_pair *pair = &comparison->pairs[i];
        char mark[CW_MARK_TEXT];
        cw_mark_text(pair->marked_s, mark, sizeof mark);
        cell(out, mark, 8);
        side_cells(pair->before, out);
        side_cells(pair->after, out);
        cell(out, pair->after != NULL ? verdict_words(pair->after->verdict) : DASH, 11);
        cell(out, pair->change == CW_CHANGE_UNKNOWN ? DASH : cw_change_name(pair->change), 8);
        end_line(out);
    }
    cw_buf_printf(out, "Inside the limit: %zu of %zu before, %zu of %zu after. Better %zu, same %zu, worse %zu.\n",
                  comparison->inside_before, comparison->measured_before, comparison->inside_after,
                  comparison->measured_after, comparison->better, comparison->same, comparison->worse);
    return cw_buf_check(out, "the table of before and after", err);
}
