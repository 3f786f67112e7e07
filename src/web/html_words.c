/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/html_words.h"

#include <string.h>

#include "base/manner.h"

static bool is_space(char c)
{
    return c == ' ' || c == '\n' || c == '\t';
}

/* A run of text as it stands or translated; the space around it stays. */
static void write_run(cw_html *h, const char *run, size_t length)
{
    size_t before = 0, after = 0;
    while (before < length && is_space(run[before]))
        before++;
    while (after < length - before && is_space(run[length - 1 - after]))
        after++;
    const char *found = cw_words_find(cw_manner_now()->words, run + before, length - before - after);
    if (found == NULL) {
        cw_buf_add(&h->buf, run, length);
        return;
    }
    cw_buf_add(&h->buf, run, before);
    cw_html_escaped(h, found);
    cw_buf_add(&h->buf, run + length - after, after);
}

/* Whether the markup just before `at` opens a readable attribute: "... alt=". */
static bool opens_readable(const char *literal, const char *at)
{
    static const char *const names[] = {"aria-label=", "title=", "alt=", "placeholder="};
    for (size_t i = 0; i < CW_COUNT(names); i++) {
        size_t length = strlen(names[i]);
        if ((size_t)(at - literal) > length && strncmp(at - length, names[i], length) == 0 &&
            is_space(at[-(ptrdiff_t)length - 1]))
            return true;
    }
    return false;
}

void cw_html_words(cw_html *h, const char *literal, size_t length)
{
    const char *end = literal + length, *start = literal; /* what is not written yet */
    for (const char *at = literal; at < end; at++) {
        if (!h->in_tag) {
            if (*at != '<')
                continue;
            write_run(h, start, (size_t)(at - start));
            start = at;
            h->in_tag = true;
        } else if (h->quote != 0) {
            if (*at == h->quote)
                h->quote = 0;
        } else if (*at == '>') {
            cw_buf_add(&h->buf, start, (size_t)(at + 1 - start));
            start = at + 1;
            h->in_tag = false;
        } else if (*at == '\'' || *at == '"') {
            h->quote = *at;
            const char *close = memchr(at + 1, *at, (size_t)(end - at - 1));
            if (close == NULL || !opens_readable(literal, at))
                continue;
            cw_buf_add(&h->buf, start, (size_t)(at + 1 - start));
            write_run(h, at + 1, (size_t)(close - at - 1));
            start = close;
            at = close;
            h->quote = 0;
        }
    }
    if (h->in_tag)
        cw_buf_add(&h->buf, start, (size_t)(end - start));
    else
        write_run(h, start, (size_t)(end - start));
}
