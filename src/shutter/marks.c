/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/marks.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/quantity.h"
#include "base/unit.h"

#define SHORTEST_S (1.0 / 20000)
#define LONGEST_S 60.0
/* Farther than this from every power of two, a mark stands for itself; 1/60 is 0.093 EV from 1/64. */
#define SERIES_REACH_EV 0.1

enum { ITEM_TEXT = 48 };

/* The text without the space around it, cut into `item`; false when it does not fit. */
static bool trimmed(const char *text, size_t length, char item[static ITEM_TEXT])
{
    while (length > 0 && isspace((unsigned char)*text)) {
        text++;
        length--;
    }
    while (length > 0 && isspace((unsigned char)text[length - 1]))
        length--;
    if (length >= ITEM_TEXT)
        return false;
    memcpy(item, text, length);
    item[length] = '\0';
    return true;
}

static bool is_untimed(const char *item)
{
    return strcmp(item, "B") == 0 || strcmp(item, "b") == 0 || strcmp(item, "T") == 0;
}

/* "1 1/2": two marks without a comma, or one and a half seconds? */
static bool has_inner_space_between_numbers(const char *item)
{
    for (const char *c = item; *c != '\0'; c++)
        if (isspace((unsigned char)*c) && isdigit((unsigned char)c[1]))
            return true;
    return false;
}

static cw_status item_parse(const char *item, double *marked_s, cw_error *err)
{
    if (*item == '\0')
        return cw_fail(err, CW_INPUT, "an empty place; write a speed such as 1/250, 1/2, 1 or B");
    if (has_inner_space_between_numbers(item))
        return cw_fail(err, CW_INPUT, "\"%s\" has a space between two numbers; put a comma between two speeds", item);
    double seconds;
    cw_error why;
    if (cw_parse_measure(item, CW_TIME, "s", &seconds, &why) != CW_OK)
        return cw_fail(err, CW_INPUT, "\"%s\" is not a shutter speed; write it like 1/250, 1/2, 0.5, 1 or 4 ms", item);
    if (!(seconds > 0))
        return cw_fail(err, CW_INPUT, "\"%s\" is no time; a shutter speed is longer than nothing, like 1/250", item);
    if (seconds > LONGEST_S && strspn(item, "0123456789") == strlen(item))
        return cw_fail(err, CW_INPUT, "\"%s\" would be %s seconds; for the dial mark %s write 1/%s", item, item, item,
                       item);
    if (seconds > LONGEST_S || seconds < SHORTEST_S)
        return cw_fail(err, CW_INPUT, "\"%s\" is outside 60 s to 1/20000 s, which is what shutters do", item);
    *marked_s = seconds;
    return CW_OK;
}

cw_status cw_mark_parse(const char *text, double *marked_s, cw_error *err)
{
    char item[ITEM_TEXT];
    if (!trimmed(text, strlen(text), item))
        return cw_fail(err, CW_INPUT, "\"%.20s...\" is too long for a shutter speed; write it like 1/250", text);
    if (is_untimed(item))
        return cw_fail(err, CW_INPUT, "\"%s\" is not timed by the shutter, so there is nothing to compare with", item);
    return item_parse(item, marked_s, err);
}

/* Takes "x3" or "*3" off the end of an item. */
static cw_status split_repeat(char *item, long *repeat, cw_error *err)
{
    *repeat = 1;
    char *times = strpbrk(item, "x*");
    if (times == NULL)
        return CW_OK;
    if (cw_parse_whole(times + 1, 1, CW_MARKS_MOST, repeat, err) != CW_OK) {
        cw_context(err, "the number of shots in \"%s\"", item);
        return CW_INPUT;
    }
    do
        *times = '\0';
    while (times > item && isspace((unsigned char)*--times));
    return CW_OK;
}

static cw_status add_item(const char *text, size_t length, cw_mark_list *made, cw_error *err)
{
    char item[ITEM_TEXT];
    long repeat;
    double marked_s = NAN;
    if (!trimmed(text, length, item))
        return cw_fail(err, CW_INPUT, "\"%.20s...\" is too long for a shutter speed; put commas between speeds", text);
    CW_TRY(split_repeat(item, &repeat, err));
    if (!is_untimed(item))
        CW_TRY(item_parse(item, &marked_s, err));
    if (made->count + (size_t)repeat > CW_MARKS_MOST)
        return cw_fail(err, CW_INPUT, "more than %d speeds in one list; use one list per file", CW_MARKS_MOST);
    for (long i = 0; i < repeat; i++)
        made->marked_s[made->count++] = marked_s;
    return CW_OK;
}

cw_status cw_marks_parse(const char *text, cw_mark_list *list, cw_error *err)
{
    cw_mark_list made = {0};
    const char *separators = strchr(text, ';') != NULL ? ";" : ",";
    size_t number = 1;
    for (const char *start = text;; number++) {
        size_t length = strcspn(start, separators);
        bool last = start[length] == '\0';
        /* one separator at the very end is a slip of the finger, not an empty speed */
        bool blank_tail = last && number > 1 && strspn(start, " \t\r\n") == length;
        if (!blank_tail) {
            cw_status status = add_item(start, length, &made, err);
            if (status != CW_OK) {
                cw_context(err, "speed number %zu of the list", number);
                return status;
            }
        }
        if (last)
            break;
        start += length + 1;
    }
    *list = made;
    return CW_OK;
}

void cw_mark_text(double marked_s, char *out, size_t size)
{
    if (!(marked_s > 0)) {
        snprintf(out, size, "?");
        return;
    }
    double inverse = 1 / marked_s;
    if (marked_s < 1 && fabs(inverse - round(inverse)) < 1e-6 * inverse)
        snprintf(out, size, "1/%.0f", inverse);
    else
        snprintf(out, size, "%.6g", marked_s);
}

/* The power of two on a grid of 1/steps stops nearest to the mark, and how far it is. */
static double nearest_power(double marked_s, int steps, double *distance_ev)
{
    double stops = log2(marked_s), on_grid = round(stops * steps) / steps;
    *distance_ev = fabs(stops - on_grid);
    return exp2(on_grid);
}

double cw_mark_geometric(double marked_s, cw_series *series)
{
    static const struct {
        cw_series series;
        int steps;
    } grids[] = {{CW_SERIES_FULL, 1}, {CW_SERIES_HALF, 2}, {CW_SERIES_THIRD, 3}};
    double best = marked_s, least = SERIES_REACH_EV;
    cw_series found = CW_SERIES_NONE;
    if (!(marked_s > 0))
        return NAN;
    for (size_t i = 0; i < CW_COUNT(grids); i++) {
        double distance, power = nearest_power(marked_s, grids[i].steps, &distance);
        if (distance <= least) {
            best = power;
            least = distance;
            found = grids[i].series;
        }
        if (found == CW_SERIES_FULL)
            break;
    }
    if (series != NULL)
        *series = found;
    return best;
}

void cw_mark_reference_text(double marked_s, bool geometric, char *out, size_t size)
{
    static const char *const words[] = {"whole-stop", "half-stop", "third-stop"};
    char mark[CW_MARK_TEXT], exact[CW_QUANTITY_TEXT];
    cw_series series;
    double reference_s = cw_mark_geometric(marked_s, &series);
    cw_mark_text(marked_s, mark, sizeof mark);
    if (!geometric) {
        snprintf(out, size, "the mark, %s s", mark);
    } else if (series == CW_SERIES_NONE) {
        snprintf(out, size, "the mark, %s s (no power of two lies near it)", mark);
    } else {
        if (reference_s < 1)
            snprintf(exact, sizeof exact, "1/%.4g s", 1 / reference_s);
        else
            snprintf(exact, sizeof exact, "%.4g s", reference_s);
        snprintf(out, size, "%s, the %s value behind %s", exact, words[series], mark);
    }
}

cw_status cw_marks_assign(const cw_mark_list *list, size_t shots_per_speed, cw_shot *shots, size_t shot_count,
                          cw_error *err)
{
    size_t each = shots_per_speed > 1 ? shots_per_speed : 1;
    if (list->count == 0)
        return cw_fail(err, CW_INPUT, "the list of marked speeds is empty; write it like 1,1/2,1/4");
    if (shot_count == 0)
        return cw_fail(err, CW_INPUT, "there are no shots to give the %zu marked speeds to", list->count);
    if (list->count == 1)
        each = shot_count;
    if (list->count * each != shot_count && shots_per_speed > 1)
        return cw_fail(err, CW_INPUT,
                       "%zu marked speeds with %zu shots each make %zu shots, but %zu were found (the first at %.3f s, "
                       "the last at %.3f s). Give one mark for every shot, or write how often: \"1/125 x%zu, 1/250 "
                       "x%zu\"",
                       list->count, each, list->count * each, shot_count, shots[0].at_s, shots[shot_count - 1].at_s,
                       each, each - 1);
    if (list->count * each != shot_count)
        return cw_fail(err, CW_INPUT,
                       "%zu marked speeds do not match %zu shots (the first at %.3f s, the last at %.3f s). Give one "
                       "mark for every shot in the order fired, or say how many shots were fired at each speed",
                       list->count, shot_count, shots[0].at_s, shots[shot_count - 1].at_s);
    for (size_t i = 0; i < shot_count; i++)
        shots[i].marked_s = list->marked_s[i / each];
    return CW_OK;
}
