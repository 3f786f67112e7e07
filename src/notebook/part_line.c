/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/part_line.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { WORDS_MOST = 40, COUNT_MOST = 9999 };

typedef struct {
    char text[CW_PART_LINE_TEXT];
    char *words[WORDS_MOST];
    size_t count;
} split_line;

static cw_status split(const char *text, split_line *line, cw_error *err)
{
    line->count = 0;
    if (strlen(text) >= sizeof line->text)
        return cw_fail(err, CW_INPUT, "the line on the part is longer than %d characters", CW_PART_LINE_TEXT - 1);
    memcpy(line->text, text, strlen(text) + 1);
    for (char *rest = line->text, *word; (word = strsep(&rest, " \t\r\n")) != NULL;) {
        if (*word == '\0')
            continue;
        if (line->count == WORDS_MOST)
            return cw_fail(err, CW_INPUT, "the line on the part has more than %d words", WORDS_MOST);
        line->words[line->count++] = word;
    }
    return CW_OK;
}

static void drop(split_line *line, size_t from, size_t count)
{
    memmove(line->words + from, line->words + from + count, (line->count - from - count) * sizeof *line->words);
    line->count -= count;
}

/* A whole number in digits, all of the word. */
static bool whole(const char *word, long *value)
{
    char *end;
    if (!isdigit((unsigned char)*word))
        return false;
    *value = strtol(word, &end, 10);
    return *end == '\0';
}

/* "3", "3x", "three" at the beginning. */
static cw_status take_count(split_line *line, int64_t *pieces, cw_error *err)
{
    static const char *const numbers[] = {"one",   "two",   "three", "four", "five",   "six",
                                          "seven", "eight", "nine",  "ten",  "eleven", "twelve"};
    *pieces = 1;
    if (line->count < 2)
        return CW_OK;
    char *first = line->words[0];
    size_t length = strlen(first);
    long value;
    if (length > 1 && (first[length - 1] == 'x' || first[length - 1] == 'X') && isdigit((unsigned char)first[0]))
        first[length - 1] = '\0';
    if (whole(first, &value)) {
        if (value < 1 || value > COUNT_MOST)
            return cw_fail(err, CW_INPUT, "%s pieces; 1 to %d can be noted", first, COUNT_MOST);
        *pieces = value;
        drop(line, 0, strcasecmp(line->words[1], "x") == 0 ? 2 : 1);
        return CW_OK;
    }
    for (size_t i = 0; i < CW_COUNT(numbers); i++)
        if (strcasecmp(first, numbers[i]) == 0) {
            *pieces = (int64_t)i + 1;
            drop(line, 0, 1);
            return CW_OK;
        }
    return CW_OK;
}

/* "into tray 2", "tray 2", "-> 2", "into 2" at the end. */
static cw_status take_tray(split_line *line, int64_t *tray, cw_error *err)
{
    *tray = 0;
    long value;
    if (line->count < 2 || !whole(line->words[line->count - 1], &value))
        return CW_OK;
    size_t begin = line->count - 1;
    static const char *const leads[] = {"tray", "into", "in", "to", "->", "number", "no."};
    for (bool more = true; more && begin > 0;) {
        more = false;
        for (size_t i = 0; i < CW_COUNT(leads); i++)
            more = more || strcasecmp(line->words[begin - 1], leads[i]) == 0;
        begin -= more;
    }
    if (begin == line->count - 1)
        return CW_OK;
    if (value < 1 || value > COUNT_MOST)
        return cw_fail(err, CW_INPUT, "tray %ld; trays are numbered 1 to %d", value, COUNT_MOST);
    *tray = value;
    line->count = begin;
    return CW_OK;
}

/* Thread sizes as they are written: M1.7, 2BA, #0-80, 0-80. */
static bool is_size(const char *word)
{
    size_t digits = strspn(word + (*word == '#'), "0123456789");
    const char *rest = word + (*word == '#') + digits;
    if ((*word == 'M' || *word == 'm') && isdigit((unsigned char)word[1]))
        return strspn(word + 1, "0123456789.,xX") == strlen(word + 1);
    if (digits > 0 && strcasecmp(rest, "BA") == 0)
        return true;
    return digits > 0 && *rest == '-' && rest[1] != '\0' && strspn(rest + 1, "0123456789") == strlen(rest + 1);
}

/* "3.2mm", or "3.2" with "mm" behind it: how many words it takes. */
static size_t length_words(const split_line *line, size_t at)
{
    const char *word = line->words[at];
    size_t digits = strspn(word, "0123456789.,");
    if (digits == 0 || !isdigit((unsigned char)*word))
        return 0;
    if (strcasecmp(word + digits, "mm") == 0)
        return 1;
    return word[digits] == '\0' && at + 1 < line->count && strcasecmp(line->words[at + 1], "mm") == 0 ? 2 : 0;
}

static void take_measures(split_line *line, cw_part_line *part)
{
    for (size_t i = 0; i < line->count;) {
        size_t words = length_words(line, i);
        if (words > 0 && part->length[0] == '\0') {
            snprintf(part->length, sizeof part->length, "%.*s mm", (int)strspn(line->words[i], "0123456789.,"),
                     line->words[i]);
            drop(line, i, words);
        } else if (is_size(line->words[i]) && part->size[0] == '\0') {
            snprintf(part->size, sizeof part->size, "%s", line->words[i]);
            drop(line, i, 1);
        } else {
            i++;
        }
    }
}

/* "screws" is many of a "screw"; "glass" and "brass" end in s by themselves. */
static void fold_plural(char *kind)
{
    size_t length = strlen(kind);
    if (length > 2 && kind[length - 1] == 's' && kind[length - 2] != 's')
        kind[length - 1] = '\0';
}

cw_status cw_part_line_parse(const char *text, cw_part_line *part, cw_error *err)
{
    split_line line;
    cw_part_line made = {0};
    CW_TRY(split(text, &line, err));
    CW_TRY(take_tray(&line, &made.tray, err));
    take_measures(&line, &made); /* before the count: "5 mm ball" is one ball */
    CW_TRY(take_count(&line, &made.pieces, err));
    size_t used = 0;
    for (size_t i = 0; i < line.count; i++)
        used += (size_t)snprintf(made.kind + used, sizeof made.kind - used, "%s%s", i > 0 ? " " : "", line.words[i]);
    if (made.kind[0] == '\0')
        return cw_fail(err, CW_INPUT, "\"%.60s\" names no part; say it like \"3 screws M1.7 3.2mm into tray 2\"", text);
    if (made.pieces > 1)
        fold_plural(made.kind);
    *part = made;
    return CW_OK;
}
