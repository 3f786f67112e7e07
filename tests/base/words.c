/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Catalogues as msgfmt makes them, both byte orders: the two arrays are the output of `msgfmt --no-hash` (gettext
 * 0.21), little and big (--endianness=big), for "Bench" = "Werkbank" and "%ld of %s" = "%ld von %s". */
#include "base/words.h"

#include <stdlib.h>
#include <string.h>

#include "base/manner.h"
#include "support/check.h"

static const unsigned char little[] = {
    222, 18,  4,   149, 0,   0,   0,   0,   3,   0,   0,   0,   28,  0,   0,   0,   52,  0,  0,  0,   0,   0,
    0,   0,   76,  0,   0,   0,   0,   0,   0,   0,   76,  0,   0,   0,   9,   0,   0,   0,  77, 0,   0,   0,
    5,   0,   0,   0,   87,  0,   0,   0,   40,  0,   0,   0,   93,  0,   0,   0,   10,  0,  0,  0,   134, 0,
    0,   0,   8,   0,   0,   0,   145, 0,   0,   0,   0,   37,  108, 100, 32,  111, 102, 32, 37, 115, 0,   66,
    101, 110, 99,  104, 0,   67,  111, 110, 116, 101, 110, 116, 45,  84,  121, 112, 101, 58, 32, 116, 101, 120,
    116, 47,  112, 108, 97,  105, 110, 59,  32,  99,  104, 97,  114, 115, 101, 116, 61,  85, 84, 70,  45,  56,
    10,  0,   37,  108, 100, 32,  118, 111, 110, 32,  37,  115, 0,   87,  101, 114, 107, 98, 97, 110, 107, 0};
static const unsigned char big[] = {
    149, 4,   18,  222, 0,   0,   0,   0,   0,   0,   0,   3,   0,   0,   0,   28,  0,   0,  0,  52,  0,   0,
    0,   0,   0,   0,   0,   76,  0,   0,   0,   0,   0,   0,   0,   76,  0,   0,   0,   9,  0,  0,   0,   77,
    0,   0,   0,   5,   0,   0,   0,   87,  0,   0,   0,   40,  0,   0,   0,   93,  0,   0,  0,  10,  0,   0,
    0,   134, 0,   0,   0,   8,   0,   0,   0,   145, 0,   37,  108, 100, 32,  111, 102, 32, 37, 115, 0,   66,
    101, 110, 99,  104, 0,   67,  111, 110, 116, 101, 110, 116, 45,  84,  121, 112, 101, 58, 32, 116, 101, 120,
    116, 47,  112, 108, 97,  105, 110, 59,  32,  99,  104, 97,  114, 115, 101, 116, 61,  85, 84, 70,  45,  56,
    10,  0,   37,  108, 100, 32,  118, 111, 110, 32,  37,  115, 0,   87,  101, 114, 107, 98, 97, 110, 107, 0};

static cw_words *read_ok(const void *bytes, size_t count)
{
    cw_words *words;
    cw_error err;
    assert_ok(cw_words_read(bytes, count, &words, &err), &err);
    return words;
}

static void both_byte_orders_are_read(void **state)
{
    (void)state;
    const struct {
        const unsigned char *bytes;
        size_t count;
    } files[] = {{little, sizeof little}, {big, sizeof big}};
    for (size_t i = 0; i < CW_COUNT(files); i++) {
        cw_words *words = read_ok(files[i].bytes, files[i].count);
        assert_string_equal(cw_words_find(words, "Bench", 5), "Werkbank");
        assert_string_equal(cw_words_find(words, "%ld of %s", 9), "%ld von %s");
        assert_null(cw_words_find(words, "Benc", 4));
        assert_null(cw_words_find(words, "Benches", 7));
        assert_null(cw_words_find(words, "", 0)); /* the header is no word */
        assert_null(cw_words_find(NULL, "Bench", 5));
        cw_words_free(words);
    }
}

/* Cut anywhere, or with any byte turned over, it is refused or still safe to look in. */
static void damage_is_refused_or_harmless(void **state)
{
    (void)state;
    cw_error err;
    cw_words *words;
    for (size_t length = 0; length < sizeof little; length++) {
        char *cut = malloc(length + 1);
        assert_non_null(cut);
        memcpy(cut, little, length);
        assert_int_not_equal(cw_words_read(cut, length, &words, &err), CW_OK);
        assert_null(words);
        free(cut);
    }
    size_t refused = 0;
    for (size_t at = 0; at < 8 * sizeof little; at++) {
        char *turned = malloc(sizeof little);
        assert_non_null(turned);
        memcpy(turned, little, sizeof little);
        turned[at / 8] = (char)(turned[at / 8] ^ (1 << (at % 8)));
        if (cw_words_read(turned, sizeof little, &words, &err) == CW_OK) {
            (void)cw_words_find(words, "Bench", 5);
            cw_words_free(words);
        } else {
            refused++;
        }
        free(turned);
    }
    assert_true(refused > 100);
    assert_fails(cw_words_read("msgid \"\"\nmsgstr \"\"\nand so on, as text", 36, &words, &err), CW_NOT_MINE, &err,
                 "msgfmt");
}

static void only_formats_with_the_same_arguments_stand_in(void **state)
{
    (void)state;
    assert_true(cw_words_same_arguments("%ld of %s", "%ld von %s"));
    assert_true(cw_words_same_arguments("100 %% of %s", "%s"));
    assert_true(cw_words_same_arguments("%.1f mm", "%.3f mm"));
    assert_false(cw_words_same_arguments("%ld of %s", "%s von %ld"));
    assert_true(cw_words_same_arguments("%ld of %s", "%2$s: %1$ld"));
    assert_false(cw_words_same_arguments("%ld of %s", "%1$s: %2$ld"));
    assert_false(cw_words_same_arguments("%s and %s", "%2$s"));
    assert_false(cw_words_same_arguments("%d", "%ld"));
    assert_false(cw_words_same_arguments("%s", "%s %s"));
    assert_false(cw_words_same_arguments("%s %s", "%s"));
    assert_false(cw_words_same_arguments("none", "%n"));
    assert_true(cw_words_same_arguments("%s", "%1$s"));
    assert_false(cw_words_same_arguments("%.*s", "%s"));
    assert_false(cw_words_same_arguments("%s", "%"));
}

static void a_persons_text_is_never_looked_up(void **state)
{
    (void)state;
    cw_words *words = read_ok(little, sizeof little);
    const cw_manner german = {.words = words};
    const cw_manner *before = cw_manner_use(&german);
    char typed[] = "Bench";
    assert_string_equal(cw_words_of("Bench"), "Werkbank");
    assert_string_equal(cw_words_of(typed), "Bench");
    assert_string_equal(cw_words_format("%ld of %s"), "%ld von %s");
    assert_null(cw_words_of(NULL));
    cw_manner_use(before);
    assert_string_equal(cw_words_of("Bench"), "Bench");
    cw_words_free(words);
}

static void dates_and_commas_follow_the_reader(void **state)
{
    (void)state;
    char text[32] = "-";
    assert_false(cw_date_text("2026-11-25", text, sizeof text));
    assert_string_equal(text, "-");
    const cw_manner day = {.comma = true, .dates = CW_DATES_DAY_FIRST}, month = {.dates = CW_DATES_MONTH_FIRST};
    cw_manner_use(&day);
    assert_true(cw_date_text("2026-11-25", text, sizeof text));
    assert_string_equal(text, "25.11.2026");
    assert_false(cw_date_text("2026-11-2", text, sizeof text));
    assert_false(cw_date_text("2026-11-25 or so", text, sizeof text));
    char numbers[] = "from 0.25 to 1.5. End.";
    cw_comma_digits(numbers);
    assert_string_equal(numbers, "from 0,25 to 1,5. End.");
    cw_manner_use(&month);
    assert_true(cw_date_text("2026-11-25T09:40", text, sizeof text));
    assert_string_equal(text, "11/25/2026 09:40");
    cw_manner_use(NULL);
}

CHECK_MAIN(cmocka_unit_test(both_byte_orders_are_read), cmocka_unit_test(damage_is_refused_or_harmless),
           cmocka_unit_test(only_formats_with_the_same_arguments_stand_in),
           cmocka_unit_test(a_persons_text_is_never_looked_up), cmocka_unit_test(dates_and_commas_follow_the_reader))
