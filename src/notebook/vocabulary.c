/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/vocabulary.h"

#include <stdlib.h>
#include <string.h>

#include "base/utf8.h"

enum { VOCABULARY_MOST = 1000000 };

/* ---- splitting a text the way the index does ---- */

/* The documented way to SQLite's tokenizers: the function fts5() hands its interface through a bound pointer. */
static cw_status fts5_interface(cw_bench *bench, fts5_api **api, cw_error *err)
{
    sqlite3_stmt *st;
    *api = NULL;
    CW_TRY(store_prepare(bench, "SELECT fts5(?1)", STORE_NO_VALUES, &st, err));
    sqlite3_bind_pointer(st, 1, api, "fts5_api_ptr", NULL);
    sqlite3_step(st);
    sqlite3_finalize(st);
    return *api != NULL ? CW_OK : cw_fail(err, CW_STORE, "this SQLite was built without its search extension (FTS5)");
}

typedef struct {
    char (*words)[VOCABULARY_WORD];
    size_t count, most;
} collected;

static int collect(void *context, int flags, const char *token, int size, int start, int end)
{
    collected *into = context;
    (void)start;
    (void)end;
    if ((flags & FTS5_TOKEN_COLOCATED) != 0)
        return SQLITE_OK;
    if (into->count < into->most) {
        size_t length = size < VOCABULARY_WORD ? (size_t)size : VOCABULARY_WORD - 1;
        memcpy(into->words[into->count], token, length);
        into->words[into->count][length] = '\0';
    }
    into->count++;
    return SQLITE_OK;
}

/* A tokenizer made for a run of texts. */
typedef struct {
    fts5_tokenizer methods;
    Fts5Tokenizer *made;
} splitter;

static cw_status splitter_new(cw_bench *bench, bool stemmed, splitter *s, cw_error *err)
{
    static const char *endings[] = {"unicode61", "remove_diacritics", "2"}, *plain[] = {"remove_diacritics", "2"};
    fts5_api *api;
    void *context;
    *s = (splitter){0};
    CW_TRY(fts5_interface(bench, &api, err));
    int code = api->xFindTokenizer(api, stemmed ? "porter" : "unicode61", &context, &s->methods);
    if (code == SQLITE_OK)
        code = stemmed ? s->methods.xCreate(context, endings, 3, &s->made)
                       : s->methods.xCreate(context, plain, 2, &s->made);
    return code == SQLITE_OK ? CW_OK : store_fail(bench, code, "reading the words to look for", err);
}

static void splitter_free(splitter *s)
{
    if (s->made != NULL)
        s->methods.xDelete(s->made);
}

static int split(const splitter *s, const char *text, collected *into)
{
    return s->methods.xTokenize(s->made, into, FTS5_TOKENIZE_QUERY, text, (int)strlen(text), collect);
}

cw_status vocabulary_split(cw_bench *bench, const char *text, bool stemmed, char (*words)[VOCABULARY_WORD], size_t most,
                           size_t *count, cw_error *err)
{
    splitter s;
    collected into = {words, 0, most};
    CW_TRY(splitter_new(bench, stemmed, &s, err));
    int code = split(&s, text, &into);
    splitter_free(&s);
    if (code != SQLITE_OK)
        return store_fail(bench, code, "reading the words to look for", err);
    *count = into.count;
    return CW_OK;
}

/* ---- the words of the index ---- */

static cw_status read_words(cw_bench *bench, store_vocabulary *made, cw_error *err)
{
    sqlite3_stmt *st;
    splitter stems = {0};
    vocabulary_word *words = NULL;
    size_t capacity = 0;
    CW_TRY(store_prepare(bench, "SELECT term, doc FROM words_used", STORE_NO_VALUES, &st, err));
    cw_status status = splitter_new(bench, true, &stems, err);
    int code = SQLITE_DONE;
    while (status == CW_OK && (code = sqlite3_step(st)) == SQLITE_ROW) {
        char stem[1][VOCABULARY_WORD] = {""};
        collected into = {stem, 0, 1};
        const char *text = (const char *)sqlite3_column_text(st, 0);
        status = cw_grow(&words, &capacity, made->count + 1, sizeof *words, VOCABULARY_MOST, "different words", err);
        if (status != CW_OK)
            break;
        split(&stems, text, &into);
        vocabulary_word word = {store_keep(&made->held, text), store_keep(&made->held, stem[0]),
                                sqlite3_column_int64(st, 1)};
        if (word.text == NULL || word.stem == NULL)
            status = cw_fail(err, CW_MEMORY, "no memory for the words of the bench");
        else
            words[made->count++] = word;
    }
    if (status == CW_OK && code != SQLITE_DONE)
        status = store_fail(bench, code, "reading the search index", err);
    sqlite3_finalize(st);
    splitter_free(&stems);
    made->words = words;
    return status;
}

cw_status vocabulary_of(cw_bench *bench, const store_vocabulary **vocabulary, cw_error *err)
{
    int64_t other;
    CW_TRY(store_number(bench, "PRAGMA data_version", STORE_NO_VALUES, &other, err));
    int64_t own = sqlite3_total_changes64(bench->db);
    const store_vocabulary *there = bench->vocabulary;
    if (there == NULL || there->seen_other != other || there->seen_own != own) {
        store_vocabulary *made = calloc(1, sizeof *made);
        if (made == NULL)
            return cw_fail(err, CW_MEMORY, "no memory for the words of the bench");
        cw_status status = read_words(bench, made, err);
        if (status != CW_OK) {
            vocabulary_free(made);
            return status;
        }
        made->seen_other = other;
        made->seen_own = own;
        vocabulary_free(bench->vocabulary);
        bench->vocabulary = made;
    }
    *vocabulary = bench->vocabulary;
    return CW_OK;
}

void vocabulary_free(store_vocabulary *vocabulary)
{
    if (vocabulary == NULL)
        return;
    store_release(&vocabulary->held);
    free(vocabulary->words);
    free(vocabulary);
}

size_t vocabulary_endings(const store_vocabulary *vocabulary, const char *word, const char *stem,
                          const vocabulary_word *found[VOCABULARY_ENDINGS_MOST])
{
    size_t count = 0, length = strlen(word);
    for (size_t i = 0; i < vocabulary->count && count < VOCABULARY_ENDINGS_MOST; i++) {
        const vocabulary_word *one = &vocabulary->words[i];
        if (strcmp(one->stem, stem) == 0 && strncmp(one->text, word, length) != 0)
            found[count++] = one;
    }
    return count;
}

size_t vocabulary_near(const store_vocabulary *vocabulary, const char *word,
                       const vocabulary_word *found[VOCABULARY_NEAR_MOST])
{
    int distances[VOCABULARY_NEAR_MOST + 1];
    const vocabulary_word *best[VOCABULARY_NEAR_MOST + 1];
    size_t count = 0, letters = cw_utf8_length(word);
    int most = letters >= 8 ? 2 : letters >= 4 ? 1 : 0;
    for (size_t i = 0; most > 0 && i < vocabulary->count; i++) {
        const vocabulary_word *one = &vocabulary->words[i];
        int distance = store_distance(word, one->text, most, true);
        if (distance > most)
            continue;
        size_t place = count;
        for (; place > 0; place--) {
            const vocabulary_word *before = best[place - 1];
            if (distances[place - 1] < distance ||
                (distances[place - 1] == distance && before->documents >= one->documents))
                break;
            best[place] = before;
            distances[place] = distances[place - 1];
        }
        best[place] = one;
        distances[place] = distance;
        if (count < VOCABULARY_NEAR_MOST)
            count++;
    }
    memcpy(found, best, count * sizeof *found);
    return count;
}
