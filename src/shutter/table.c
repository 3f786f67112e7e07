/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/manner.h"
#include "base/quantity.h"
#include "base/say.h"
#include "shutter/compare.h"
#include "shutter/marks.h"

enum { COLUMNS = 80, TOLD_MOST = 64 * 1024 };

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

/* A sentence in the reader's words, wrapped. */
static void told(const char *text, size_t indent, cw_buf *out)
{
    cw_buf words = cw_buf_new(TOLD_MOST);
    cw_tell(&words, text);
    cw_wrapped_text(cw_buf_string(&words), indent, out);
    out->failed = out->failed || words.failed;
    cw_buf_free(&words);
}

typedef struct {
    const char *title;
    size_t width; /* in columns, with the space behind */
} head;

/* Where a translated title is wider, its column is. */
static size_t width_of(const head *column)
{
    const char *title = cw_words_of(column->title);
    size_t columns = columns_of(title, strlen(title)) + 1;
    return columns > column->width ? columns : column->width;
}

/* The text, then spaces up to `width` columns; at least one. */
static void cell(cw_buf *out, const char *text, size_t width)
{
    text = cw_words_of(text);
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
    cw_comma_digits(out);
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

static const head test_heads[] = {{"Marked", 9}, {"Measured", 12}, {"Error EV", 16}, {"Spread", 8},
                                  {"Uneven", 8}, {"Limit", 9},     {"Shots", 7},     {"Verdict", 10}};

static void speed_row(const cw_speed *speed, cw_buf *out)
{
    char text[CW_QUANTITY_TEXT];
    cw_mark_text(speed->marked_s, text, sizeof text);
    cell(out, text, width_of(&test_heads[0]));
    cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    cell(out, speed->shots > 0 ? text : "no light", width_of(&test_heads[1]));
    error_text(speed->error_ev, text, sizeof text);
    cell(out, text, width_of(&test_heads[2]));
    number_or_dash(speed->spread_ev, "", text, sizeof text);
    cell(out, text, width_of(&test_heads[3]));
    number_or_dash(speed->evenness_ev, "", text, sizeof text);
    cell(out, text, width_of(&test_heads[4]));
    number_or_dash(speed->limit_ev, PLUS_MINUS, text, sizeof text);
    cell(out, text, width_of(&test_heads[5]));
    snprintf(text, sizeof text, "%zu", speed->shots);
    cell(out, text, width_of(&test_heads[6]));
    cell(out, verdict_words(speed->verdict), width_of(&test_heads[7]));
    end_line(out);
}

static void milliseconds(const char *what, cw_quantity q, cw_buf *out)
{
    char text[CW_QUANTITY_TEXT];
    const cw_unit *ms = cw_unit_find(CW_TIME, "ms");
    cw_quantity_text(q, ms, 4, text, sizeof text);
    cw_say(out, "  %-26s %s\n", what, text);
}

static void curtains(const cw_shutter_test *test, cw_buf *out)
{
    const cw_curtains *found = &test->curtains;
    if (test->setup.kind == CW_SHUTTER_LEAF) {
        cw_buf_char(out, '\n');
        told(found->told, 0, out);
        return;
    }
    cw_say(out, "\nCurtains\n");
    if (found->form != CW_CURTAINS_NONE) {
        milliseconds("first over the frame:", found->travel1_s, out);
        milliseconds("second over the frame:", found->travel2_s, out);
        milliseconds("second takes longer by:", found->mismatch_s, out);
        if (isfinite(found->drag_s.value))
            milliseconds("bend of the exposure:", found->drag_s, out);
    }
    told(found->told, 2, out);
}

static void findings(const cw_shutter_test *test, cw_buf *out)
{
    cw_say(out, "\nFindings\n");
    if (test->finding_count == 0)
        told("None: nothing stands clear of the uncertainty of this measurement.", 2, out);
    for (size_t i = 0; i < test->finding_count; i++) {
        const cw_finding *finding = &test->findings[i];
        cw_say(out, "%s  %s\n", i > 0 ? "\n" : "", finding->code);
        told(finding->evidence, 4, out);
        told(finding->text, 4, out);
    }
}

cw_status cw_shutter_table(const cw_shutter_test *test, cw_buf *out, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(test_heads); i++)
        cell(out, test_heads[i].title, width_of(&test_heads[i]));
    end_line(out);
    for (size_t k = 0; k < test->speed_count; k++)
        speed_row(&test->speeds[k], out);
    curtains(test, out);
    findings(test, out);
    cw_buf_char(out, '\n');
    char limits[400];
    snprintf(limits, sizeof limits, "Limits: \"%s\" (%s).%s", test->setup.tolerance.name, test->setup.tolerance.source,
             test->setup.geometric ? " Compared with the geometric series." : "");
    told(limits, 0, out);
    told("Error: plus is more light; the second number is the 95 % interval (k = 2). Tolerances of ISO 516 are "
         "targets, not an inspection limit.",
         0, out);
    told(cw_verdict_rule(), 0, out);
    return cw_buf_check(out, "the table of the test", err);
}

static const head pair_heads[] = {{"Marked", 8},    {"Before", 11},  {"error EV", 15}, {"After", 11},
                                  {"error EV", 15}, {"verdict", 11}, {"change", 8}};

static void side_cells(const cw_speed *speed, const head heads[2], cw_buf *out)
{
    char text[CW_QUANTITY_TEXT] = DASH;
    if (speed != NULL)
        cw_shutter_time_text(speed->exposure_s.value, text, sizeof text);
    cell(out, text, width_of(&heads[0]));
    error_text(speed != NULL ? speed->error_ev : (cw_quantity){NAN, NAN}, text, sizeof text);
    cell(out, text, width_of(&heads[1]));
}

cw_status cw_comparison_table(const cw_comparison *comparison, cw_buf *out, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(pair_heads); i++)
        cell(out, pair_heads[i].title, width_of(&pair_heads[i]));
    end_line(out);
    for (size_t i = 0; i < comparison->count; i++) {
        const cw_speed_pair *pair = &comparison->pairs[i];
        char mark[CW_MARK_TEXT];
        cw_mark_text(pair->marked_s, mark, sizeof mark);
        cell(out, mark, width_of(&pair_heads[0]));
        side_cells(pair->before, &pair_heads[1], out);
        side_cells(pair->after, &pair_heads[3], out);
        cell(out, pair->after != NULL ? verdict_words(pair->after->verdict) : DASH, width_of(&pair_heads[5]));
        cell(out, pair->change == CW_CHANGE_UNKNOWN ? DASH : cw_change_name(pair->change), width_of(&pair_heads[6]));
        end_line(out);
    }
    cw_say(out, "Inside the limit: %zu of %zu before, %zu of %zu after. Better %zu, same %zu, worse %zu.\n",
           comparison->inside_before, comparison->measured_before, comparison->inside_after, comparison->measured_after,
           comparison->better, comparison->same, comparison->worse);
    return cw_buf_check(out, "the table of before and after", err);
}
