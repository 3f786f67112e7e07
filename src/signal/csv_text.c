/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The text of a CSV, whatever its encoding: byte order marks taken off, UTF-16 turned into UTF-8. */
#include <stdlib.h>
#include <string.h>

#include "signal/csv.h"

static bool begins(const char *bytes, size_t count, const char *mark, size_t length)
{
    return count >= length && memcmp(bytes, mark, length) == 0;
}

bool cw_csv_is_utf16(const unsigned char *bytes, size_t count)
{
    return begins((const char *)bytes, count, "\xff\xfe", 2) || begins((const char *)bytes, count, "\xfe\xff", 2);
}

/* Numbers and their units lie below U+0800; the rest, names of channels in other scripts, becomes "?". */
static size_t put(char *out, unsigned unit)
{
    if (unit < 0x80) {
        out[0] = (char)unit;
        return 1;
    }
    if (unit < 0x800) {
        out[0] = (char)(0xc0 | unit >> 6);
        out[1] = (char)(0x80 | (unit & 0x3f));
        return 2;
    }
    out[0] = '?';
    return 1;
}

cw_status cw_csv_plain_text(char **bytes, size_t *count, cw_error *err)
{
    const unsigned char *in = (const unsigned char *)*bytes;
    if (begins(*bytes, *count, "\xef\xbb\xbf", 3)) {
        *count -= 3;
        memmove(*bytes, *bytes + 3, *count);
        return CW_OK;
    }
    if (!cw_csv_is_utf16(in, *count))
        return CW_OK;
    size_t high = in[0] == 0xfe ? 0 : 1, n = 0;
    char *out = malloc(*count + 1); /* two bytes give at most two */
    if (out == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read text in UTF-16");
    for (size_t i = 2; i + 1 < *count; i += 2)
        n += put(out + n, (unsigned)in[i + high] << 8 | in[i + 1 - high]);
    free(*bytes);
    *bytes = out;
    *count = n;
    return CW_OK;
}
