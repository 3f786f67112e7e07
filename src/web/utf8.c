/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/utf8.h"

static bool follows(unsigned char c, unsigned char least, unsigned char most)
{
    return c >= least && c <= most;
}

/* RFC 3629, section 4, the table of well-formed sequences. */
size_t cw_wellformed_length(const char *at)
{
    const unsigned char *s = (const unsigned char *)at;
    if (s[0] < 0x80)
        return 1;
    if (s[0] >= 0xC2 && s[0] <= 0xDF)
        return follows(s[1], 0x80, 0xBF) ? 2 : 0;
    if (s[0] >= 0xE0 && s[0] <= 0xEF) {
        unsigned char least = s[0] == 0xE0 ? 0xA0 : 0x80, most = s[0] == 0xED ? 0x9F : 0xBF;
        return follows(s[1], least, most) && follows(s[2], 0x80, 0xBF) ? 3 : 0;
    }
    if (s[0] >= 0xF0 && s[0] <= 0xF4) {
        unsigned char least = s[0] == 0xF0 ? 0x90 : 0x80, most = s[0] == 0xF4 ? 0x8F : 0xBF;
        return follows(s[1], least, most) && follows(s[2], 0x80, 0xBF) && follows(s[3], 0x80, 0xBF) ? 4 : 0;
    }
    return 0;
}

bool cw_wellformed(const char *text)
{
    while (*text != '\0') {
        size_t length = cw_wellformed_length(text);
        if (length == 0)
            return false;
        text += length;
    }
    return true;
}
