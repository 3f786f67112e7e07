/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "cli/sheet_against.h"
#include "cli/print.h"

#include <stdlib.h>
#include <string.h>

#include "cli/file_out.h"
#include "cli/sheet_material.h"
#include "worksheets/compare.h"

enum { PAIRS_MOST = 512 };

/* The first design's inputs, then the changes: what comes later counts. `copy` is cut up and holds the texts. */
static cw_status lay_over(const char *const *pairs, char *copy, const char **both, cw_error *err)
{
    size_t used = 0;
    for (; pairs[used] != NULL && used + 2 < PAIRS_MOST; used++)
        both[used] = pairs[used];
    for (char *rest = copy, *change; (change = strsep(&rest, ";")) != NULL;) {
        change += strspn(change, " ");
        if (*change == '\0')
            continue;
        char *equals = strchr(change, '=');
        if (equals == NULL || equals == change)
            return cw_fail(err, CW_INPUT, "--against: \"%.60s\" is no change; write it like plate=3mm;tip-width=2.5mm",
                           change);
        if (used + 2 >= PAIRS_MOST)
            return cw_fail(err, CW_INPUT, "--against: more changes than a worksheet has fields");
        *equals = '\0';
        both[used++] = change;
        both[used++] = equals + 1;
    }
    both[used] = NULL;
    return CW_OK;
}

static void print_line(FILE *out, const char *label, const char *a, const char *b)
{
    cw_print_told(out, "%-34s %-28s %s\n", label, a[0] != '\0' ? a : "-", b[0] != '\0' ? b : "-");
}

static void print_differing(const cw_worksheet *sheet, const cw_sheet_in *first, const cw_sheet_in *second, FILE *out)
{
    char a[CW_ERROR_TEXT], b[CW_ERROR_TEXT];
    for (size_t i = 0; i < sheet->input_count; i++) {
        const cw_field *field = &sheet->inputs[i];
        if (!cw_sheet_input_differs(first, second, field))
            continue;
        if (field->kind == CW_KIND_ROWS) {
            cw_print(out, "%s: not the same rows\n", field->label);
            continue;
        }
        cw_sheet_in_shown(sheet, first, field, a, sizeof a);
        cw_sheet_in_shown(sheet, second, field, b, sizeof b);
        print_line(out, field->label, a, b);
    }
    fputc('\n', out);
}

static void print_ranking(const cw_worksheet *sheet, const cw_sheet_out *first, const cw_sheet_out *second, FILE *out)
{
    cw_sheet_ranking rankings[CW_RANKINGS_MOST];
    size_t count = cw_sheet_rank(sheet, first, second, rankings);
    for (size_t i = 0; i < count; i++) {
        char words[300];
        cw_sheet_ranking_words(&rankings[i], "this one", "against it", words, sizeof words);
        cw_print_told(out, "%s%s\n", i == 0 ? "\n" : "", words);
    }
}

static void print_both(const cw_worksheet *sheet, const cw_sheet_in *first_in, const cw_sheet_out *first,
                       const cw_sheet_in *second_in, const cw_sheet_out *second, FILE *out)
{
    char a[CW_ERROR_TEXT], b[CW_ERROR_TEXT];
    cw_print(out, "%s\n\n", sheet->title);
    print_line(out, "", "this one", "against it");
    print_differing(sheet, first_in, second_in, out);
    for (size_t i = 0; i < sheet->output_count; i++) {
        const cw_field *field = &sheet->outputs[i];
        if (field->kind != CW_KIND_NUMBER && field->kind != CW_KIND_VERDICT)
            continue;
        cw_sheet_out_shown(sheet, first, field, a, sizeof a);
        cw_sheet_out_shown(sheet, second, field, b, sizeof b);
        if (a[0] == '\0' && b[0] == '\0')
            continue;
        if (field->kind == CW_KIND_VERDICT)
            cw_print_told(out, "%s\n  this one: %s\n  against it: %s\n", field->label, a, b);
        else
            print_line(out, field->label, a, b);
    }
    print_ranking(sheet, first, second, out);
}

cw_status cw_sheet_against(const cw_worksheet *sheet, const char *const *pairs, const char *bench,
                           const cw_sheet_in *first_in, const cw_sheet_out *first, const char *changes, bool json,
                           FILE *out, cw_error *err)
{
    const char *both[PAIRS_MOST + 1];
    cw_sheet_in *in = NULL;
    cw_sheet_out *second = NULL;
    char *copy = strdup(changes);
    if (copy == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the second design");
    cw_status status = lay_over(pairs, copy, both, err);
    if (status == CW_OK)
        status = cw_sheet_in_of_bench(sheet, both, bench, &in, err);
    if (status == CW_OK && (status = cw_sheet_run(sheet, in, &second, err)) != CW_OK)
        cw_context(err, "the design against it");
    if (status == CW_OK && json)
        status = cw_print_json(out, cw_sheet_compare_json(sheet, first_in, first, in, second), err);
    else if (status == CW_OK)
        print_both(sheet, first_in, first, in, second, out);
    cw_sheet_out_free(second);
    cw_sheet_in_free(in);
    free(copy);
    return status;
}
