/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/print.h"

#include <stdlib.h>
#include <string.h>

#include "base/languages.h"
#include "base/say.h"

enum { PRINT_MOST = 1 << 20, NAME_MOST = 16 };

static cw_manner reader;

static const char *first_set(const char *const names[], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const char *value = getenv(names[i]);
        if (value != NULL && *value != '\0')
            return value;
    }
    return "C";
}

/* "de_AT.UTF-8", "de:en" and "marks" name a catalogue. */
static void use_language(const char *tag)
{
    char name[NAME_MOST] = "";
    size_t length = strcspn(tag, "_.:@-");
    if (length < sizeof name)
        memcpy(name, tag, length);
    cw_language_use(name, &reader);
}

void cw_print_begin(void)
{
    static const char *const words[] = {"LC_ALL", "LC_MESSAGES", "LANG"}, *const numbers[] = {"LC_ALL", "LC_NUMERIC",
                                                                                              "LANG"};
    const char *locale = first_set(words, CW_COUNT(words)), *language = getenv("LANGUAGE");
    bool plain = strcmp(locale, "C") == 0 || strncmp(locale, "C.", 2) == 0 || strcmp(locale, "POSIX") == 0;
    /* gettext manual, "The LANGUAGE variable": it counts only where the locale is not C */
    use_language(!plain && language != NULL && *language != '\0' ? language : locale);
    reader.comma = cw_language_has_comma(first_set(numbers, CW_COUNT(numbers)));
}

const cw_manner *cw_print_manner(void)
{
    return &reader;
}

static void print(FILE *out, bool told, const char *format, va_list args)
{
    cw_buf text = cw_buf_new(PRINT_MOST);
    const cw_manner *before = cw_manner_use(&reader);
    cw_vsay(&text, told, format, args);
    cw_manner_use(before);
    fputs(cw_buf_string(&text), out);
    cw_buf_free(&text);
}

void cw_print(FILE *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    print(out, false, format, args);
    va_end(args);
}

void cw_print_told(FILE *out, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    print(out, true, format, args);
    va_end(args);
}
