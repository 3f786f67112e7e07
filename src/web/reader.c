/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/reader.h"

#include <stdio.h>
#include <string.h>

#include "base/languages.h"

/* ---- what may be chosen ---- */

static const struct {
    const char *field;
    const char *words[5];
} allowed[] = {
    {"decimal", {"auto", "point", "comma", NULL}},
    {"length", {"auto", "mm", "in", NULL}},
    {"dates", {"auto", "plain", "day", "month", NULL}},
};

static bool is_allowed(const char *field, const char *word)
{
    if (strcmp(field, "language") == 0)
        return strcmp(word, "auto") == 0 || strcmp(word, "en") == 0 || cw_language_words(word) != NULL;
    for (size_t i = 0; i < CW_COUNT(allowed); i++)
        for (size_t w = 0; strcmp(allowed[i].field, field) == 0 && allowed[i].words[w] != NULL; w++)
            if (strcmp(allowed[i].words[w], word) == 0)
                return true;
    return false;
}

bool cw_reader_set(cw_reader *reader, const char *field, const char *word)
{
    if (strlen(word) >= CW_READER_WORD || !is_allowed(field, word))
        return false;
    char *place = strcmp(field, "language") == 0  ? reader->language
                  : strcmp(field, "decimal") == 0 ? reader->decimal
                  : strcmp(field, "length") == 0  ? reader->length
                                                  : reader->dates;
    memcpy(place, word, strlen(word) + 1);
    return true;
}

/* "a.b.c.d" behind "cw_reader=" in a Cookie header. */
static void read_cookie(const char *cookie, cw_reader *reader)
{
    static const char *const fields[] = {"language", "decimal", "length", "dates"};
    static const char name[] = "cw_reader=";
    const char *at = cookie;
    while (at != NULL && strncmp(at, name, sizeof name - 1) != 0) {
        at = strchr(at, ';');
        if (at != NULL)
            at += 1 + strspn(at + 1, " ");
    }
    if (at == NULL)
        return;
    at += sizeof name - 1;
    for (size_t i = 0; i < CW_COUNT(fields); i++) {
        size_t length = strcspn(at, ".; ");
        char word[CW_READER_WORD];
        if (length < sizeof word) {
            memcpy(word, at, length);
            word[length] = '\0';
            (void)cw_reader_set(reader, fields[i], word); /* another word: it stays auto */
        }
        at += length;
        if (*at != '.')
            return;
        at++;
    }
}

void cw_reader_read(const char *cookie, const char *accept_language, cw_reader *reader, cw_manner *manner)
{
    *reader = (cw_reader){"auto", "auto", "auto", "auto"};
    read_cookie(cookie, reader);
    bool chosen = cw_language_words(reader->language) != NULL;
    const char *numbers = chosen ? reader->language : accept_language;
    *manner = (cw_manner){
        .comma = strcmp(reader->decimal, "comma") == 0 ||
                 (strcmp(reader->decimal, "auto") == 0 && cw_language_has_comma(numbers)),
        .inches = strcmp(reader->length, "in") == 0,
        .dates = strcmp(reader->dates, "day") == 0     ? CW_DATES_DAY_FIRST
                 : strcmp(reader->dates, "month") == 0 ? CW_DATES_MONTH_FIRST
                                                       : CW_DATES_PLAIN,
    };
    cw_language_use(reader->language, manner);
}

void cw_reader_cookie(const cw_reader *reader, bool secure, char *out, size_t size)
{
    snprintf(out, size, "cw_reader=%s.%s.%s.%s; Path=/; Max-Age=31536000; SameSite=Lax; HttpOnly%s", reader->language,
             reader->decimal, reader->length, reader->dates, secure ? "; Secure" : "");
}
