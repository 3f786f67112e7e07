/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/utf8.h"
#include "notebook/store.h"

void store_now(char out[32])
{
    time_t now = time(NULL);
    struct tm parts;
    gmtime_r(&now, &parts);
    strftime(out, 32, "%Y-%m-%dT%H:%M:%SZ", &parts);
}

void cw_today(char day[CW_DAY_TEXT])
{
    time_t now = time(NULL);
    struct tm parts;
    if (localtime_r(&now, &parts) == NULL)
        gmtime_r(&now, &parts);
    strftime(day, CW_DAY_TEXT, "%Y-%m-%d", &parts);
}

static bool two_digits(const char *text, int *value)
{
    if (text[0] < '0' || text[0] > '9' || text[1] < '0' || text[1] > '9')
        return false;
    *value = (text[0] - '0') * 10 + (text[1] - '0');
    return true;
}

bool store_day_ok(const char *text)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int century, year, month, day;
    if (strlen(text) != 10 || text[4] != '-' || text[7] != '-' || !two_digits(text, &century) ||
        !two_digits(text + 2, &year) || !two_digits(text + 5, &month) || !two_digits(text + 8, &day))
        return false;
    year += century * 100;
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return year >= 1800 && month >= 1 && month <= 12 && day >= 1 && day <= days[month - 1] + (month == 2 && leap);
}

static size_t utf8_write(uint32_t c, char *out)
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    size_t length = c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    for (size_t i = length - 1; i > 0; i--, c >>= 6)
        out[i] = (char)(0x80 | (c & 0x3f));
    out[0] = (char)((0xf00u >> length & 0xff) | c);
    return length;
}

bool store_text_ok(const char *text, size_t length, bool lines)
{
    for (size_t i = 0; i < length;) {
        uint32_t c;
        size_t step = cw_utf8_next(text + i, &c);
        bool broken = c == 0xfffd && step == 1;
        if (step == 0 || step > length - i || broken ||
            (c < 0x20 && !(lines && (c == '\n' || c == '\r' || c == '\t'))) || (c >= 0x7f && c < 0xa0))
            return false;
        i += step;
    }
    return true;
}

size_t store_cut(const char *text, size_t most)
{
    size_t length = strlen(text);
    if (length <= most)
        return length;
    while (most > 0 && ((unsigned char)text[most] & 0xc0) == 0x80)
        most--;
    return most;
}

/* Capital to small for the letters people write camera names with: Latin, Greek, Cyrillic (Unicode, UnicodeData.txt,
 * the regular ranges). Others stay as they are: two spellings then count as two names, nothing worse. */
static uint32_t fold_letter(uint32_t c)
{
    if ((c >= 'A' && c <= 'Z') || (c >= 0xc0 && c <= 0xde && c != 0xd7) || (c >= 0x391 && c <= 0x3a9) ||
        (c >= 0x410 && c <= 0x42f))
        return c + 32;
    if (c >= 0x400 && c <= 0x40f)
        return c + 80;
    if ((c >= 0x100 && c <= 0x12f) || (c >= 0x132 && c <= 0x137) || (c >= 0x14a && c <= 0x177))
        return c | 1;
    if ((c >= 0x139 && c <= 0x148) || (c >= 0x179 && c <= 0x17e))
        return (c & 1) != 0 ? c + 1 : c;
    return c;
}

void store_fold(const char *text, char out[CW_LINE_MOST + 1])
{
    size_t used = 0, step;
    uint32_t c;
    bool space = false;
    for (; (step = cw_utf8_next(text, &c)) > 0; text += step) {
        if (c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == 0xa0) {
            space = used > 0;
            continue;
        }
        if (used + 5 > CW_LINE_MOST)
            break;
        if (space)
            out[used++] = ' ';
        space = false;
        used += utf8_write(fold_letter(c), out + used);
    }
    out[used] = '\0';
}

/* ---- how far apart two words are ---- */

enum { WORD_LETTERS = 64 };

static int letters_of(const char *text, uint32_t letters[WORD_LETTERS])
{
    size_t step;
    int count = 0;
    for (; count < WORD_LETTERS && (step = cw_utf8_next(text, &letters[count])) > 0; text += step)
        count++;
    return count;
}

static int least_of(int a, int b)
{
    return a < b ? a : b;
}

int store_distance(const char *a, const char *b, int most, bool beginning)
{
    uint32_t x[WORD_LETTERS], y[WORD_LETTERS];
    int n = letters_of(a, x), m = letters_of(b, y), rows[3][WORD_LETTERS + 1];
    if (n - m > most || (!beginning && m - n > most))
        return most + 1;
    for (int j = 0; j <= m; j++)
        rows[0][j] = j;
    for (int i = 1; i <= n; i++) {
        int *row = rows[i % 3], *above = rows[(i + 2) % 3], *higher = rows[(i + 1) % 3];
        row[0] = i;
        for (int j = 1; j <= m; j++) {
            row[j] = least_of(above[j - 1] + (x[i - 1] != y[j - 1]), least_of(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && x[i - 1] == y[j - 2] && x[i - 2] == y[j - 1])
                row[j] = least_of(row[j], higher[j - 2] + 1);
        }
    }
    int distance = rows[n % 3][m];
    for (int j = 0; beginning && j < m; j++)
        distance = least_of(distance, rows[n % 3][j]);
    return distance <= most ? distance : most + 1;
}
