/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first line is a request target, the rest a form: whatever comes, a target that is taken holds nothing that
 * climbs, and a form that is taken keeps to its limits and is text. */
#include <stdlib.h>
#include <string.h>

#include "web/request.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_target(const cw_target *target)
{
    if (target->count > CW_SEGMENTS_MOST)
        abort();
    for (size_t i = 0; i < target->count; i++) {
        const char *segment = target->segments[i];
        if (strchr(segment, '/') != NULL || strchr(segment, '\\') != NULL || strchr(segment, '\n') != NULL)
            abort();
        if (segment[0] == '\0' || strcmp(segment, ".") == 0 || strcmp(segment, "..") == 0)
            abort();
    }
    static const char *const methods[] = {"GET", "POST", "PUT"};
    for (size_t i = 0; i < CW_COUNT(methods); i++) {
        const cw_route *route;
        cw_match match;
        cw_error err;
        if (cw_route_find(methods[i], target, &route, &match, &err) != CW_OK)
            continue;
        for (size_t k = 0; k < match.id_count; k++)
            if (match.ids[k] <= 0)
                abort();
    }
}

static void check_form(const cw_form *form)
{
    size_t bytes = 0;
    for (size_t i = 0; i < form->count; i++) {
        size_t name = strlen(form->entries[i].name), value = strlen(form->entries[i].value);
        if (name > CW_FORM_NAME_MOST || value > CW_FORM_VALUE_MOST || !cw_is_text(form->entries[i].value))
            abort();
        bytes += name + value;
    }
    if (form->count > CW_FORM_FIELDS_MOST || bytes > CW_FORM_BYTES_MOST)
        abort();
}

/* What came in goes out escaped: no angle bracket and no quote of it stands in the page. */
static void check_page(const cw_form *form)
{
    cw_html h = cw_html_new();
    for (size_t i = 0; i < form->count; i++)
        html_text(&h, form->entries[i].value);
    if (strpbrk(cw_buf_string(&h.buf), "<>\"'") != NULL)
        abort();
    cw_html_free(&h);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const uint8_t *end = size == 0 ? NULL : memchr(data, '\n', size);
    size_t first = end == NULL ? size : (size_t)(end - data);
    char *raw = malloc(first + 1);
    if (raw == NULL)
        return 0;
    if (first > 0)
        memcpy(raw, data, first);
    raw[first] = '\0';
    cw_target target;
    cw_error err;
    if (cw_target_parse(raw, &target, &err) == CW_OK)
        check_target(&target);
    check_form(&target.query);
    cw_target_free(&target);
    free(raw);

    cw_form form = {0};
    if (end != NULL && cw_form_decode(&form, (const char *)end + 1, size - first - 1, &err) == CW_OK)
        check_page(&form);
    check_form(&form);
    cw_form_free(&form);
    return 0;
}
