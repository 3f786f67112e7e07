/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/pages/sheet_run.h"

#include <stdlib.h>
#include <string.h>

#include "notebook/material.h"

cw_status cw_sheet_named(const cw_request *request, const cw_worksheet **sheet, cw_error *err)
{
    *sheet = cw_worksheet_find(request->match.words[0]);
    if (*sheet == NULL)
        return cw_fail(err, CW_NOT_FOUND, "there is no worksheet \"%.60s\"; the list shows all of them",
                       request->match.words[0]);
    return CW_OK;
}

const cw_field *cw_sheet_field_of(const cw_worksheet *sheet, const char *entry_name)
{
    size_t length = strcspn(entry_name, ".");
    for (size_t i = 0; i < sheet->input_count; i++)
        if (strlen(sheet->inputs[i].key) == length && strncmp(sheet->inputs[i].key, entry_name, length) == 0)
            return &sheet->inputs[i];
    return NULL;
}

bool cw_sheet_is_filled(const cw_worksheet *sheet, const cw_form *form)
{
    for (size_t i = 0; i < form->count; i++)
        if (cw_sheet_field_of(sheet, form->entries[i].name) != NULL)
            return true;
    return false;
}

const char *cw_sheet_example(const cw_worksheet *sheet, const char *key)
{
    for (const char *const *pair = sheet->example; pair != NULL && pair[0] != NULL && pair[1] != NULL; pair += 2)
        if (strcmp(pair[0], key) == 0)
            return pair[1];
    return NULL;
}

/* Inputs left empty on the page are inputs not given. */
static const char **pairs_of(const cw_worksheet *sheet, const cw_form *form)
{
    const char **pairs = calloc(2 * form->count + 1, sizeof *pairs);
    size_t written = 0;
    for (size_t i = 0; pairs != NULL && i < form->count; i++) {
        const cw_form_entry *entry = &form->entries[i];
        if (entry->value[0] == '\0' || cw_sheet_field_of(sheet, entry->name) == NULL)
            continue;
        pairs[written++] = entry->name;
        pairs[written++] = entry->value;
    }
    return pairs;
}

static cw_status read_inputs(cw_bench *bench, const cw_worksheet *sheet, const char *const *pairs, cw_sheet_in **in,
                             cw_error *err)
{
    cw_own_material_list own = {0};
    if (bench != NULL && cw_sheet_takes_materials(sheet))
        CW_TRY(cw_material_all(bench, &own, err));
    cw_status status = cw_sheet_in_with(sheet, pairs, &(cw_own_materials){own.count, own.items}, in, err);
    cw_own_material_list_free(&own);
    return status;
}

cw_status cw_sheet_page_run(cw_bench *bench, const cw_worksheet *sheet, const cw_form *form, cw_sheet_page *page,
                            cw_error *err)
{
    cw_sheet_page made = {.sheet = sheet};
    const char **pairs = pairs_of(sheet, form);
    if (pairs == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the worksheet's inputs");
    cw_status status = read_inputs(bench, sheet, pairs, &made.in, err);
    free(pairs);
    if (status == CW_OK)
        status = cw_sheet_run(sheet, made.in, &made.out, err);
    if (status != CW_OK) {
        cw_sheet_page_free(&made);
        return status;
    }
    *page = made;
    return CW_OK;
}

void cw_sheet_page_free(cw_sheet_page *page)
{
    cw_sheet_out_free(page->out);
    cw_sheet_in_free(page->in);
    page->in = NULL;
    page->out = NULL;
}
