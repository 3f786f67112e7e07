/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/sentences.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "base/figure.h"
#include "base/sentence_match.h"

/* A format with fewer letters than this of its own fits too much: "%s to %s", "at %s". */
enum {
    LETTERS_ENOUGH = 6,
    LETTERS_LEAST = 2,
    DEPTH_MOST = 7,
    CUTS_MOST = 32,
    COLONS_MOST = 3,
    TOLD_MOST = 64 * 1024,
    WORK_OF_FORMAT = 4,
    WORK_MOST = 120000
};

typedef struct {
    const char *original, *translation; /* translation NULL: not translated, or with other arguments */
    const char *needle;                 /* its longest literal run */
    size_t needle_length, letters;
} pattern;

struct cw_sentences {
    const cw_words *words;
    pattern *patterns; /* sorted as the catalogue is, so those that begin alike lie together */
    size_t count;
    size_t begin[257]; /* by the first byte of the original */
};

/* ---- made once ---- */

/* Literal letters, and the longest run between conversions. */
static void measure(pattern *p)
{
    cw_conversion c;
    const char *run = p->original;
    for (const char *at = p->original;; at++) {
        bool conversion = *at == '%' && cw_conversion_read(at, &c);
        if (*at == '\0' || *at == '%') {
            if ((size_t)(at - run) > p->needle_length) {
                p->needle = run;
                p->needle_length = (size_t)(at - run);
            }
            if (*at == '\0')
                return;
            at = conversion ? c.end - 1 : at + (at[1] == '%');
            run = at + 1;
        } else {
            p->letters += isalpha((unsigned char)*at) != 0 || (unsigned char)*at >= 0x80;
        }
    }
}

static bool make_pattern(const cw_words *words, size_t index, pattern *p)
{
    cw_conversion c;
    char types[CW_CONVERSIONS_MOST][4];
    *p = (pattern){0};
    cw_words_entry(words, index, &p->original, &p->translation);
    if (!cw_conversion_next(p->original, &c) || cw_format_arguments(p->original, types) < 0)
        return false;
    measure(p);
    if (p->translation != NULL && !cw_words_same_arguments(p->original, p->translation))
        p->translation = NULL;
    return p->letters >= LETTERS_LEAST;
}

cw_status cw_sentences_make(const cw_words *words, cw_sentences **sentences, cw_error *err)
{
    size_t count = cw_words_count(words);
    cw_sentences *made = calloc(1, sizeof *made);
    pattern *patterns = calloc(count + 1, sizeof *patterns);
    if (made == NULL || patterns == NULL) {
        free(made);
        free(patterns);
        return cw_fail(err, CW_MEMORY, "no memory for the sentences of a catalogue");
    }
    *made = (cw_sentences){.words = words, .patterns = patterns};
    for (size_t i = 0; i < count; i++)
        made->count += make_pattern(words, i, &patterns[made->count]);
    size_t at = 0;
    for (size_t byte = 0; byte <= 256; byte++) {
        while (at < made->count && (unsigned char)patterns[at].original[0] < byte)
            at++;
        made->begin[byte] = at;
    }
    *sentences = made;
    return CW_OK;
}

void cw_sentences_free(cw_sentences *sentences)
{
    if (sentences != NULL)
        free(sentences->patterns);
    free(sentences);
}

/* ---- telling ---- */

typedef enum {
    UNKNOWN, /* no text of the program: a name, a path, a person's words */
    FIGURE,  /* a number, a quantity, a date, nothing at all */
    TOLD,
    ENGLISH /* a text of the program that is not translated, or that can be told in two ways */
} outcome;

typedef struct {
    const cw_sentences *sentences;
    cw_telling how;
    size_t work; /* steps done, so that no text is dear */
} telling;

static outcome tell(telling *t, const char *text, size_t length, size_t joint, int depth, cw_buf *out, size_t *letters);

/* What is being tried: one format against one text, all the ways it fits. */
typedef struct {
    telling *t;
    const pattern *p;
    int depth;
    cw_buf best;
    size_t best_letters;
    bool found, english, two_ways;
} attempt;

static size_t letters_of(const char *text, size_t length)
{
    size_t letters = 0;
    for (size_t i = 0; i < length; i++)
        letters += isalpha((unsigned char)text[i]) != 0 || (unsigned char)text[i] >= 0x80;
    return letters;
}

static bool stands_in_quotes(const cw_conversion *c, const char *format)
{
    return c->start > format && c->start[-1] == '"' && *c->end == '"';
}

/* Writes one argument; false where it may not stand in this format. */
static bool put_argument(attempt *trial, const cw_conversion *c, const cw_captured *arg, bool in_mm, cw_buf *out,
                         size_t *letters, bool *english)
{
    const cw_telling *how = &trial->t->how;
    if (c->converts != CW_CONVERTS_TEXT || stands_in_quotes(c, trial->p->original)) {
        if (c->converts == CW_CONVERTS_REAL || c->converts == CW_CONVERTS_WHOLE)
            cw_figure_number(arg->start, arg->length, how->comma, in_mm && how->inches, out);
        else
            cw_buf_add(out, arg->start, arg->length);
        return true;
    }
    if (in_mm && how->inches && cw_figure_is_number(arg->start, arg->length)) {
        cw_figure_number(arg->start, arg->length, how->comma, true, out);
        return true;
    }
    size_t own = 0;
    outcome got = tell(trial->t, arg->start, arg->length, 0, trial->depth + 1, out, &own);
    *letters += own;
    *english = *english || got == ENGLISH;
    if (got != UNKNOWN)
        return true;
    cw_buf_add(out, arg->start, arg->length);
    /* words that are not known may be English prose: they must not outweigh what is */
    bool words = memchr(arg->start, ' ', arg->length) != NULL;
    return trial->p->letters >= LETTERS_ENOUGH && (!words || trial->p->letters >= letters_of(arg->start, arg->length));
}

/* The translation with the arguments of one way in it. */
static bool render(attempt *trial, const cw_captured *args, cw_buf *out, size_t *letters, bool *english)
{
    const pattern *p = trial->p;
    const char *format = trial->t->how.english || p->translation == NULL ? p->original : p->translation;
    bool here[CW_CONVERSIONS_MOST], there[CW_CONVERSIONS_MOST];
    cw_conversion own[CW_CONVERSIONS_MOST], c;
    cw_format_lengths(p->original, here, own);
    cw_format_lengths(format, there, NULL);
    int in_order = 0;
    for (const char *at = format; *at != '\0';) {
        if (!cw_conversion_read(at, &c)) {
            at += at[0] == '%' && at[1] == '%';
            cw_buf_char(out, *at++);
            continue;
        }
        int place = c.position > 0 ? c.position - 1 : in_order++;
        bool in_mm = here[place] && there[place];
        if (!put_argument(trial, &own[place], &args[place], in_mm, out, letters, english))
            return false;
        at = c.end;
        if (in_mm && trial->t->how.inches && strncmp(at, " mm", 3) == 0) {
            cw_buf_text(out, " in");
            at += 3;
        }
    }
    return true;
}

static void keep_better(attempt *trial, cw_buf *told, size_t letters, bool english)
{
    bool same = trial->found && letters == trial->best_letters;
    if (same && (english != trial->english || strcmp(cw_buf_string(told), cw_buf_string(&trial->best)) != 0))
        trial->two_ways = true;
    if (trial->found && letters <= trial->best_letters) {
        cw_buf_free(told);
        return;
    }
    cw_buf_free(&trial->best);
    trial->best = *told;
    trial->best_letters = letters;
    trial->english = english;
    trial->found = true;
    trial->two_ways = false;
}

static void one_way(void *context, const cw_captured *args)
{
    attempt *trial = context;
    cw_buf told = cw_buf_new(TOLD_MOST);
    size_t letters = trial->p->letters;
    bool english = trial->p->translation == NULL && !trial->t->how.english;
    if (render(trial, args, &told, &letters, &english) && !told.failed)
        keep_better(trial, &told, letters, english);
    else
        cw_buf_free(&told);
}

static void try_patterns(attempt *trial, size_t from, size_t to, const char *text, size_t length)
{
    telling *t = trial->t;
    for (size_t i = from; i < to && t->work < WORK_MOST; i++) {
        const pattern *p = &t->sentences->patterns[i];
        t->work++;
        if (p->needle_length > length || memmem(text, length, p->needle, p->needle_length) == NULL)
            continue;
        trial->p = p;
        t->work += WORK_OF_FORMAT;
        cw_sentence_match(p->original, text, length, &t->work, WORK_MOST, one_way, trial);
    }
}

static outcome by_pattern(telling *t, const char *text, size_t length, int depth, cw_buf *out, size_t *letters)
{
    const cw_sentences *s = t->sentences;
    attempt trial = {.t = t, .depth = depth, .best = cw_buf_new(TOLD_MOST)};
    unsigned char first = (unsigned char)text[0];
    try_patterns(&trial, s->begin[first], s->begin[first + 1], text, length);
    if (first != '%')
        try_patterns(&trial, s->begin['%'], s->begin['%' + 1], text, length);
    outcome got = !trial.found ? UNKNOWN : trial.english || trial.two_ways ? ENGLISH : TOLD;
    if (t->work >= WORK_MOST && got == TOLD) /* not everything was tried */
        got = ENGLISH;
    if (got == TOLD) {
        cw_buf_add(out, cw_buf_string(&trial.best), trial.best.length);
        *letters += trial.best_letters;
    }
    cw_buf_free(&trial.best);
    return got;
}

static outcome by_word(const telling *t, const char *text, size_t length, cw_buf *out, size_t *letters)
{
    const cw_words *words = t->sentences->words;
    if (!cw_words_know(words, text, length))
        return UNKNOWN;
    const char *found = cw_words_find(words, text, length);
    if (t->how.english)
        cw_buf_add(out, text, length);
    else if (found == NULL)
        return ENGLISH;
    else
        cw_buf_text(out, found);
    *letters += letters_of(text, length);
    return TOLD;
}

/* What joins texts, coarse first; of `kept` bytes a part keeps its end. */
static const struct {
    const char *text;
    size_t kept;
} joints[] = {{"\n", 0}, {". ", 1}, {"; ", 0}, {", ", 0}, {": ", 0}};

/* Where the joint is found; how many. */
static size_t cuts_of(const char *at, const char *end, const char *joint, const char *cuts[CUTS_MOST])
{
    size_t count = 0;
    for (const char *next = at; count < CUTS_MOST; next++) {
        next = memmem(next, (size_t)(end - next), joint, strlen(joint));
        if (next == NULL)
            break;
        cuts[count++] = next;
    }
    return count;
}

/* Texts joined by joints[which], which may stand inside one of them too: a part that is not known is tried together
 * with the next. Every part must be known. */
static outcome by_parts(telling *t, const char *text, size_t length, size_t which, int depth, cw_buf *out,
                        size_t *letters)
{
    cw_buf told = cw_buf_new(TOLD_MOST);
    size_t own = 0, joint_length = strlen(joints[which].text), kept = joints[which].kept;
    outcome whole = FIGURE;
    const char *end = text + length, *cuts[CUTS_MOST];
    size_t count = cuts_of(text, end, joints[which].text, cuts);
    for (const char *at = text; at < end && whole != UNKNOWN && whole != ENGLISH;) {
        outcome got = UNKNOWN;
        const char *behind = end;
        bool can_be_all = at > text, joined = false;
        for (size_t i = 0; i <= count && got != TOLD && got != FIGURE; i++) {
            const char *cut = i == count ? end : cuts[i];
            if ((i == count && !can_be_all) || cut < at)
                continue;
            joined = i < count;
            behind = joined ? cut + joint_length : end;
            outcome part = tell(t, at, (size_t)(cut - at) + (joined ? kept : 0), which + 1, depth + 1, &told, &own);
            got = part != UNKNOWN ? part : got;
        }
        whole = got == FIGURE ? whole : got;
        if (joined)
            cw_buf_add(&told, joints[which].text + kept, joint_length - kept);
        at = behind;
    }
    if (count > 0 && (whole == TOLD || whole == FIGURE)) {
        cw_buf_add(out, cw_buf_string(&told), told.length);
        *letters += own;
    }
    cw_buf_free(&told);
    return count > 0 ? whole : UNKNOWN;
}

/* "Open." where the catalogue has "Open". */
static outcome without_stop(telling *t, const char *text, size_t length, int depth, cw_buf *out, size_t *letters)
{
    if (length < 2 || text[length - 1] != '.')
        return UNKNOWN;
    outcome got = tell(t, text, length - 1, CW_COUNT(joints), depth + 1, out, letters);
    if (got == TOLD)
        cw_buf_char(out, '.');
    return got == FIGURE ? UNKNOWN : got;
}

static outcome tell_bare(telling *t, const char *text, size_t length, size_t joint, int depth, cw_buf *out,
                         size_t *letters)
{
    if (cw_figure_put(text, length, t->how.comma, t->how.inches, out))
        return FIGURE;
    outcome got = by_word(t, text, length, out, letters);
    if (got != UNKNOWN || depth >= DEPTH_MOST || t->work >= WORK_MOST)
        return got;
    got = by_pattern(t, text, length, depth, out, letters);
    if (got == UNKNOWN)
        got = without_stop(t, text, length, depth, out, letters);
    for (; got == UNKNOWN && joint < CW_COUNT(joints); joint++)
        got = by_parts(t, text, length, joint, depth, out, letters);
    return got;
}

/* The space around stays; a part of a sentence may bring its own (" and more"). */
static outcome tell(telling *t, const char *text, size_t length, size_t joint, int depth, cw_buf *out, size_t *letters)
{
    size_t before = 0, after = 0;
    while (before < length && text[before] == ' ')
        before++;
    while (after < length - before && text[length - 1 - after] == ' ')
        after++;
    cw_buf told = cw_buf_new(TOLD_MOST);
    outcome got = tell_bare(t, text + before, length - before - after, joint, depth, &told, letters);
    if (got == FIGURE || got == TOLD) {
        cw_buf_add(out, text, before);
        cw_buf_add(out, cw_buf_string(&told), told.length);
        cw_buf_add(out, text + length - after, after);
    }
    cw_buf_free(&told);
    return got;
}

/* A file, an option, a word: no prose that was only not recognised. */
static bool names_a_place(const char *text, size_t length)
{
    return memchr(text, ' ', length) == NULL || memchr(text, '/', length) != NULL || text[0] == '"' ||
           (length > 4 && (text[length - 4] == '.' || text[length - 5] == '.'));
}

/* "shot3.csv: line 17: one column only": each part by itself. */
static outcome tell_error(telling *t, const char *text, size_t length, int level, cw_buf *out)
{
    size_t letters = 0;
    outcome got = tell(t, text, length, 0, 0, out, &letters);
    const char *colon = text;
    for (int i = level; i < COLONS_MOST && got != TOLD && got != FIGURE && (colon = strstr(colon, ": ")) != NULL;
         i++, colon++) {
        size_t before = (size_t)(colon - text);
        cw_buf where = cw_buf_new(TOLD_MOST), what = cw_buf_new(TOLD_MOST);
        outcome place = tell(t, text, before, 0, 1, &where, &letters);
        outcome rest = tell_error(t, colon + 2, length - before - 2, i + 1, &what);
        if (rest == TOLD && (place == TOLD || place == FIGURE || (place == UNKNOWN && names_a_place(text, before)))) {
            cw_buf_add(out, place == UNKNOWN ? text : cw_buf_string(&where), place == UNKNOWN ? before : where.length);
            cw_buf_text(out, ": ");
            cw_buf_text(out, cw_buf_string(&what));
            got = TOLD;
        }
        cw_buf_free(&where);
        cw_buf_free(&what);
    }
    return got;
}

bool cw_sentences_tell(const cw_sentences *sentences, const cw_telling *how, const char *text, cw_buf *out)
{
    size_t length = strlen(text);
    cw_buf told = cw_buf_new(TOLD_MOST);
    telling t = {.sentences = sentences, .how = *how};
    outcome got = length > 0 && length < TOLD_MOST / 4 ? tell_error(&t, text, length, 0, &told) : UNKNOWN;
    if (got == ENGLISH && !how->english && (how->comma || how->inches)) { /* its figures at least */
        t = (telling){.sentences = sentences, .how = {.english = true, .comma = how->comma, .inches = how->inches}};
        got = tell_error(&t, text, length, 0, &told);
    }
    bool good = (got == TOLD || got == FIGURE) && !told.failed;
    if (good)
        cw_buf_add(out, cw_buf_string(&told), told.length);
    cw_buf_free(&told);
    return good;
}
