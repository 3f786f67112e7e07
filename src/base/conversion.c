/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/conversion.h"

#include <ctype.h>
#include <string.h>

static const char *skip_digits(const char *at)
{
    while (isdigit((unsigned char)*at))
        at++;
    return at;
}

static bool kind_of(char letter, cw_converts *converts)
{
    if (strchr("diu", letter) != NULL)
        *converts = CW_CONVERTS_WHOLE;
    else if (strchr("xXo", letter) != NULL)
        *converts = CW_CONVERTS_HEX;
    else if (strchr("eEfFgG", letter) != NULL)
        *converts = CW_CONVERTS_REAL;
    else if (letter == 's')
        *converts = CW_CONVERTS_TEXT;
    else if (letter == 'c')
        *converts = CW_CONVERTS_LETTER;
    else
        return false;
    return true;
}

bool cw_conversion_read(const char *at, cw_conversion *conversion)
{
    if (*at != '%')
        return false;
    *conversion = (cw_conversion){.start = at++};
    const char *behind = skip_digits(at);
    if (*behind == '$' && behind > at && behind - at < 3) {
        for (; *at != '$'; at++)
            conversion->position = 10 * conversion->position + (*at - '0');
        at++;
    }
    conversion->spec = at;
    at += strspn(at, "-+#0'");
    conversion->width = isdigit((unsigned char)*at) || *at == '*';
    conversion->star = *at == '*';
    at = *at == '*' ? at + 1 : skip_digits(at);
    if (*at == '.') {
        conversion->star = conversion->star || at[1] == '*';
        at = at[1] == '*' ? at + 2 : skip_digits(at + 1);
    }
    size_t used = 0;
    while (*at != '\0' && strchr("hlLqjzt", *at) != NULL && used < 2)
        conversion->type[used++] = *at++;
    conversion->type[used] = *at;
    conversion->end = at + 1;
    return *at != '\0' && kind_of(*at, &conversion->converts);
}

bool cw_conversion_next(const char *at, cw_conversion *conversion)
{
    while ((at = strchr(at, '%')) != NULL) {
        if (cw_conversion_read(at, conversion))
            return true;
        at += at[1] == '%' ? 2 : 1;
    }
    return false;
}

/* As cw_conversion_next; *strange becomes true at a letter that is none of ours, such as "%n". */
static bool next_or_strange(const char *at, cw_conversion *conversion, bool *strange)
{
    while ((at = strchr(at, '%')) != NULL) {
        if (cw_conversion_read(at, conversion))
            return true;
        *strange = *strange || isalpha((unsigned char)at[1]);
        at += at[1] == '%' ? 2 : 1;
    }
    return false;
}

int cw_format_arguments(const char *format, char types[CW_CONVERSIONS_MOST][4])
{
    cw_conversion c;
    int in_order = 0, most = 0;
    bool numbered = false, strange = false;
    memset(types, 0, sizeof(char[CW_CONVERSIONS_MOST][4]));
    for (const char *at = format; next_or_strange(at, &c, &strange); at = c.end) {
        int place = c.position > 0 ? c.position : ++in_order;
        numbered = numbered || c.position > 0;
        if (c.star || place > CW_CONVERSIONS_MOST || (numbered && in_order > 0))
            return -1;
        char *type = types[place - 1];
        if (type[0] != '\0' && strcmp(type, c.type) != 0)
            return -1;
        memcpy(type, c.type, sizeof c.type);
        most = place > most ? place : most;
    }
    if (strange)
        return -1;
    for (int i = 0; i < most; i++)
        if (types[i][0] == '\0')
            return -1;
    return most;
}
