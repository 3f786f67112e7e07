/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bad input, made from what each worksheet declares: every field left out, and given nonsense of every kind. What comes
 * back is a refusal that names what came (exit status 2), or a result in which every number is one. */
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"
#include "worksheets/worksheet.h"

enum { PAIRS_MOST = 200, LONG_TEXT = 10240, SHOWN_MOST = 90 };

/* One field of a sheet's example changed. */
typedef struct {
    const cw_worksheet *sheet;
    const cw_field *field; /* the input */
    const cw_field *typed; /* the same, or a column of it */
    const char *key;       /* of the field, or "pairs.0.true" */
    const char *value;     /* NULL: left out */
} attempt;

static size_t complaints;

/* All of a sweep is told before it fails: one slip of the mechanism shows as a pattern. */
static void complain(const attempt *a, const char *why, const char *said)
{
    complaints++;
    print_error("%s --%s \"%.*s\": %s: %s\n", a->sheet->name, a->key, SHOWN_MOST,
                a->value != NULL ? a->value : "(left out)", why, said);
}

/* ---- what is asked of an answer ---- */

static bool has_word(const char *text, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word))
        if ((at == text || !isalnum((unsigned char)at[-1])) && !isalnum((unsigned char)at[length]))
            return true;
    return false;
}

static bool has_no_number(const char *text)
{
    return has_word(text, "nan") || has_word(text, "inf") || has_word(text, "NaN") || has_word(text, "Infinity");
}

/* The key, the label or a longer word of it. */
static bool names(const char *sentence, const cw_field *field)
{
    char low[CW_ERROR_TEXT], word[64];
    size_t n = 0;
    for (; sentence[n] != '\0' && n + 1 < sizeof low; n++)
        low[n] = (char)tolower((unsigned char)sentence[n]);
    low[n] = '\0';
    if (has_word(low, field->key) || strstr(sentence, field->label) != NULL)
        return true;
    for (const char *at = field->label; *at != '\0';) {
        size_t length = 0;
        for (; isalnum((unsigned char)at[length]) && length + 1 < sizeof word; length++)
            word[length] = (char)tolower((unsigned char)at[length]);
        word[length > 4 && word[length - 1] == 's' ? length - 1 : length] = '\0'; /* one of the cutouts */
        if (length > 3 && strstr(low, word) != NULL)
            return true;
        at += length > 0 ? length : 1;
    }
    return false;
}

/* A number of the sentence is what was typed, in the unit it was typed in. */
static bool shows(const char *sentence, const cw_field *typed, const char *value)
{
    double si;
    cw_error ignored;
    if (typed->kind != CW_KIND_NUMBER || value == NULL ||
        cw_parse_measure(value, typed->dimension, typed->unit, &si, &ignored) != CW_OK)
        return false;
    double wanted = cw_to_unit(si, cw_unit_find(typed->dimension, typed->unit));
    for (const char *at = sentence; *at != '\0';) {
        char *end;
        double found = strtod(at, &end);
        if (end != at && fabs(found - wanted) <= 0.002 * fabs(wanted))
            return true;
        at = end != at ? end : at + 1;
    }
    return false;
}

/* Where two sizes clash the sentence may be about the other one. */
static bool names_any(const char *sentence, const cw_worksheet *sheet)
{
    for (size_t i = 0; i < sheet->input_count; i++)
        if (names(sentence, &sheet->inputs[i]))
            return true;
    return false;
}

/* Sentences about the whole of the inputs, where no single one is to blame. */
static bool is_of_the_whole(const char *sentence)
{
    static const char *const of_the_whole[] = {"no glass between",        "comes near the known focal length",
                                               "cemented pair needs",     "does not come through this lens",
                                               "misses the glass",        "no magnifier",
                                               "no pin that still leaves"};
    for (size_t i = 0; i < CW_COUNT(of_the_whole); i++)
        if (strstr(sentence, of_the_whole[i]) != NULL)
            return true;
    return false;
}

static void check_sentence(const attempt *a, cw_status status, const cw_error *err)
{
    json_t *json = json_string(err->text); /* NULL for what is no UTF-8 */
    if (cw_exit_status(status) != 2)
        complain(a, "not refused as bad input", err->text);
    if (strlen(err->text) < 15 || strchr(err->text, '\n') != NULL || json == NULL)
        complain(a, "no sentence in one line", err->text);
    if (has_no_number(err->text) && (a->value == NULL || !has_no_number(a->value)))
        complain(a, "a number no one can use", err->text);
    if (strstr(err->text, "does not declare") != NULL || strstr(err->text, "corners fall together") != NULL)
        complain(a, "a sentence for the author", err->text);
    json_decref(json);
}

static void check_refusal(const attempt *a, cw_status status, const cw_error *err)
{
    check_sentence(a, status, err);
    if (!names_any(err->text, a->sheet) && !shows(err->text, a->typed, a->value) && !is_of_the_whole(err->text))
        complain(a, "names neither a field nor what came", err->text);
}

/* What a sheet drew can be written, in numbers. */
static void check_drawn(const attempt *a, const cw_sheet_out *out)
{
    for (size_t i = 0; i < a->sheet->output_count; i++) {
        const cw_drawing *drawing = cw_sheet_out_drawing(out, &a->sheet->outputs[i]);
        cw_buf svg = cw_buf_new(64 << 20), dxf = cw_buf_new(64 << 20);
        cw_error err = {0};
        if (drawing != NULL &&
            (cw_drawing_svg(drawing, &svg, &err) != CW_OK || cw_drawing_dxf(drawing, &dxf, &err) != CW_OK))
            complain(a, "its drawing cannot be written", err.text);
        if (has_no_number(cw_buf_string(&svg)) || has_no_number(cw_buf_string(&dxf)))
            complain(a, "its drawing has no number somewhere", a->sheet->outputs[i].key);
        cw_buf_free(&svg);
        cw_buf_free(&dxf);
    }
}

static char *check_result(const attempt *a, const cw_sheet_in *in, const cw_sheet_out *out)
{
    json_t *json = cw_sheet_json(a->sheet, in, out);
    char *shown = json_dumps(json_object_get(json, "outputs"), JSON_COMPACT);
    char *notes = json_dumps(json_object_get(json, "notes"), JSON_COMPACT);
    if (shown == NULL || notes == NULL)
        complain(a, "no JSON", "");
    else if ((has_no_number(shown) || has_no_number(notes)) && (a->value == NULL || !has_no_number(a->value)))
        complain(a, "what is no number reached the result", shown);
    free(notes);
    json_decref(json);
    return shown;
}

/* ---- one attempt ---- */

/* The answer as text, or NULL with the refusal in err. The caller frees it. */
static char *run_pairs(const attempt *a, const char *const *pairs, cw_status *status, cw_error *err)
{
    cw_sheet_in *in = NULL;
    cw_sheet_out *out = NULL;
    char *shown = NULL;
    memset(err, 0, sizeof *err);
    *status = cw_sheet_in_from_pairs(a->sheet, pairs, &in, err);
    if (*status == CW_OK)
        *status = cw_sheet_run(a->sheet, in, &out, err);
    if (*status == CW_OK) {
        shown = check_result(a, in, out);
        if (a->value == NULL || !has_no_number(a->value))
            check_drawn(a, out);
    }
    cw_sheet_out_free(out);
    cw_sheet_in_free(in);
    return shown;
}

static char *run(const attempt *a, cw_error *err)
{
    const char *pairs[PAIRS_MOST + 3];
    size_t used = 0;
    for (size_t k = 0; a->sheet->example[k] != NULL && used < PAIRS_MOST; k += 2)
        if (strcmp(a->sheet->example[k], a->field->key) != 0 || strchr(a->key, '.') != NULL) {
            pairs[used++] = a->sheet->example[k];
            pairs[used++] = a->sheet->example[k + 1];
        }
    if (a->value != NULL) {
        pairs[used++] = a->key;
        pairs[used++] = a->value;
    }
    pairs[used] = NULL;
    cw_status status;
    char *shown = run_pairs(a, pairs, &status, err);
    if (status != CW_OK)
        check_refusal(a, status, err);
    return shown;
}

static void may_run(attempt a, const char *value)
{
    cw_error err;
    a.value = value;
    free(run(&a, &err));
}

/* Refused before anything is computed: the field's label, and what came in quotes. */
static void must_refuse(attempt a, const char *value)
{
    char quoted[80];
    cw_error err;
    a.value = value;
    char *shown = run(&a, &err);
    snprintf(quoted, sizeof quoted, "\"%.60s", value);
    bool plain = true;
    for (const char *s = value; *s != '\0'; s++)
        plain = plain && (unsigned char)*s >= ' ' && (unsigned char)*s < 0x7f;
    if (shown != NULL)
        complain(&a, "taken", shown);
    else if (strncmp(err.text, a.field->label, strlen(a.field->label)) != 0)
        complain(&a, "does not begin with the field", err.text);
    else if (plain && a.typed->kind != CW_KIND_TEXT && strstr(err.text, quoted) == NULL)
        complain(&a, "does not quote what came", err.text);
    free(shown);
}

static char *long_text(char filler)
{
    char *text = malloc(LONG_TEXT + 1);
    assert_non_null(text);
    memset(text, filler, LONG_TEXT);
    text[LONG_TEXT] = '\0';
    return text;
}

static void must_refuse_long(attempt a, char filler)
{
    char *text = long_text(filler);
    must_refuse(a, text);
    free(text);
}

/* ---- each kind of field ---- */

/* A decimal comma is a point. */
static void comma_is_point(attempt a)
{
    cw_error with_comma, with_point;
    a.value = "3,7";
    char *comma = run(&a, &with_comma);
    a.value = "3.7";
    char *point = run(&a, &with_point);
    if (strcmp(comma != NULL ? comma : with_comma.text, point != NULL ? point : with_point.text) != 0)
        complain(&a, "a decimal comma is not a point", comma != NULL ? comma : with_comma.text);
    free(comma);
    free(point);
}

/* Out of the declared range: refused with the range that would do. */
static void beyond_the_range(attempt a, double si)
{
    char value[64];
    const cw_field *f = a.typed;
    if ((f->least == 0 && f->most == 0) || (si >= f->least && si <= f->most))
        return;
    snprintf(value, sizeof value, "%.17g", cw_to_unit(si, cw_unit_find(f->dimension, f->unit)));
    cw_error err;
    a.value = value;
    char *shown = run(&a, &err);
    if (shown != NULL)
        complain(&a, "taken, out of its range", shown);
    else if (strstr(err.text, "cannot be used; from ") == NULL || !shows(err.text, f, value))
        complain(&a, "does not say what would do", err.text);
    free(shown);
}

static void no_part_of_one(attempt a)
{
    char value[64];
    cw_error err;
    snprintf(value, sizeof value, "%.10g", a.typed->least + 0.5);
    a.value = value;
    char *shown = run(&a, &err);
    if (shown != NULL || strstr(err.text, "cannot be used; a whole number can") == NULL)
        complain(&a, "not refused as a part of one", shown != NULL ? shown : err.text);
    free(shown);
}

static void sweep_number(attempt a)
{
    static const char *const no_numbers[] = {"nan",        "inf",  "-inf",  "abc",     "1/0",   "1.5.2", "1,5,2",
                                             "1,000.5",    "--5",  "1e",    "0x10",    "5 5",   "%s%n",  "\xef\xbc\x93",
                                             "3 \xc3\x28", "<b>3", "1e999", "'; drop", "1_000", "3 kg s"};
    static const char *const odd[] = {"0",      "-0",    "-3.7", "1e9", "-1e9", "1e-12",
                                      "1e-300", "1e300", "",     "   ", "1/3",  "+3"};
    for (size_t i = 0; i < CW_COUNT(no_numbers); i++)
        must_refuse(a, no_numbers[i]);
    must_refuse(a, a.typed->dimension == CW_TIME ? "3 kg" : "3 s");
    must_refuse_long(a, '7');
    must_refuse_long(a, 'x');
    for (size_t i = 0; i < CW_COUNT(odd); i++)
        may_run(a, odd[i]);
    if (a.typed->whole)
        no_part_of_one(a);
    comma_is_point(a);
    beyond_the_range(a, 1.01 * a.typed->most + 1e-9);
    beyond_the_range(a, a.typed->least - 0.01 * fabs(a.typed->least) - 1e-9);
}

static void sweep_choice(attempt a)
{
    static const char *const none[] = {"no-such", "0", "-", "\xff", "%s", "own\n"};
    for (size_t i = 0; i < CW_COUNT(none); i++)
        must_refuse(a, none[i]);
    must_refuse_long(a, 'x');
    may_run(a, "");
}

static void sweep_text(attempt a)
{
    static const char *const odd[] = {"",      "   ", "%s%n%d", "<script>", "\xff\xfe", "a\nb",
                                      "a;b,c", "nan", "\x01",   "../../x",  "1e999",    "\xe2\x80\xae"};
    for (size_t i = 0; i < CW_COUNT(odd); i++)
        may_run(a, odd[i]);
    must_refuse_long(a, 'x');
}

static void sweep_cell(attempt a)
{
    if (a.typed->kind == CW_KIND_NUMBER)
        sweep_number(a);
    else if (a.typed->kind == CW_KIND_CHOICE)
        sweep_choice(a);
    else
        sweep_text(a);
}

static void sweep_rows(attempt a)
{
    static const char *const odd[] = {
        "",        ";",       ";;;",     ",",    ",,,;,,",  "|",
        "abc",     "1",       "1;2;3",   "\xff", "nan,nan", "-1,-1,-1",
        "0,0;0,0", "1e9,1e9", "1|2|3|4", "\n\n", "a,b;a,b", "1,2,3,4,5,6,7,8,9,10,11,12,13"};
    static const char *const no_places[] = {"0.no-such", "-1.%s", "x.%s", "99999999999999999999.%s", "0", "0."};
    const cw_field *field = a.field;
    for (size_t i = 0; i < CW_COUNT(odd); i++)
        may_run(a, odd[i]);
    char *many = long_text(';');
    may_run(a, many);
    for (size_t i = 0; i < LONG_TEXT; i += 2)
        many[i] = '7';
    may_run(a, many);
    free(many);
    char key[128], place[64];
    a.key = key;
    for (size_t c = 0; c < field->column_count; c++) {
        snprintf(key, sizeof key, "%s.0.%s", field->key, field->columns[c].key);
        a.typed = &field->columns[c];
        sweep_cell(a);
    }
    for (size_t i = 0; i < CW_COUNT(no_places); i++) {
        const char *cut = strstr(no_places[i], "%s");
        snprintf(place, sizeof place, "%.*s", cut != NULL ? (int)(cut - no_places[i]) : 60, no_places[i]);
        snprintf(key, sizeof key, "%s.%s%s", field->key, place, cut != NULL ? field->columns[0].key : "");
        cw_error err;
        a.value = "1";
        char *shown = run(&a, &err);
        if (shown != NULL)
            complain(&a, "taken", shown);
        free(shown);
    }
}

/* ---- the sweeps ---- */

static void for_each_field(cw_field_kind kind, void (*sweep)(attempt))
{
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    complaints = 0;
    for (size_t i = 0; i < count; i++)
        for (size_t f = 0; f < sheets[i]->input_count; f++) {
            const cw_field *field = &sheets[i]->inputs[f];
            if (field->kind == kind)
                sweep((attempt){sheets[i], field, field, field->key, NULL});
        }
    assert_int_equal(complaints, 0);
}

static void every_number_is_read_or_refused(void **state)
{
    (void)state;
    for_each_field(CW_KIND_NUMBER, sweep_number);
}

static void every_choice_is_known_or_refused(void **state)
{
    (void)state;
    for_each_field(CW_KIND_CHOICE, sweep_choice);
}

static void every_text_is_read_or_refused(void **state)
{
    (void)state;
    for_each_field(CW_KIND_TEXT, sweep_text);
}

static void every_table_is_read_or_refused(void **state)
{
    (void)state;
    for_each_field(CW_KIND_ROWS, sweep_rows);
}

static void leave_out(attempt a)
{
    cw_error err;
    char *shown = run(&a, &err);
    if (a.field->required &&
        (shown != NULL || strstr(err.text, a.field->label) == NULL || !has_word(err.text, a.field->key)))
        complain(&a, "not asked for", err.text);
    free(shown);
}

static void a_field_left_out_is_asked_for(void **state)
{
    (void)state;
    for (int kind = CW_KIND_NUMBER; kind <= CW_KIND_ROWS; kind++)
        for_each_field((cw_field_kind)kind, leave_out);
}

/* A refusal begins with the label: two fields of one name could not be told apart by it. */
static void labels_tell_fields_apart(void **state)
{
    (void)state;
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    for (size_t i = 0; i < count; i++)
        for (size_t f = 0; f < sheets[i]->input_count; f++)
            for (size_t k = 0; k < f; k++)
                if (strcmp(sheets[i]->inputs[f].label, sheets[i]->inputs[k].label) == 0)
                    fail_msg("%s: --%s and --%s are both called \"%s\"", sheets[i]->name, sheets[i]->inputs[k].key,
                             sheets[i]->inputs[f].key, sheets[i]->inputs[f].label);
}

/* ---- all fields at once ---- */

/* Anything the declaration allows: an end of the range, a value within it, or nothing. */
static void draw_value(const cw_field *field, check_random *random, char *text, size_t size)
{
    double least = field->least, most = field->most, pick = check_uniform(random), at = check_uniform(random);
    text[0] = '\0';
    if (field->kind == CW_KIND_CHOICE) {
        size_t choices = 0;
        while (field->choices[choices].key != NULL)
            choices++;
        snprintf(text, size, "%s", field->choices[(size_t)(at * (double)choices)].key);
    }
    if (field->kind != CW_KIND_NUMBER || (least == 0 && most == 0) || (pick < 0.15 && !field->required))
        return;
    double si = pick < 0.3                ? least
                : pick < 0.4              ? most
                : least > 0 && pick < 0.9 ? least * pow(most / least, at)
                                          : least + (most - least) * at;
    if (field->whole)
        si = round(si);
    snprintf(text, size, "%.12g", cw_to_unit(si, cw_unit_find(field->dimension, field->unit)));
}

static bool is_in_example(const cw_worksheet *sheet, const char *key)
{
    for (size_t k = 0; sheet->example[k] != NULL; k += 2)
        if (strcmp(sheet->example[k], key) == 0)
            return true;
    return false;
}

/* Tools thicker than their slots, pins wider than their holes, boards larger than any paper: whatever comes together.
 */
static void whatever_comes_together_gives_an_answer_or_a_sentence(void **state)
{
    (void)state;
    enum { ROUNDS = 100, FIELDS_MOST = 64 };
    static char values[FIELDS_MOST][64];
    size_t count, answers = 0;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    check_random random = {20231};
    complaints = 0;
    for (size_t i = 0; i < count; i++)
        for (int round = 0; round < ROUNDS; round++) {
            const char *pairs[2 * PAIRS_MOST + 1];
            size_t used = 0;
            for (size_t k = 0; sheets[i]->example[k] != NULL; k++)
                pairs[used++] = sheets[i]->example[k];
            for (size_t f = 0; f < sheets[i]->input_count && f < FIELDS_MOST; f++) {
                const cw_field *field = &sheets[i]->inputs[f];
                draw_value(field, &random, values[f], sizeof values[f]);
                /* about half of what the example says stands, so that some of it runs */
                if (values[f][0] == '\0' || (is_in_example(sheets[i], field->key) && check_uniform(&random) < 0.5))
                    continue;
                pairs[used++] = field->key;
                pairs[used++] = values[f];
            }
            pairs[used] = NULL;
            attempt a = {sheets[i], &sheets[i]->inputs[0], &sheets[i]->inputs[0], "(all)", NULL};
            cw_status status;
            cw_error err;
            size_t before = complaints;
            char *shown = run_pairs(&a, pairs, &status, &err);
            if (status != CW_OK)
                check_sentence(&a, status, &err);
            if (complaints > before)
                for (size_t k = 0; k + 1 < used; k += 2)
                    print_error("  --%s \"%s\"\n", pairs[k], pairs[k + 1]);
            answers += shown != NULL;
            free(shown);
        }
    assert_int_equal(complaints, 0);
    assert_true(answers > count * ROUNDS / 10); /* not refusals alone */
}

CHECK_MAIN(cmocka_unit_test(a_field_left_out_is_asked_for), cmocka_unit_test(labels_tell_fields_apart),
           cmocka_unit_test(every_number_is_read_or_refused), cmocka_unit_test(every_choice_is_known_or_refused),
           cmocka_unit_test(every_text_is_read_or_refused), cmocka_unit_test(every_table_is_read_or_refused),
           cmocka_unit_test(whatever_comes_together_gives_an_answer_or_a_sentence))
