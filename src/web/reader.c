/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/reader.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* po/NAME.po, compiled and taken in by words.S. */
extern const char cw_words_de[], cw_words_de_end[], cw_words_marks[], cw_words_marks_end[];

static const struct {
    const char *name, *label, *start, *end;
} languages[] = {
    {"de", "Deutsch (in Teilen)", cw_words_de, cw_words_de_end},
    {"marks", "Marks on what can be translated", cw_words_marks, cw_words_marks_end},
};

static cw_words *catalogues[CW_COUNT(languages)];
static pthread_once_t catalogues_once = PTHREAD_ONCE_INIT;

/* They are part of the program; one that cannot be read is left out, and tests/web/reader says so. */
static void read_catalogues(void)
{
    for (size_t i = 0; i < CW_COUNT(languages); i++) {
        cw_error err;
        if (cw_words_read(languages[i].start, (size_t)(languages[i].end - languages[i].start), &catalogues[i], &err) !=
            CW_OK)
            fprintf(stderr, "camerawright: catalogue %s: %s\n", languages[i].name, err.text);
    }
}

const char *cw_language_name(size_t index)
{
    return index < CW_COUNT(languages) ? languages[index].name : NULL;
}

const char *cw_language_label(size_t index)
{
    return index < CW_COUNT(languages) ? languages[index].label : NULL;
}

const cw_words *cw_language_words(const char *name)
{
    pthread_once(&catalogues_once, read_catalogues);
    for (size_t i = 0; i < CW_COUNT(languages); i++)
        if (strcmp(languages[i].name, name) == 0)
            return catalogues[i];
    return NULL;
}

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

/* Languages whose numbers carry a comma: Unicode CLDR, decimal symbol of the language's main locale (from memory). */
static bool language_has_comma(const char *accept_language)
{
    static const char *const with_comma[] = {"af", "bg", "ca", "cs", "da", "de", "el", "es", "et", "eu", "fi", "fr",
                                             "gl", "hr", "hu", "id", "is", "it", "lt", "lv", "nb", "nl", "nn", "no",
                                             "pl", "pt", "ro", "ru", "sk", "sl", "sr", "sv", "tr", "uk", "vi"};
    if (accept_language == NULL || strncasecmp(accept_language, "de-CH", 5) == 0)
        return false;
    if (strncasecmp(accept_language, "es-MX", 5) == 0 || strncasecmp(accept_language, "es-US", 5) == 0)
        return false;
    for (size_t i = 0; i < CW_COUNT(with_comma); i++)
        if (strncasecmp(accept_language, with_comma[i], 2) == 0 && strchr("-,;", accept_language[2]) != NULL)
            return true;
    return false;
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
    *manner = (cw_manner){
        .words = cw_language_words(reader->language),
        .comma = strcmp(reader->decimal, "comma") == 0 ||
                 (strcmp(reader->decimal, "auto") == 0 && language_has_comma(accept_language)),
        .inches = strcmp(reader->length, "in") == 0,
        .dates = strcmp(reader->dates, "day") == 0     ? CW_DATES_DAY_FIRST
                 : strcmp(reader->dates, "month") == 0 ? CW_DATES_MONTH_FIRST
                                                       : CW_DATES_PLAIN,
    };
}

void cw_reader_cookie(const cw_reader *reader, bool secure, char *out, size_t size)
{
    snprintf(out, size, "cw_reader=%s.%s.%s.%s; Path=/; Max-Age=31536000; SameSite=Lax; HttpOnly%s", reader->language,
             reader->decimal, reader->length, reader->dates, secure ? "; Secure" : "");
}
