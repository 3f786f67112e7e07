/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person or a file hands to the shutter room as text: marks, a tolerance table, a reading, a stored test. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "shutter/evaluate.h"
#include "shutter/marks.h"
#include "shutter/reading.h"
#include "shutter/tolerance.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void refused_in_words(cw_status status, const cw_error *err)
{
    if (status != CW_OK && err->text[0] == '\0')
        abort();
}

static void marks_and_reading(const char *text)
{
    cw_mark_list list;
    cw_error err;
    double seconds, step;
    cw_status status = cw_marks_parse(text, &list, &err);
    refused_in_words(status, &err);
    for (size_t i = 0; status == CW_OK && i < list.count; i++)
        if (!isnan(list.marked_s[i]) && !(list.marked_s[i] > 0 && list.marked_s[i] <= 60))
            abort();
    status = cw_reading_parse(text, &seconds, &step, &err);
    refused_in_words(status, &err);
    if (status == CW_OK && !(seconds > 0 && step >= 0 && isfinite(step)))
        abort();
}

static void stored_test(const char *text, size_t size)
{
    json_t *json = json_loadb(text, size, 0, NULL), *again;
    cw_shutter_test *test = NULL, *once_more = NULL;
    cw_error err;
    if (json == NULL)
        return;
    cw_status status = cw_shutter_test_from_json(json, &test, &err);
    refused_in_words(status, &err);
    if (status == CW_OK) {
        again = cw_shutter_test_json(test, NULL);
        if (again == NULL || cw_shutter_test_from_json(again, &once_more, &err) != CW_OK)
            abort();
        json_decref(again);
        cw_shutter_test_free(once_more);
        if (test->shot_count > 0 &&
            cw_shutter_evaluate(&test->setup, test->shots, test->shot_count, &once_more, &err) == CW_OK)
            cw_shutter_test_free(once_more);
        cw_shutter_test_free(test);
    }
    json_decref(json);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    cw_tolerance table;
    cw_error err;
    char *text = malloc(size + 1);
    if (text == NULL)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    marks_and_reading(text);
    refused_in_words(cw_tolerance_parse(text, size, &table, &err), &err);
    stored_test(text, size);
    free(text);
    return 0;
}
