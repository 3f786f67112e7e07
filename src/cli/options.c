/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <string.h>

#include "cli/command.h"

enum { WORD_MOST = 40 };

static size_t least_of(size_t a, size_t b, size_t c)
{
    size_t ab = a < b ? a : b;
    return ab < c ? ab : c;
}

/* Levenshtein distance of two short words; WORD_MOST for long ones. */
static size_t edit_distance(const char *a, const char *b)
{
    size_t na = strlen(a), nb = strlen(b);
    size_t row[WORD_MOST + 1];
    if (na > WORD_MOST || nb > WORD_MOST)
        return WORD_MOST;
    for (size_t j = 0; j <= nb; j++)
        row[j] = j;
    for (size_t i = 1; i <= na; i++) {
        size_t corner = row[0];
        row[0] = i;
        for (size_t j = 1; j <= nb; j++) {
            size_t above = row[j];
            row[j] = least_of(above + 1, row[j - 1] + 1, corner + (a[i - 1] != b[j - 1]));
            corner = above;
        }
    }
    return row[nb];
}

const char *cw_nearest_word(const char *word, const char *const *known, size_t known_count)
{
    const char *nearest = NULL;
    size_t best = strlen(word) / 3 + 2; /* a third of the letters and one more may be wrong */
    for (size_t i = 0; i < known_count; i++) {
        size_t distance = edit_distance(word, known[i]);
        if (distance < best) {
            best = distance;
            nearest = known[i];
        }
    }
    return nearest;
}

static cw_status unknown_option(const char *given, size_t length, const cw_option *options, size_t option_count,
                                cw_error *err)
{
    char word[WORD_MOST + 1];
    size_t kept = length < WORD_MOST ? length : WORD_MOST;
    memcpy(word, given, kept);
    word[kept] = '\0';
    const char *known[64];
    size_t known_count = 0;
    for (size_t i = 0; i < option_count && known_count < CW_COUNT(known); i++)
        known[known_count++] = options[i].key;
    const char *nearest = cw_nearest_word(word, known, known_count);
    if (nearest != NULL)
        return cw_fail(err, CW_INPUT, "there is no option --%s here; did you mean --%s?", word, nearest);
    return cw_fail(err, CW_INPUT, "there is no option --%s here; --help lists the options", word);
}

/* Reads the option at args[*at] and moves *at over its value. */
static cw_status read_option(size_t count, const char *const *args, size_t *at, cw_option *options, size_t option_count,
                             cw_error *err)
{
    const char *name = args[*at] + 2;
    const char *equals = strchr(name, '=');
    size_t length = equals != NULL ? (size_t)(equals - name) : strlen(name);
    cw_option *option = NULL;
    for (size_t i = 0; i < option_count; i++)
        if (strlen(options[i].key) == length && strncmp(options[i].key, name, length) == 0)
            option = &options[i];
    if (option == NULL)
        return unknown_option(name, length, options, option_count, err);
    if (option->value != NULL)
        return cw_fail(err, CW_INPUT, "--%s is given twice", option->key);
    if (option->is_flag) {
        if (equals != NULL)
            return cw_fail(err, CW_INPUT, "--%s takes no value", option->key);
        option->value = "";
        return CW_OK;
    }
    if (equals != NULL) {
        option->value = equals + 1;
        return CW_OK;
    }
    if (*at + 1 >= count || strncmp(args[*at + 1], "--", 2) == 0)
        return cw_fail(err, CW_INPUT, "--%s needs a value behind it", option->key);
    option->value = args[++*at];
    return CW_OK;
}

const cw_verb *cw_verb_find(const cw_verb *verbs, size_t verb_count, size_t count, const char *const *args)
{
    for (size_t i = 0; count > 0 && i < verb_count; i++)
        if (strcmp(verbs[i].name, args[0]) == 0)
            return &verbs[i];
    return NULL;
}

cw_status cw_options_read(size_t count, const char *const *args, cw_option *options, size_t option_count,
                          const char **operands, size_t operand_most, size_t *operand_count, cw_error *err)
{
    size_t operands_read = 0;
    bool only_operands = false;
    for (size_t i = 0; i < count; i++) {
        if (!only_operands && strcmp(args[i], "--") == 0) {
            only_operands = true;
        } else if (!only_operands && strncmp(args[i], "--", 2) == 0) {
            CW_TRY(read_option(count, args, &i, options, option_count, err));
        } else if (operands_read < operand_most) {
            operands[operands_read++] = args[i];
        } else {
            return cw_fail(err, CW_INPUT, "\"%.60s\" is one word too many here; --help shows how the command is used",
                           args[i]);
        }
    }
    *operand_count = operands_read;
    return CW_OK;
}

const char *cw_option_value(const cw_option *options, size_t option_count, const char *key)
{
    for (size_t i = 0; i < option_count; i++)
        if (strcmp(options[i].key, key) == 0)
            return options[i].value;
    return NULL;
}

bool cw_option_given(const cw_option *options, size_t option_count, const char *key)
{
    return cw_option_value(options, option_count, key) != NULL;
}

cw_status cw_out_flush(FILE *out, cw_error *err)
{
    if (fflush(out) != 0 || ferror(out))
        return cw_fail(err, CW_FILE, "the output could not be written: %s", strerror(errno));
    return CW_OK;
}
