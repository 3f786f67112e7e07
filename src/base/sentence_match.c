/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/sentence_match.h"

#include <ctype.h>
#include <string.h>

#include "base/figure.h"

typedef struct {
    const char *end; /* of the text */
    size_t *work, most;
    void (*way)(void *, const cw_captured *);
    void *context;
    cw_captured args[CW_CONVERSIONS_MOST];
} matcher;

static size_t span_of(const cw_conversion *c, const char *at, const char *end)
{
    size_t length = (size_t)(end - at), spaces = 0;
    while (c->width && spaces < length && at[spaces] == ' ')
        spaces++;
    size_t digits = c->converts == CW_CONVERTS_HEX
                        ? cw_figure_hex_span(at + spaces, length - spaces)
                        : cw_figure_span(at + spaces, length - spaces, c->converts == CW_CONVERTS_REAL);
    return digits > 0 ? spaces + digits : 0;
}

static void match(matcher *m, const char *format, const char *at, int in_order);

static void match_conversion(matcher *m, const cw_conversion *c, const char *at, int in_order)
{
    cw_captured *arg = &m->args[c->position > 0 ? c->position - 1 : in_order];
    *arg = (cw_captured){at, 0};
    if (c->converts == CW_CONVERTS_LETTER) {
        arg->length = at < m->end;
        while (at + arg->length < m->end && ((unsigned char)at[arg->length] & 0xc0) == 0x80)
            arg->length++;
    } else if (c->converts != CW_CONVERTS_TEXT) {
        arg->length = span_of(c, at, m->end);
    }
    if (arg->length > 0) {
        match(m, c->end, at + arg->length, in_order + 1);
        return;
    }
    if (c->converts != CW_CONVERTS_TEXT)
        return;
    if (*c->end == '\0') { /* the rest */
        arg->length = (size_t)(m->end - at);
        match(m, c->end, m->end, in_order + 1);
        return;
    }
    bool literal = *c->end != '%';
    for (const char *until = at; until <= m->end && *m->work < m->most; until++) {
        ++*m->work;
        if (literal && (until == m->end || *until != *c->end))
            continue;
        *arg = (cw_captured){at, (size_t)(until - at)};
        match(m, c->end, until, in_order + 1);
    }
}

static void match(matcher *m, const char *format, const char *at, int in_order)
{
    cw_conversion c;
    while (*format != '\0') {
        if (cw_conversion_read(format, &c)) {
            match_conversion(m, &c, at, in_order);
            return;
        }
        format += format[0] == '%' && format[1] == '%';
        if (at == m->end || *at++ != *format++)
            return;
    }
    if (at == m->end)
        m->way(m->context, m->args);
}

void cw_sentence_match(const char *format, const char *text, size_t length, size_t *work, size_t most,
                       void (*way)(void *, const cw_captured *), void *context)
{
    matcher m = {.end = text + length, .work = work, .most = most, .way = way, .context = context};
    match(&m, format, text, 0);
}

static bool has_unit(const char *behind)
{
    return strncmp(behind, " mm", 3) == 0 && !isalnum((unsigned char)behind[3]) && (unsigned char)behind[3] < 0x80;
}

/* "%.1f to %.1f mm", "%g by %g mm": what is between is no more than a joining word. */
static bool is_joined(const char *from, const char *to)
{
    if (to - from < 1 || to - from > 6)
        return false;
    for (const char *at = from; at < to; at++)
        if (strchr(".;:()%=/0123456789", *at) != NULL)
            return false;
    return true;
}

void cw_format_lengths(const char *format, bool lengths[CW_CONVERSIONS_MOST], cw_conversion *conversions)
{
    cw_conversion found[CW_CONVERSIONS_MOST], c;
    int places[CW_CONVERSIONS_MOST], count = 0;
    for (const char *at = format; count < CW_CONVERSIONS_MOST && cw_conversion_next(at, &c); at = c.end) {
        places[count] = c.position > 0 ? c.position - 1 : count;
        found[count++] = c;
    }
    for (int i = count - 1; i >= 0; i--) {
        bool joined = i + 1 < count && lengths[places[i + 1]] && is_joined(found[i].end, found[i + 1].start);
        lengths[places[i]] = has_unit(found[i].end) || joined;
        if (conversions != NULL)
            conversions[places[i]] = found[i];
    }
}
