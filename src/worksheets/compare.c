/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "worksheets/compare.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "worksheets/inside.h"

/* What says that a design is the stronger or stiffer, sheet by sheet: the figure a person would look at first comes
 * first. A stress, a force needed or a size ranks nothing: whether less of it is wanted depends on the job. */
static const struct {
    const char *sheet, *output, *word;
    bool less; /* the smaller figure is the better */
} ranks[] = {
    {"flat-wrench", "torque-most", "stronger", false},
    {"flat-wrench", "wind-up", "stiffer", true},
    {"pin-driver", "torque-most", "stronger", false},
    {"pin-driver", "wind-up", "stiffer", true},
    {"split-collar", "torque-most", "grips harder", false},
    {"split-collar", "handle-most", "stronger", false},
    {"split-collar", "closing-most", "stronger", false},
    {"split-collar", "wind-up", "stiffer", true},
    {"friction-ring", "torque-most", "grips harder", false},
    {"friction-ring", "wind-up", "stiffer", true},
    {"clamp-block", "torque-most", "grips harder", false},
    {"clamp-block", "screw-most", "stronger", false},
    {"clamp-block", "wind-up", "stiffer", true},
    {"bar-twist", "torque-most", "stronger", false},
    {"bar-twist", "wind-up", "stiffer", true},
    {"driver-tip", "tip-torque", "stronger", false},
    {"pin-strength", "yields-at", "stronger", false},
    {"staked-pin", "holding", "holds harder", false},
    {"staked-pin", "pull-out", "holds harder", false},
    {"press-fit", "holds", "holds harder", false},
    {"press-fit", "reserve", "stronger", false},
    {"press-fit", "pin-reserve", "stronger", false},
    {"gear-strength", "torque-most", "stronger", false},
    {"coil-spring", "rate", "stiffer", false},
    {"torsion-spring", "rate", "stiffer", false},
};

static bool rank_one(const cw_field *output, const char *word, bool less, cw_quantity a, cw_quantity b,
                     cw_sheet_ranking *ranking)
{
    if (!(a.value > 0 && b.value > 0)) /* nothing, or not known */
        return false;
    double ratio = less ? a.value / b.value : b.value / a.value;
    double ua = isnan(a.u) ? 0 : a.u, ub = isnan(b.u) ? 0 : b.u;
    bool alike = fabs(ratio - 1) < 1e-9;
    *ranking = (cw_sheet_ranking){output, word,
                                  alike       ? -1
                                  : ratio > 1 ? 1
                                              : 0,
                                  ratio > 1 ? ratio : 1 / ratio, fabs(a.value - b.value) < 2 * (ua + ub)};
    return true;
}

size_t cw_sheet_rank(const cw_worksheet *sheet, const cw_sheet_out *first, const cw_sheet_out *second,
                     cw_sheet_ranking rankings[CW_RANKINGS_MOST])
{
    size_t count = 0;
    for (size_t i = 0; i < CW_COUNT(ranks) && count < CW_RANKINGS_MOST; i++) {
        size_t k = strcmp(ranks[i].sheet, sheet->name) == 0
                       ? cw_sheet_field_index(sheet->outputs, sheet->output_count, ranks[i].output)
                       : sheet->output_count;
        if (k < sheet->output_count &&
            rank_one(&sheet->outputs[k], ranks[i].word, ranks[i].less, first->fields[k].cell.number,
                     second->fields[k].cell.number, &rankings[count]))
            count++;
    }
    return count;
}

void cw_sheet_ranking_words(const cw_sheet_ranking *ranking, const char *first, const char *second, char *words,
                            size_t size)
{
    if (ranking->better < 0)
        snprintf(words, size, "%s by \"%s\": neither, they are alike", ranking->word, ranking->output->label);
    else
        snprintf(words, size, "%s by \"%s\": %s, %.3g times%s", ranking->word, ranking->output->label,
                 ranking->better == 0 ? first : second, ranking->ratio,
                 ranking->overlap ? "; the uncertainties overlap" : "");
}

/* ---- what differs ---- */

static bool cells_differ(const cw_sheet_cell *a, const cw_sheet_cell *b)
{
    if (a->given != b->given || !a->given)
        return a->given != b->given;
    if (a->text != NULL || b->text != NULL)
        return a->text == NULL || b->text == NULL || strcmp(a->text, b->text) != 0;
    /* 2 mm kept and read again, or typed as 0.2 cm, is 2 mm */
    return fabs(a->number.value - b->number.value) > 1e-12 * fabs(a->number.value);
}

static bool materials_differ(const cw_sheet_in *first, const cw_sheet_in *second, const cw_sheet_cell *a)
{
    const cw_own_material *was = a->text != NULL ? cw_sheet_own_named(first, a->text) : NULL,
                          *is = a->text != NULL ? cw_sheet_own_named(second, a->text) : NULL;
    size_t count;
    const cw_own_figure *figures = cw_own_figures(&count);
    for (size_t i = 0; was != NULL && is != NULL && i < count; i++) {
        cw_quantity p = cw_own_figure_get(was, &figures[i]), q = cw_own_figure_get(is, &figures[i]);
        if (isnan(p.value) != isnan(q.value) || p.value < q.value || p.value > q.value)
            return true;
    }
    return false;
}

bool cw_sheet_input_differs(const cw_sheet_in *first, const cw_sheet_in *second, const cw_field *input)
{
    size_t k = (size_t)(input - first->sheet->inputs);
    const cw_sheet_field *a = &first->fields[k], *b = &second->fields[k];
    if (input->kind != CW_KIND_ROWS)
        return cells_differ(&a->cell, &b->cell) || materials_differ(first, second, &a->cell);
    if (a->row_count != b->row_count)
        return true;
    for (size_t i = 0; i < a->row_count * input->column_count; i++)
        if (cells_differ(&a->cells[i], &b->cells[i]) || materials_differ(first, second, &a->cells[i]))
            return true;
    return false;
}

json_t *cw_sheet_compare_json(const cw_worksheet *sheet, const cw_sheet_in *first_in, const cw_sheet_out *first,
                              const cw_sheet_in *second_in, const cw_sheet_out *second)
{
    cw_sheet_ranking rankings[CW_RANKINGS_MOST];
    size_t count = cw_sheet_rank(sheet, first, second, rankings);
    json_t *differs = json_array(), *ranking = json_array();
    for (size_t i = 0; i < sheet->input_count; i++)
        if (cw_sheet_input_differs(first_in, second_in, &sheet->inputs[i]))
            json_array_append_new(differs, json_string(sheet->inputs[i].key));
    for (size_t i = 0; i < count; i++)
        json_array_append_new(ranking,
                              json_pack("{s:s,s:s,s:s,s:o,s:f,s:b}", "output", rankings[i].output->key, "label",
                                        rankings[i].output->label, "word", rankings[i].word, "better",
                                        rankings[i].better < 0 ? json_null() : json_integer(rankings[i].better),
                                        "ratio", rankings[i].ratio, "overlap", (int)rankings[i].overlap));
    return json_pack("{s:s,s:[o,o],s:o,s:o}", "format", "camerawright.worksheet-compared/1", "designs",
                     cw_sheet_json(sheet, first_in, first), cw_sheet_json(sheet, second_in, second), "differs", differs,
                     "ranking", ranking);
}
