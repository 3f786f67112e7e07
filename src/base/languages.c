/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/languages.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* po/NAME.po, compiled and taken in by NAME-words.S. */
extern const char cw_words_en[], cw_words_en_end[], cw_words_de[], cw_words_de_end[], cw_words_marks[],
    cw_words_marks_end[];

static const struct {
    const char *name, *label, *start, *end;
} languages[] = {
    {"de", "Deutsch (in Teilen)", cw_words_de, cw_words_de_end},
    {"marks", "Marks on what can be translated", cw_words_marks, cw_words_marks_end},
    {"en", "English", cw_words_en, cw_words_en_end},
};
enum { ENGLISH = CW_COUNT(languages) - 1 };

static cw_words *catalogues[CW_COUNT(languages)];
static cw_sentences *sentences[CW_COUNT(languages)];
static pthread_once_t once = PTHREAD_ONCE_INIT;

/* They are part of the program; one that cannot be read is left out, and tests/base/languages says so. */
static void read_catalogues(void)
{
    for (size_t i = 0; i < CW_COUNT(languages); i++) {
        cw_error err;
        size_t length = (size_t)(languages[i].end - languages[i].start);
        if (cw_words_read(languages[i].start, length, &catalogues[i], &err) != CW_OK ||
            cw_sentences_make(catalogues[i], &sentences[i], &err) != CW_OK)
            fprintf(stderr, "camerawright: catalogue %s: %s\n", languages[i].name, err.text);
    }
}

static size_t place_of(const char *name)
{
    pthread_once(&once, read_catalogues);
    size_t i = 0;
    while (i < ENGLISH && strcmp(languages[i].name, name) != 0)
        i++;
    return i;
}

const char *cw_language_name(size_t index)
{
    return index < ENGLISH ? languages[index].name : NULL;
}

const char *cw_language_label(size_t index)
{
    return index < ENGLISH ? languages[index].label : NULL;
}

const cw_words *cw_language_words(const char *name)
{
    size_t place = place_of(name);
    return place < ENGLISH ? catalogues[place] : NULL;
}

void cw_language_use(const char *name, cw_manner *manner)
{
    manner->words = cw_language_words(name);
    manner->sentences = sentences[place_of(name)];
}

/* "de-CH" and "de_CH" alike. */
static bool is_of(const char *tag, const char *locale)
{
    return strncasecmp(tag, locale, 2) == 0 && (tag[2] == '-' || tag[2] == '_') &&
           strncasecmp(tag + 3, locale + 3, 2) == 0;
}

bool cw_language_has_comma(const char *tag)
{
    static const char *const with_comma[] = {"af", "bg", "ca", "cs", "da", "de", "el", "es", "et", "eu", "fi", "fr",
                                             "gl", "hr", "hu", "id", "is", "it", "lt", "lv", "nb", "nl", "nn", "no",
                                             "pl", "pt", "ro", "ru", "sk", "sl", "sr", "sv", "tr", "uk", "vi"};
    if (tag == NULL || is_of(tag, "de-CH"))
        return false;
    if (is_of(tag, "es-MX") || is_of(tag, "es-US"))
        return false;
    for (size_t i = 0; i < CW_COUNT(with_comma); i++)
        if (strncasecmp(tag, with_comma[i], 2) == 0 && strchr("-_,;.", tag[2]) != NULL)
            return true;
    return false;
}
