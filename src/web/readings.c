/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/readings.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "shutter/reading.h"

static bool is_bare(const char *text)
{
    for (const char *c = text; *c != '\0'; c++)
        if (isalpha((unsigned char)*c) || *c == '/' || (unsigned char)*c >= 0x80)
            return false;
    return true;
}

static cw_status check_plausible(const char *text, double value_s, double marked_s, const char *bare_unit,
                                 cw_error *err)
{
    double ratio = value_s / marked_s;
    if (ratio < 32 && ratio > 1.0 / 32)
        return CW_OK;
    bool in_s = strcmp(bare_unit, "s") == 0;
    return cw_fail(err, CW_INPUT,
                   "\"%s\" read as %s is %.3g times the marked speed; is it in %s? Choose the unit, or write it behind "
                   "the number",
                   text, in_s ? "seconds" : "milliseconds", ratio, in_s ? "milliseconds" : "seconds");
}

static cw_status read_one(double marked_s, const char *text, const char *bare_unit, cw_typed_reading *reading,
                          cw_error *err)
{
    cw_typed_reading made = {.marked_s = marked_s};
    bool bare = is_bare(text);
    snprintf(made.as_typed, sizeof made.as_typed, "%s%s%s", text, bare ? " " : "", bare ? bare_unit : "");
    CW_TRY(cw_reading_parse(made.as_typed, &made.seconds, &made.resolution_s, err));
    if (bare)
        CW_TRY(check_plausible(text, made.seconds, marked_s, bare_unit, err));
    *reading = made;
    return CW_OK;
}

cw_status cw_reading_again(double marked_s, const char *as_typed, cw_typed_reading *reading, cw_error *err)
{
    size_t length = strlen(as_typed);
    if (length >= CW_READING_TEXT)
        return cw_fail(err, CW_INPUT, "the reading \"%.40s...\" is too long to be one", as_typed);
    return read_one(marked_s, as_typed, "s", reading, err);
}

static cw_status add_one(cw_typed_readings *readings, double marked_s, const char *text, const char *bare_unit,
                         cw_error *err)
{
    if (readings->count >= CW_READINGS_MOST)
        return cw_fail(err, CW_RANGE, "more than %d readings; keep them as several tests", CW_READINGS_MOST);
    CW_TRY(read_one(marked_s, text, bare_unit, &readings->items[readings->count], err));
    readings->count++;
    return CW_OK;
}

/* The next reading: a word, with a unit that stands apart from its number joined to it. False at the end. */
static bool next_word(const char **at, char word[CW_READING_TEXT])
{
    static const char between[] = " \t\r\n;";
    const char *text = *at + strspn(*at, between);
    size_t length = strcspn(text, between);
    if (length == 0)
        return false;
    int used = snprintf(word, CW_READING_TEXT, "%.*s", (int)length, text);
    text += length;
    const char *unit = text + strspn(text, " \t");
    size_t unit_length = strcspn(unit, between);
    if (unit_length > 0 && !isdigit((unsigned char)unit[0]) && strchr(".,-+", unit[0]) == NULL) {
        if (used < CW_READING_TEXT)
            snprintf(word + used, (size_t)(CW_READING_TEXT - used), " %.*s", (int)unit_length, unit);
        text = unit + unit_length;
    }
    *at = text;
    return true;
}

cw_status cw_readings_add(cw_typed_readings *readings, double marked_s, const char *text, const char *bare_unit,
                          cw_error *err)
{
    char word[CW_READING_TEXT];
    while (next_word(&text, word))
        CW_TRY(add_one(readings, marked_s, word, bare_unit, err));
    return CW_OK;
}

static const char *row_value(const cw_form *form, const char *what, size_t row)
{
    char name[32];
    snprintf(name, sizeof name, "%s.%zu", what, row);
    const char *value = cw_form_get(form, name);
    return value == NULL ? "" : value;
}

static bool is_blank(const char *text)
{
    return text[strspn(text, " \t\r\n")] == '\0';
}

bool cw_readings_given(const cw_form *form)
{
    for (size_t row = 0; row < CW_READING_ROWS; row++)
        if (!is_blank(row_value(form, "read", row)))
            return true;
    return false;
}

cw_status cw_readings_from_form(const cw_form *form, cw_typed_readings *readings, cw_error *err)
{
    const char *unit = cw_form_get(form, "unit");
    const char *bare_unit = unit != NULL && strcmp(unit, "ms") == 0 ? "ms" : "s";
    readings->count = 0;
    for (size_t row = 0; row < CW_READING_ROWS; row++) {
        const char *typed = row_value(form, "read", row), *mark = row_value(form, "mark", row);
        if (is_blank(typed))
            continue;
        if (is_blank(mark))
            return cw_fail(err, CW_INPUT, "the reading \"%.40s\" stands without its marked speed", typed);
        double marked_s;
        CW_TRY(cw_mark_parse(mark, &marked_s, err));
        cw_status status = cw_readings_add(readings, marked_s, typed, bare_unit, err);
        if (status != CW_OK) {
            cw_context(err, "at %.20s", mark);
            return status;
        }
    }
    if (readings->count == 0)
        return cw_fail(err, CW_INPUT, "no reading was typed; one is enough, such as 1/226 beside 1/250");
    return CW_OK;
}

static cw_shot shot_of(const cw_typed_reading *reading, size_t index)
{
    cw_shot shot = cw_reading_shot(reading->marked_s, reading->seconds, reading->resolution_s);
    shot.at_s = (double)index;
    snprintf(shot.sensors[0].remark, sizeof shot.sensors[0].remark, "typed: %s", reading->as_typed);
    return shot;
}

cw_status cw_readings_run(const cw_typed_readings *readings, const cw_shutter_plan *plan, cw_plan_result *result,
                          cw_error *err)
{
    cw_shutter_plan own = *plan;
    cw_shot *shots = calloc(readings->count, sizeof *shots);
    if (shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu readings", readings->count);
    own.marks.count = readings->count;
    own.shots_per_speed = 0;
    own.measure.sensor_count = 1;
    own.measure.sensors_mm[0] = NAN;
    for (size_t i = 0; i < readings->count; i++) {
        shots[i] = shot_of(&readings->items[i], i);
        own.marks.marked_s[i] = readings->items[i].marked_s;
    }
    cw_status status = cw_plan_run_shots(&own, shots, readings->count, NULL, result, err);
    free(shots);
    return status;
}
