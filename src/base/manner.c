/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/manner.h"

#include <ctype.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

static const cw_manner plain_manner;
static _Thread_local const cw_manner *now = &plain_manner;

const cw_manner *cw_manner_now(void)
{
    return now;
}

const cw_manner *cw_manner_use(const cw_manner *manner)
{
    const cw_manner *before = now;
    now = manner != NULL ? manner : &plain_manner;
    return before;
}

/* Set by the linker: the first and last byte of the program's own image. Literals lie between, stack and heap do not.
 */
extern const char __executable_start[], _end[];

static bool is_own_text(const char *text)
{
    uintptr_t at = (uintptr_t)text;
    return at >= (uintptr_t)__executable_start && at < (uintptr_t)_end;
}

const char *cw_words_of(const char *text)
{
    if (now->words == NULL || text == NULL || !is_own_text(text))
        return text;
    const char *found = cw_words_find(now->words, text, strlen(text));
    return found != NULL ? found : text;
}

const char *cw_words_format(const char *format)
{
    const char *found = cw_words_of(format);
    return found == format || cw_words_same_arguments(format, found) ? found : format;
}

bool cw_sentence_of(const char *text, cw_buf *out)
{
    const cw_telling how = {.english = now->words == NULL, .comma = now->comma, .inches = now->inches};
    if (now->sentences == NULL || text == NULL || *text == '\0' || (how.english && !how.comma && !how.inches))
        return false;
    return cw_sentences_tell(now->sentences, &how, text, out);
}

bool cw_manner_is_plain(void)
{
    return now->words == NULL && !now->comma && !now->inches && now->dates == CW_DATES_PLAIN;
}

/* "dddd-dd-dd" with what may follow it. */
static bool is_date(const char *text)
{
    static const char form[] = "dddd-dd-dd dd:dd:dd";
    size_t length = strlen(text);
    if (length != 10 && length != 16 && length != 19)
        return false;
    for (size_t i = 0; i < length; i++) {
        bool fits =
            form[i] == 'd' ? isdigit((unsigned char)text[i]) != 0 : text[i] == form[i] || (i == 10 && text[i] == 'T');
        if (!fits)
            return false;
    }
    return true;
}

bool cw_date_text(const char *plain, char *out, size_t size)
{
    if (now->dates == CW_DATES_PLAIN || !is_date(plain))
        return false;
    const char *rest = strlen(plain) > 10 ? plain + 11 : "", *space = *rest != '\0' ? " " : "";
    if (now->dates == CW_DATES_DAY_FIRST)
        snprintf(out, size, "%.2s.%.2s.%.4s%s%s", plain + 8, plain + 5, plain, space, rest);
    else
        snprintf(out, size, "%.2s/%.2s/%.4s%s%s", plain + 5, plain + 8, plain, space, rest);
    return true;
}

void cw_comma_digits(char *text)
{
    if (!now->comma)
        return;
    for (char *at = text; *at != '\0'; at++)
        if (*at == '.' && at > text && isdigit((unsigned char)at[-1]) && isdigit((unsigned char)at[1]))
            *at = ',';
}
