/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The catalogues in the program, and printf in a reader's words. */
#include "base/languages.h"

#include <string.h>

#include "base/say.h"
#include "support/catalogue.h"
#include "support/check.h"

static void every_catalogue_reads_and_knows_the_same_texts(void **state)
{
    (void)state;
    size_t count = 0;
    for (size_t i = 0; cw_language_name(i) != NULL; i++) {
        cw_manner manner = {0};
        cw_language_use(cw_language_name(i), &manner);
        assert_non_null(cw_language_label(i));
        assert_non_null(manner.words);
        assert_non_null(manner.sentences);
        assert_true(count == 0 || cw_words_count(manner.words) == count);
        count = cw_words_count(manner.words);
    }
    assert_true(count > 5000);
    cw_manner english = {0};
    cw_language_use("en", &english);
    assert_null(english.words);
    assert_non_null(english.sentences);
    assert_null(cw_language_words("xx"));
}

/* Unicode CLDR: German and French write a comma, Swiss German and English a point. */
static void decimal_signs_follow_the_tag(void **state)
{
    (void)state;
    assert_true(cw_language_has_comma("de"));
    assert_true(cw_language_has_comma("de_AT.UTF-8"));
    assert_true(cw_language_has_comma("fr-FR,fr;q=0.9,en;q=0.8"));
    assert_false(cw_language_has_comma("de-CH"));
    assert_false(cw_language_has_comma("de_CH.UTF-8"));
    assert_false(cw_language_has_comma("en_GB.UTF-8"));
    assert_false(cw_language_has_comma("C"));
    assert_false(cw_language_has_comma("den"));
    assert_false(cw_language_has_comma(NULL));
}

static void check_said(const cw_manner *manner, const char *expected, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
static void check_said(const cw_manner *manner, const char *expected, const char *format, ...)
{
    cw_buf out = cw_buf_new(1000);
    const cw_manner *before = cw_manner_use(manner);
    va_list args;
    va_start(args, format);
    cw_vsay(&out, true, format, args);
    va_end(args);
    cw_manner_use(before);
    assert_string_equal(cw_buf_string(&out), expected);
    cw_buf_free(&out);
}

static void printf_in_the_readers_words(void **state)
{
    static const char *const pairs[] = {"%zu of %s",
                                        "%2$s: %1$zu St\xc3\xbc"
                                        "ck",
                                        "speed",
                                        "Zeit\xc3\xa4",
                                        "%.2f EV for %-6s|",
                                        "%.2f EV f\xc3\xbcr %-6s|",
                                        NULL};
    static char bytes[CATALOGUE_BYTES];
    (void)state;
    cw_words *words = catalogue_of(pairs, bytes);
    cw_error err;
    cw_sentences *sentences;
    assert_ok(cw_sentences_make(words, &sentences, &err), &err);
    const cw_manner german = {.words = words, .sentences = sentences, .comma = true};
    char typed[] = "speed 2.5";
    check_said(&german,
               "speed 2.5: 3 St\xc3\xbc"
               "ck",
               "%zu of %s", (size_t)3, typed);
    check_said(&german,
               "Zeit\xc3\xa4: 3 St\xc3\xbc"
               "ck",
               "%zu of %s", (size_t)3, "speed");
    check_said(&german, "0,25 EV f\xc3\xbcr Zeit\xc3\xa4 |", "%.2f EV for %-6s|", 0.25,
               "speed"); /* five characters of six bytes */
    check_said(&german, "\n  0,25 EV f\xc3\xbcr x     |\n", "\n  %.2f EV for %-6s|\n", 0.25, "x");
    check_said(&german, "not there 0,5 100 % %d", "not there %.1f 100 %% %s", 0.5, "%d");
    check_said(NULL, "3 of speed", "%zu of %s", (size_t)3, "speed");
    cw_sentences_free(sentences);
    cw_words_free(words);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_catalogue_reads_and_knows_the_same_texts),
        cmocka_unit_test(decimal_signs_follow_the_tag),
        cmocka_unit_test(printf_in_the_readers_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
