/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/record_json.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"

static bool is_written(const store_column *column)
{
    return (column->flags & STORE_BOTH) != 0 && column->kind != STORE_FOLDED;
}

static json_t *value_json(const store_column *column, const char *place)
{
    int64_t whole;
    double real;
    bool fact;
    int word;
    const char *text;
    switch (column->kind) {
    case STORE_INT:
    case STORE_REF:
        memcpy(&whole, place, sizeof whole);
        return column->kind == STORE_REF && whole == 0 ? json_null() : json_integer(whole);
    case STORE_REAL:
        memcpy(&real, place, sizeof real);
        return isfinite(real) ? json_real(real) : json_null();
    case STORE_BOOL:
        memcpy(&fact, place, sizeof fact);
        return json_boolean(fact);
    case STORE_WORD:
        memcpy(&word, place, sizeof word);
        return json_string(word >= 0 && word < column->word_count ? column->words[word] : "");
    default:
        memcpy(&text, place, sizeof text);
        return json_string(text == NULL ? "" : text);
    }
}

json_t *record_json(const store_table *table, const void *record)
{
    json_t *object = json_object();
    for (size_t i = 0; object != NULL && i < table->column_count; i++) {
        const store_column *column = &table->columns[i];
        if (is_written(column) &&
            json_object_set_new(object, column->name, value_json(column, (const char *)record + column->offset)) != 0) {
            json_decref(object);
            return NULL;
        }
    }
    return object;
}

char *record_json_text(const store_table *table, const void *record)
{
    json_t *object = record_json(table, record);
    char *text = cw_json_written(object, CW_JSON_KEPT);
    json_decref(object);
    return text;
}

static cw_status wrong_kind(const store_table *table, const store_column *column, const char *wanted, cw_error *err)
{
    return cw_fail(err, CW_INPUT, "\"%s\" of a %s is not %s", column->name, table->label, wanted);
}

static cw_status text_from_json(const store_table *table, const store_column *column, const json_t *value, char *place,
                                void **held, cw_error *err)
{
    if (value != NULL && !json_is_string(value))
        return wrong_kind(table, column, "a text", err);
    const char *text = store_keep(held, value == NULL ? "" : json_string_value(value));
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a %s", table->label);
    memcpy(place, &text, sizeof text);
    return CW_OK;
}

static cw_status word_from_json(const store_table *table, const store_column *column, const json_t *value, char *place,
                                cw_error *err)
{
    int word = 0;
    const char *text = json_string_value(value);
    if (value != NULL) {
        while (text != NULL && word < column->word_count && strcmp(text, column->words[word]) != 0)
            word++;
        if (text == NULL || word == column->word_count)
            return wrong_kind(table, column, "one of its words", err);
    }
    memcpy(place, &word, sizeof word);
    return CW_OK;
}

static cw_status value_from_json(const store_table *table, const store_column *column, const json_t *value, char *place,
                                 void **held, cw_error *err)
{
    bool nothing = value == NULL || json_is_null(value);
    switch (column->kind) {
    case STORE_INT:
    case STORE_REF:
        if (!nothing && !json_is_integer(value))
            return wrong_kind(table, column, "a whole number", err);
        memcpy(place, &(int64_t){nothing ? 0 : json_integer_value(value)}, sizeof(int64_t));
        return CW_OK;
    case STORE_REAL:
        if (!nothing && !json_is_number(value))
            return wrong_kind(table, column, "a number", err);
        memcpy(place, &(double){nothing ? (double)NAN : json_number_value(value)}, sizeof(double));
        return CW_OK;
    case STORE_BOOL:
        if (!nothing && !json_is_boolean(value))
            return wrong_kind(table, column, "true or false", err);
        memcpy(place, &(bool){json_is_true(value)}, sizeof(bool));
        return CW_OK;
    case STORE_WORD:
        return word_from_json(table, column, value, place, err);
    default:
        return text_from_json(table, column, nothing ? NULL : value, place, held, err);
    }
}

cw_status record_from_json(const store_table *table, const json_t *object, void *record, void **held, cw_error *err)
{
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "a %s is not a JSON object", table->label);
    for (size_t i = 0; i < table->column_count; i++) {
        const store_column *column = &table->columns[i];
        if (is_written(column))
            CW_TRY(value_from_json(table, column, json_object_get(object, column->name),
                                   (char *)record + column->offset, held, err));
    }
    return CW_OK;
}
