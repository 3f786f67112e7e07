/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which piece goes on which page. Blocks are cut into the smallest pieces that stay whole; chains that must stay
 * together (a heading and what follows, the first two lines of a paragraph, a group) move to the next page as one. */
#include <math.h>
#include <stdlib.h>

#include "report/document_model.h"

enum { SLICES_MOST = 1000000, PAGES_MOST = 2000 };

/* A larger group is let run over the page: keeping it would leave too much paper empty. */
static const double GROUP_SHARE = 0.55;
static const double CAPTION_GAP = 3, PHOTO_GAP = 8;

static cw_status add_slice(cw_plan *plan, cw_slice slice, cw_error *err)
{
    CW_TRY(cw_grow(&plan->slices, &plan->slice_capacity, plan->slice_count + 1, sizeof slice, SLICES_MOST,
                   "lines of a document", err));
    plan->slices[plan->slice_count++] = slice;
    return CW_OK;
}

/* One piece a line; the first two and the last two lines stay together. */
static cw_status cut_text(const cw_block *block, size_t index, cw_plan *plan, cw_error *err)
{
    size_t lines = cw_words_lines(block->text);
    for (size_t i = 0; i < lines; i++) {
        bool keep = block->level > 0 || lines <= 3 || i == 0 || i + 2 == lines;
        CW_TRY(add_slice(plan,
                         (cw_slice){.block = index,
                                    .from = i,
                                    .to = i + 1,
                                    .height = cw_words_part_height(block->text, i, i + 1),
                                    .space_before = i == 0 ? block->space_before : 0,
                                    .keep_next = i + 1 < lines ? keep : block->keep_next},
                         err));
    }
    return CW_OK;
}

static cw_status cut_table(const cw_document *document, const cw_block *block, size_t index, cw_plan *plan,
                           cw_error *err)
{
    const cw_set_table *t = block->table;
    double most = document->inner_h / 2;
    double head = cw_table_head_height(t);
    if (head > 0 && t->rows == 0)
        CW_TRY(add_slice(
            plan, (cw_slice){.block = index, .row = SIZE_MAX, .height = head, .space_before = block->space_before},
            err));
    for (size_t row = 0; row < t->rows; row++) {
        size_t lines = cw_table_row_lines(t, row), step = lines;
        if (cw_table_part_height(t, row, 0, lines) > most)
            step = (size_t)fmax(1, floor(most / (t->line_height * 1.2)));
        for (size_t from = 0; from < lines; from += step) {
            size_t to = from + step < lines ? from + step : lines;
            CW_TRY(
                add_slice(plan,
                          (cw_slice){.block = index,
                                     .row = row,
                                     .from = from,
                                     .to = to,
                                     .height = cw_table_part_height(t, row, from, to),
                                     .space_before = row == 0 && from == 0 ? block->space_before : 0,
                                     .keep_next = to == lines && (row == 0 || row + 2 == t->rows) && row + 1 < t->rows},
                          err));
        }
    }
    return CW_OK;
}

double cw_photo_row_height(const cw_block *block, size_t first, size_t columns)
{
    double height = 0;
    for (size_t i = first; i < first + columns && i < block->photo_count; i++) {
        const cw_set_photo *p = &block->photos[i];
        height = fmax(height, p->height + (p->caption != NULL ? CAPTION_GAP + cw_words_height(p->caption) : 0));
    }
    return height;
}

size_t cw_photo_columns(const cw_block *block, double inner_w)
{
    return (size_t)fmax(1, floor((inner_w + PHOTO_GAP) / (block->photo_column + PHOTO_GAP) + 1e-6));
}

static cw_status cut_photos(const cw_document *document, const cw_block *block, size_t index, cw_plan *plan,
                            cw_error *err)
{
    size_t columns = cw_photo_columns(block, document->inner_w);
    for (size_t i = 0; i < block->photo_count; i += columns)
        CW_TRY(add_slice(plan,
                         (cw_slice){.block = index,
                                    .from = i,
                                    .to = i + columns,
                                    .height = fmin(cw_photo_row_height(block, i, columns), document->inner_h),
                                    .space_before = i == 0 ? block->space_before : PHOTO_GAP},
                         err));
    return CW_OK;
}

static cw_status cut(const cw_document *document, cw_plan *plan, cw_error *err)
{
    for (size_t i = 0; i < document->block_count; i++) {
        const cw_block *block = &document->blocks[i];
        switch (block->kind) {
        case CW_BLOCK_TEXT:
            CW_TRY(cut_text(block, i, plan, err));
            break;
        case CW_BLOCK_TABLE:
            CW_TRY(cut_table(document, block, i, plan, err));
            break;
        case CW_BLOCK_PHOTOS:
            CW_TRY(cut_photos(document, block, i, plan, err));
            break;
        case CW_BLOCK_SVG:
        case CW_BLOCK_DRAWING: {
            double caption = block->text != NULL ? CAPTION_GAP + cw_words_height(block->text) : 0;
            CW_TRY(add_slice(plan,
                             (cw_slice){.block = i,
                                        .height = fmin(block->height + caption, document->inner_h),
                                        .space_before = block->space_before},
                             err));
            break;
        }
        case CW_BLOCK_SPACE:
            CW_TRY(add_slice(plan, (cw_slice){.block = i, .space_before = block->height_space}, err));
            break;
        case CW_BLOCK_PAGE_BREAK:
            CW_TRY(add_slice(plan, (cw_slice){.block = i}, err));
            break;
        }
    }
    return CW_OK;
}

static const cw_block *block_of(const cw_document *document, const cw_plan *plan, size_t slice)
{
    return &document->blocks[plan->slices[slice].block];
}

/* Head of the table that the slice opens or continues. */
static double head_of(const cw_document *document, const cw_plan *plan, size_t slice)
{
    const cw_block *block = block_of(document, plan, slice);
    bool body = block->kind == CW_BLOCK_TABLE && plan->slices[slice].row != SIZE_MAX;
    return body ? cw_table_head_height(block->table) : 0;
}

static bool opens_table(const cw_document *document, const cw_plan *plan, size_t slice)
{
    const cw_slice *s = &plan->slices[slice];
    return block_of(document, plan, slice)->kind == CW_BLOCK_TABLE && s->row == 0 && s->from == 0;
}

/* Height of the chain that starts here, without the space before its first piece. */
static double chain_height(const cw_document *document, const cw_plan *plan, size_t first)
{
    double height = 0;
    for (size_t i = first; i < plan->slice_count; i++) {
        const cw_slice *s = &plan->slices[i];
        height += s->height + (i > first ? s->space_before : 0) +
                  (opens_table(document, plan, i) ? head_of(document, plan, i) : 0);
        if (!s->keep_next)
            break;
    }
    return height;
}

/* Height of the rest of the group that starts here; 0 when none starts. */
static double group_height(const cw_document *document, const cw_plan *plan, size_t first)
{
    size_t group = block_of(document, plan, first)->group;
    if (group == 0 || (first > 0 && block_of(document, plan, first - 1)->group == group))
        return 0;
    double height = 0;
    for (size_t i = first; i < plan->slice_count && block_of(document, plan, i)->group == group; i++)
        height += plan->slices[i].height + (i > first ? plan->slices[i].space_before : 0) +
                  (opens_table(document, plan, i) ? head_of(document, plan, i) : 0);
    return height;
}

static cw_status place(cw_plan *plan, cw_place at, cw_error *err)
{
    CW_TRY(cw_grow(&plan->places, &plan->place_capacity, plan->place_count + 1, sizeof at, 2 * SLICES_MOST,
                   "pieces of a document", err));
    plan->places[plan->place_count++] = at;
    return CW_OK;
}

static cw_status lay(const cw_document *document, cw_plan *plan, cw_error *err)
{
    double y = 0, room = document->inner_h + 0.01;
    size_t page = 0;
    bool chained = false; /* this piece belongs to a chain that was already found to fit */
    for (size_t i = 0; i < plan->slice_count; i++) {
        const cw_slice *s = &plan->slices[i];
        if (block_of(document, plan, i)->kind == CW_BLOCK_PAGE_BREAK) {
            page += y > 0;
            y = 0;
            continue;
        }
        double chain = chained ? s->height : chain_height(document, plan, i), group = group_height(document, plan, i),
               before = y > 0 ? s->space_before : 0;
        bool table_part = head_of(document, plan, i) > 0 && !opens_table(document, plan, i);
        double repeated = head_of(document, plan, i);
        if (chain > room)
            chain = s->height;
        if (y > 0 && (y + before + chain > room || (group <= room * GROUP_SHARE && y + before + group > room))) {
            page++;
            y = 0;
            before = 0;
        }
        if (page >= PAGES_MOST)
            return cw_fail(err, CW_RANGE, "the document runs over more than %d pages; print parts of it", PAGES_MOST);
        y += before;
        if (repeated > 0 && (!table_part || y == 0)) {
            CW_TRY(place(plan, (cw_place){i, page, y, true}, err));
            y += repeated;
        }
        CW_TRY(place(plan, (cw_place){i, page, y, false}, err));
        y += s->height;
        chained = s->keep_next;
    }
    plan->pages = page + 1;
    return CW_OK;
}

cw_status cw_plan_make(const cw_document *document, cw_plan *plan, cw_error *err)
{
    *plan = (cw_plan){0};
    cw_status status = cut(document, plan, err);
    if (status == CW_OK)
        status = lay(document, plan, err);
    if (status != CW_OK)
        cw_plan_free(plan);
    return status;
}

void cw_plan_free(cw_plan *plan)
{
    free(plan->slices);
    free(plan->places);
    *plan = (cw_plan){0};
}
