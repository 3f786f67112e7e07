/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finished sentences told in another language. First by hand, with a catalogue of a few texts whose German is written
 * here; then every format of the program, filled with awkward arguments, must come back with its arguments or stay
 * English as a whole. */
#include "base/sentences.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/conversion.h"
#include "base/languages.h"
#include "base/say.h"
#include "support/catalogue.h"
#include "support/check.h"

static const char *const pairs[] = {
    "inside",
    "innerhalb",
    "outside",
    "au\xc3\x9f"
    "erhalb",
    "%s, %zu shots",
    "%2$zu Ausl\xc3\xb6sungen, %1$s",
    "%s to %s",
    "%s bis %s",
    "most at %s: sd %.2f EV",
    "am meisten bei %s: %.2f EV Streuung",
    "shot %zu by %+.2f EV",
    "Ausl\xc3\xb6sung %zu um %+.2f EV",
    "stand apart: %s%s",
    "fallen heraus: %s%s",
    "and more",
    "und weitere",
    "the sensor stands at %.1f mm, outside the frame",
    "der Sensor steht bei %.1f mm, au\xc3\x9f"
    "erhalb des Bildes",
    "slit of %g to %g mm found",
    "Spalt von %g bis %g mm gefunden",
    "there is no \"%s\" in this list",
    "in dieser Liste gibt es kein \"%s\"",
    "line %zu",
    "Zeile %zu",
    "one column only",
    "nur eine Spalte",
    "found %s here",
    "%s hier gefunden",
    "found %s here too",
    "auch hier %s gefunden",
    "%.0f %% more light",
    "%.0f %% mehr Licht",
    "not done yet, it waits",
    "\x01",
    "wants %s first",
    "will erst %s",
    "%s and %s fit",
    "\x01",
    "first %s then %s again",
    "erst %s dann %s wieder",
    "lost its argument %s",
    "hat nichts mehr",
    NULL,
};

static char bytes[CATALOGUE_BYTES];
static cw_words *words;
static cw_sentences *sentences;

static int begin(void **state)
{
    (void)state;
    cw_error err;
    words = catalogue_of(pairs, bytes);
    return cw_sentences_make(words, &sentences, &err) == CW_OK ? 0 : 1;
}

static int end(void **state)
{
    (void)state;
    cw_sentences_free(sentences);
    cw_words_free(words);
    return 0;
}

static void check_told(const cw_telling *how, const char *text, const char *expected)
{
    cw_buf out = cw_buf_new(4096);
    bool told = cw_sentences_tell(sentences, how, text, &out);
    if (expected == NULL) {
        assert_false(told);
        assert_int_equal(out.length, 0);
    } else {
        assert_true(told);
        assert_string_equal(cw_buf_string(&out), expected);
    }
    cw_buf_free(&out);
}

static const cw_telling german = {.comma = true};

static void arguments_come_along_in_the_translations_order(void **state)
{
    (void)state;
    check_told(&german, "inside", "innerhalb");
    check_told(&german, "1/250, 3 shots", "3 Ausl\xc3\xb6sungen, 1/250");
    check_told(&german, "inside, 3 shots", "3 Ausl\xc3\xb6sungen, innerhalb");
    check_told(&german, "most at 1/125: sd 0.23 EV", "am meisten bei 1/125: 0,23 EV Streuung");
    check_told(&german, "most at 1/4 to 1/125: sd 0.23 EV", "am meisten bei 1/4 bis 1/125: 0,23 EV Streuung");
    check_told(&german, "12 % more light", "12 % mehr Licht");
    /* a list whose every part is known, and an argument with nothing between it and the next */
    check_told(&german, "stand apart: shot 3 by +0.25 EV, shot 11 by -0.50 EV and more",
               "fallen heraus: Ausl\xc3\xb6sung 3 um +0,25 EV, Ausl\xc3\xb6sung 11 um -0,50 EV und weitere");
    check_told(&german, "inside. 12 % more light.", "innerhalb. 12 % mehr Licht.");
}

static void what_a_person_typed_stays(void **state)
{
    (void)state;
    check_told(&german, "there is no \"inside\" in this list", "in dieser Liste gibt es kein \"inside\"");
    check_told(&german, "there is no \"3.5 mm\" in this list", "in dieser Liste gibt es kein \"3.5 mm\"");
    check_told(&german, "there is no \"50 %s\" in this list", "in dieser Liste gibt es kein \"50 %s\"");
    check_told(&german, "found Qqcamera 3.5 here", "Qqcamera 3.5 hier gefunden");
    check_told(&german, "Qqnotes of a person", NULL);
    check_told(&german, "left to right", NULL); /* "%s to %s", but of nothing that is known */
    check_told(&german, "", NULL);
}

static void lengths_and_decimal_signs_follow_the_reader(void **state)
{
    (void)state;
    const cw_telling inches = {.comma = true, .inches = true}, english = {.english = true, .inches = true};
    /* 1 in = 25.4 mm exactly: 18.0 mm = 0.7087 in, 36 mm = 1.417 in */
    check_told(&inches, "the sensor stands at 18.0 mm, outside the frame",
               "der Sensor steht bei 0,709 in, au\xc3\x9f"
               "erhalb des Bildes");
    check_told(&english, "the sensor stands at 18.0 mm, outside the frame",
               "the sensor stands at 0.709 in, outside the frame");
    check_told(&english, "slit of 18 to 36 mm found", "slit of 0.71 to 1.42 in found");
    check_told(&inches, "found 25.4 \xc2\xb1 0.5 mm here", "1,000 \xc2\xb1 0,020 in hier gefunden");
    check_told(&german, "found 25.4 \xc2\xb1 0.5 mm here", "25,4 \xc2\xb1 0,5 mm hier gefunden");
    check_told(&german, "found 1.2.3 here", "1.2.3 hier gefunden");
}

static void the_most_letters_win(void **state)
{
    (void)state;
    check_told(&german, "found it here too", "auch hier it gefunden");
    check_told(&german, "found it here", "it hier gefunden");
}

static void what_is_not_whole_stays_english(void **state)
{
    (void)state;
    const cw_telling with_points = {0};
    check_told(&with_points, "not done yet, it waits", NULL);
    check_told(&with_points, "wants not done yet, it waits first", NULL); /* a part that is not translated */
    check_told(&with_points, "shims and washers fit", NULL);
    check_told(&with_points, "first a then b then c again", NULL); /* "a" and "b then c", or "a then b" and "c" */
    check_told(&with_points, "inside. Nobody knows this one.", NULL);
    check_told(&with_points, "lost its argument inside", NULL); /* its translation has no argument */
    check_told(&with_points, "most at 1/125: sd many EV", NULL);
    check_told(&with_points, "most at 1/125: sd 0.23 EV or so", NULL);
    /* but its figures are the reader's */
    check_told(&german, "0.5 mm and 0.25 mm fit", "0,5 mm and 0,25 mm fit");
    check_told(&with_points, "0.5 mm and 0.25 mm fit", NULL);
}

static void an_error_is_told_in_both_its_parts(void **state)
{
    (void)state;
    check_told(&german, "roll 1/shot3.csv: line 17: one column only", "roll 1/shot3.csv: Zeile 17: nur eine Spalte");
    check_told(&german, "shot3.csv: one column only", "shot3.csv: nur eine Spalte");
    check_told(&german, "somewhere in the middle: one column only", NULL);
    check_told(&german, "line 17: nobody knows this", NULL);
}

/* ---- every format of the program ---- */

static const char *const awkward[] = {"100 % of it",
                                      "a \"quoted\" x",
                                      "1/250",
                                      "x (y), z",
                                      "%s",
                                      "q;q",
                                      "Qq: q",
                                      "inside",
                                      "12.5 mm",
                                      "qq.wav",
                                      "",
                                      "%d %% %n",
                                      "\xc3\xa4\xc3\xb6 \xe2\x80\x93",
                                      "q to q, at q",
                                      "no light",
                                      "0.5 \xc2\xb1 0.25 mm"};

/* What printf makes of the format with the arguments of turn `turn`; a text argument comes from `awkward`. */
static char *filled(const char *format, size_t turn)
{
    cw_buf out = cw_buf_new(1 << 16);
    cw_conversion c;
    int in_order = 0;
    for (const char *at = format; *at != '\0';) {
        if (!cw_conversion_read(at, &c)) {
            at += at[0] == '%' && at[1] == '%';
            cw_buf_char(&out, *at++);
            continue;
        }
        size_t place = (size_t)(c.position > 0 ? c.position - 1 : in_order++) + turn;
        if (c.converts == CW_CONVERTS_TEXT)
            cw_buf_text(&out, awkward[place % CW_COUNT(awkward)]);
        else if (c.converts == CW_CONVERTS_LETTER)
            cw_buf_char(&out, (char)('A' + place % 3));
        else
            cw_buf_printf(&out, c.converts == CW_CONVERTS_REAL ? "%.3f" : "%.0f", 0.125 + 12 * (double)(place % 5));
        at = c.end;
    }
    char *text;
    cw_error err;
    assert_ok(cw_buf_take(&out, &text, &err), &err);
    return text;
}

static bool all_marks(const char *text, char *without)
{
    size_t used = 0, depth = 0, marks = 0;
    for (; *text != '\0'; text++) {
        if (strncmp(text, "\xe2\x9f\xa6", 3) == 0 || strncmp(text, "\xe2\x9f\xa7", 3) == 0) {
            depth += text[2] == '\xa6' ? 1 : (size_t)-1;
            marks++;
            text += 2;
        } else {
            without[used++] = *text;
        }
    }
    without[used] = '\0';
    return depth == 0 && marks >= 2;
}

/* In "marks" a translation is its original between marks: taken out again, the sentence must be what it was. */
static void every_format_comes_back_with_its_arguments(void **state)
{
    (void)state;
    cw_manner marks = {0};
    cw_language_use("marks", &marks);
    const cw_manner *before = cw_manner_use(&marks);
    size_t formats = 0, told = 0, stayed = 0;
    for (size_t i = 0; i < cw_words_count(marks.words); i++) {
        const char *original, *translation;
        cw_conversion c;
        char types[CW_CONVERSIONS_MOST][4];
        cw_words_entry(marks.words, i, &original, &translation);
        if (!cw_conversion_next(original, &c) || cw_format_arguments(original, types) < 0)
            continue;
        formats++;
        for (size_t turn = 0; turn < 3; turn++) {
            char *text = filled(original, 5 * turn + i);
            cw_buf out = cw_buf_new(1 << 16);
            if (cw_sentence_of(text, &out)) {
                char *without = malloc(out.length + 1);
                assert_non_null(without);
                bool figure = strcmp(cw_buf_string(&out), text) == 0;
                bool good =
                    (figure || all_marks(cw_buf_string(&out), without)) && (figure || strcmp(without, text) == 0);
                if (!good)
                    print_error("\"%s\" filled as \"%s\" came back as \"%s\"\n", original, text, cw_buf_string(&out));
                assert_true(good);
                free(without);
                told++;
            } else {
                stayed++;
            }
            cw_buf_free(&out);
            free(text);
        }
    }
    cw_manner_use(before);
    print_message("%zu formats, %zu sentences told, %zu stayed English\n", formats, told, stayed);
    assert_true(formats > 1000);
    /* those of hardly any letters, and those that fit in two ways with these arguments */
    assert_true(stayed * 8 < told);
}

/* German, with figures for arguments: told wherever it is translated, and with every argument. */
static void german_keeps_every_argument(void **state)
{
    (void)state;
    cw_manner in_german = {0};
    cw_language_use("de", &in_german);
    const cw_manner *before = cw_manner_use(&in_german);
    size_t told = 0;
    for (size_t i = 0; i < cw_words_count(in_german.words); i++) {
        const char *original, *translation;
        cw_conversion c;
        cw_words_entry(in_german.words, i, &original, &translation);
        if (translation == NULL || !cw_conversion_next(original, &c))
            continue;
        char types[CW_CONVERSIONS_MOST][4];
        if (cw_format_arguments(original, types) < 0) /* a star: such a sentence is not told */
            continue;
        if (!cw_words_same_arguments(original, translation))
            print_error("\"%s\" as \"%s\"\n", original, translation);
        assert_true(cw_words_same_arguments(original, translation));
        char *expected = filled(translation, 2), *text = filled(original, 2);
        cw_buf out = cw_buf_new(1 << 16);
        if (cw_sentence_of(text, &out))
            told += strcmp(cw_buf_string(&out), expected) == 0;
        cw_buf_free(&out);
        free(expected);
        free(text);
    }
    cw_manner_use(before);
    assert_true(told > 300);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(arguments_come_along_in_the_translations_order),
        cmocka_unit_test(what_a_person_typed_stays),
        cmocka_unit_test(lengths_and_decimal_signs_follow_the_reader),
        cmocka_unit_test(the_most_letters_win),
        cmocka_unit_test(what_is_not_whole_stays_english),
        cmocka_unit_test(an_error_is_told_in_both_its_parts),
        cmocka_unit_test(every_format_comes_back_with_its_arguments),
        cmocka_unit_test(german_keeps_every_argument),
    };
    return cmocka_run_group_tests(tests, begin, end);
}
