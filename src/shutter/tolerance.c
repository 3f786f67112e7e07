/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/tolerance.h"

#include <ctype.h>
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "shutter/marks.h"

#define FORMAT "camerawright.tolerance/1"
#define LARGEST_LIMIT_EV 5.0

cw_tolerance cw_tolerance_common(void)
{
    return (cw_tolerance){
        .name = "common",
        .source = "common practice, no source",
        .row_count = 2,
        .rows = {{1.0 / 125, 1.0 / 3}, {0, 0.5}},
    };
}

cw_status cw_tolerance_find(const char *name, cw_tolerance *tolerance, cw_error *err)
{
    if (strcmp(name, "common") != 0)
        return cw_fail(err, CW_NOT_FOUND,
                       "there is no tolerance table \"%s\"; there is \"common\", or give the file of your own table",
                       name);
    *tolerance = cw_tolerance_common();
    return CW_OK;
}

double cw_tolerance_limit(const cw_tolerance *tolerance, double marked_s)
{
    /* 1/125 typed and 0.008 read back from a file are the same mark */
    for (size_t i = 0; i < tolerance->row_count; i++)
        if (marked_s >= tolerance->rows[i].from_s * (1 - 1e-6))
            return tolerance->rows[i].limit_ev;
    return NAN;
}

cw_speed_verdict cw_verdict(cw_quantity error_ev, double limit_ev)
{
    double guard = 2 * error_ev.u, off = fabs(error_ev.value);
    if (!isfinite(off) || !isfinite(guard) || !isfinite(limit_ev))
        return CW_SPEED_UNKNOWN;
    if (off + guard <= limit_ev)
        return CW_SPEED_INSIDE;
    if (off - guard > limit_ev)
        return CW_SPEED_OUTSIDE;
    return CW_SPEED_TOO_CLOSE;
}

double cw_chance_outside(cw_quantity error_ev, double limit_ev)
{
    if (!isfinite(error_ev.value) || !isfinite(error_ev.u) || !isfinite(limit_ev))
        return NAN;
    if (error_ev.u == 0)
        return fabs(error_ev.value) > limit_ev ? 1 : 0;
    return gsl_cdf_ugaussian_Q((limit_ev - error_ev.value) / error_ev.u) +
           gsl_cdf_ugaussian_P((-limit_ev - error_ev.value) / error_ev.u);
}

static cw_status row_add(const char *from, double limit_ev, cw_tolerance *made, cw_error *err)
{
    double from_s = 0;
    if (strcmp(from, "faster") != 0)
        CW_TRY(cw_mark_parse(from, &from_s, err));
    if (!(limit_ev > 0 && limit_ev <= LARGEST_LIMIT_EV))
        return cw_fail(err, CW_INPUT, "a limit of %g EV; it must be above 0 and at most %g EV", limit_ev,
                       LARGEST_LIMIT_EV);
    if (made->row_count == CW_SPEEDS_MOST)
        return cw_fail(err, CW_INPUT, "more than %d rows", CW_SPEEDS_MOST);
    if (made->row_count > 0 && !(from_s < made->rows[made->row_count - 1].from_s))
        return cw_fail(err, CW_INPUT, "\"%s\" is not faster than the row before it; put the slowest mark first", from);
    made->rows[made->row_count++] = (cw_tolerance_row){from_s, limit_ev};
    return CW_OK;
}

static cw_status copy_words(const char *from, const char *key, size_t size, char *to, cw_error *err)
{
    if (strlen(from) >= size)
        return cw_fail(err, CW_INPUT, "the %s is longer than %zu bytes", key, size - 1);
    snprintf(to, size, "%s", from);
    return CW_OK;
}

static cw_status finish(cw_tolerance *made, cw_tolerance *tolerance, cw_error *err)
{
    if (*made->name == '\0')
        return cw_fail(err, CW_INPUT, "a tolerance table needs a name");
    if (*made->source == '\0')
        return cw_fail(err, CW_INPUT, "a tolerance table needs a source, if only \"own experience\"");
    if (made->row_count == 0)
        return cw_fail(err, CW_INPUT, "a tolerance table needs at least one row, such as \"1/125 0.33\"");
    *tolerance = *made;
    return CW_OK;
}

static cw_status json_row(const json_t *row, cw_tolerance *made, cw_error *err)
{
    const json_t *from = json_object_get(row, "from"), *limit = json_object_get(row, "limit_ev");
    char number[40];
    double limit_ev = NAN;
    if (json_is_number(from))
        snprintf(number, sizeof number, "%.17g", json_number_value(from));
    else if (!json_is_string(from))
        return cw_fail(err, CW_INPUT, "\"from\" is missing; give a mark such as \"1/125\", or \"faster\"");
    if (json_is_number(limit))
        limit_ev = json_number_value(limit);
    else if (json_is_string(limit))
        CW_TRY(cw_parse_measure(json_string_value(limit), CW_EXPOSURE_VALUE, NULL, &limit_ev, err));
    else
        return cw_fail(err, CW_INPUT, "\"limit_ev\" is missing; give a number of EV such as 0.33");
    return row_add(json_is_string(from) ? json_string_value(from) : number, limit_ev, made, err);
}

static cw_status json_table(const json_t *root, cw_tolerance *made, cw_error *err)
{
    const char *format = json_string_value(json_object_get(root, "format"));
    const char *name = json_string_value(json_object_get(root, "name"));
    const char *source = json_string_value(json_object_get(root, "source"));
    const json_t *rows = json_object_get(root, "rows");
    if (format == NULL || strcmp(format, FORMAT) != 0)
        return cw_fail(err, CW_INPUT, "\"format\" is \"%s\"; this program reads \"" FORMAT "\"",
                       format != NULL ? format : "missing");
    if (!json_is_array(rows))
        return cw_fail(err, CW_INPUT, "\"rows\" is missing; it is a list of {\"from\":\"1/125\",\"limit_ev\":0.33}");
    CW_TRY(copy_words(name != NULL ? name : "", "name", sizeof made->name, made->name, err));
    CW_TRY(copy_words(source != NULL ? source : "", "source", sizeof made->source, made->source, err));
    for (size_t i = 0; i < json_array_size(rows); i++) {
        cw_status status = json_row(json_array_get(rows, i), made, err);
        if (status != CW_OK) {
            cw_context(err, "row %zu", i + 1);
            return status;
        }
    }
    return CW_OK;
}

cw_status cw_tolerance_from_json(const json_t *object, cw_tolerance *tolerance, cw_error *err)
{
    cw_tolerance made = {0};
    CW_TRY(json_table(object, &made, err));
    return finish(&made, tolerance, err);
}

json_t *cw_tolerance_json(const cw_tolerance *tolerance)
{
    json_t *rows = json_array();
    int failed = rows == NULL;
    for (size_t i = 0; i < tolerance->row_count && failed == 0; i++) {
        double from_s = tolerance->rows[i].from_s, limit_ev = tolerance->rows[i].limit_ev;
        json_t *from = from_s > 0 ? json_real(from_s) : json_string("faster");
        failed = json_array_append_new(rows, json_pack("{s:o, s:f}", "from", from, "limit_ev", limit_ev));
    }
    if (failed != 0) {
        json_decref(rows);
        return NULL;
    }
    return json_pack("{s:s, s:s, s:s, s:o}", "format", FORMAT, "name", tolerance->name, "source", tolerance->source,
                     "rows", rows);
}

static cw_status parse_json(const char *text, size_t length, cw_tolerance *made, cw_error *err)
{
    json_error_t where;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &where);
    if (root == NULL)
        return cw_fail(err, CW_INPUT, "line %d of the tolerance table: %s", where.line, where.text);
    cw_status status = json_table(root, made, err);
    json_decref(root);
    return status;
}

/* One line of the plain form, without its end and the space around it. */
static cw_status plain_line(char *line, cw_tolerance *made, cw_error *err)
{
    if (*line == '\0' || *line == '#')
        return CW_OK;
    if (strncmp(line, "name:", 5) == 0)
        return copy_words(line + 5 + strspn(line + 5, " \t"), "name", sizeof made->name, made->name, err);
    if (strncmp(line, "source:", 7) == 0)
        return copy_words(line + 7 + strspn(line + 7, " \t"), "source", sizeof made->source, made->source, err);
    size_t first = strcspn(line, " \t");
    if (line[first] == '\0')
        return cw_fail(err, CW_INPUT, "\"%s\" is one word; a row is a mark and its limit in EV, such as \"1/125 0.33\"",
                       line);
    line[first] = '\0';
    double limit_ev;
    CW_TRY(cw_parse_measure(line + first + 1, CW_EXPOSURE_VALUE, NULL, &limit_ev, err));
    return row_add(line, limit_ev, made, err);
}

static cw_status parse_plain(const char *text, size_t length, cw_tolerance *made, cw_error *err)
{
    size_t number = 0;
    bool headed = false;
    for (size_t at = 0; at < length; number++) {
        const char *end = memchr(text + at, '\n', length - at);
        size_t size = end != NULL ? (size_t)(end - (text + at)) : length - at;
        char line[300];
        size_t begin = at;
        at += size + 1;
        while (size > 0 && isspace((unsigned char)text[begin + size - 1]))
            size--;
        while (size > 0 && isspace((unsigned char)text[begin])) {
            begin++;
            size--;
        }
        if (size >= sizeof line)
            return cw_fail(err, CW_INPUT, "line %zu is longer than %zu bytes", number + 1, sizeof line - 1);
        memcpy(line, text + begin, size);
        line[size] = '\0';
        if (!headed && *line != '\0') {
            if (strcmp(line, FORMAT) != 0)
                return cw_fail(err, CW_INPUT, "line %zu is \"%.60s\"; a tolerance table begins with \"" FORMAT "\"",
                               number + 1, line);
            headed = true;
            continue;
        }
        cw_status status = plain_line(line, made, err);
        if (status != CW_OK) {
            cw_context(err, "line %zu", number + 1);
            return status;
        }
    }
    return headed ? CW_OK : cw_fail(err, CW_INPUT, "the tolerance table is empty; it begins with \"" FORMAT "\"");
}

cw_status cw_tolerance_parse(const char *text, size_t length, cw_tolerance *tolerance, cw_error *err)
{
    cw_tolerance made = {0};
    size_t skip = 0;
    if (memchr(text, '\0', length) != NULL)
        return cw_fail(err, CW_INPUT, "the tolerance table holds a zero byte; it should be plain text or JSON");
    while (skip < length && isspace((unsigned char)text[skip]))
        skip++;
    CW_TRY(skip < length && text[skip] == '{' ? parse_json(text, length, &made, err)
                                              : parse_plain(text, length, &made, err));
    return finish(&made, tolerance, err);
}
