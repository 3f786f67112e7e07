/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/target.h"

#include <string.h>

void cw_target_free(cw_target *target)
{
    cw_form_free(&target->query);
}

static bool is_safe(const char *segment)
{
    if (segment[0] == '\0' || strcmp(segment, ".") == 0 || strcmp(segment, "..") == 0 || !cw_is_text(segment))
        return false;
    for (const unsigned char *c = (const unsigned char *)segment; *c != '\0'; c++)
        if (*c < 0x20 || *c == 0x7f || *c == '/' || *c == '\\')
            return false;
    return true;
}

static cw_status add_segment(cw_target *target, const char *raw, size_t length, cw_error *err)
{
    if (target->count >= CW_SEGMENTS_MOST)
        return cw_fail(err, CW_INPUT, "the address has more than %d parts; no page lies that deep", CW_SEGMENTS_MOST);
    if (length >= CW_SEGMENT_TEXT)
        return cw_fail(err, CW_INPUT, "a part of the address is %zu bytes long; at most %d are taken", length,
                       CW_SEGMENT_TEXT - 1);
    char *segment = target->segments[target->count];
    size_t written = cw_percent_decode(raw, length, false, segment);
    segment[written] = '\0';
    if (strlen(segment) != written || !is_safe(segment))
        return cw_fail(err, CW_INPUT, "the address holds an empty part, dots or a character that no page has");
    target->count++;
    return CW_OK;
}

/* What is left without the ending has to be a name too: "...json" is none. */
static cw_status take_json_ending(cw_target *target, cw_error *err)
{
    static const char ending[] = ".json";
    size_t tail = sizeof ending - 1;
    if (target->count == 0)
        return CW_OK;
    char *last = target->segments[target->count - 1];
    size_t length = strlen(last);
    if (length > tail && strcmp(last + length - tail, ending) == 0) {
        last[length - tail] = '\0';
        target->json = true;
    }
    return is_safe(last) ? CW_OK : cw_fail(err, CW_INPUT, "the address ends in dots, which no page has");
}

cw_status cw_target_parse(const char *raw, cw_target *target, cw_error *err)
{
    *target = (cw_target){0};
    size_t whole = strnlen(raw, CW_TARGET_MOST + 1);
    if (whole > CW_TARGET_MOST)
        return cw_fail(err, CW_INPUT, "the address is longer than %d bytes", CW_TARGET_MOST);
    if (raw[0] != '/')
        return cw_fail(err, CW_INPUT, "the address does not begin with a slash");
    const char *question = memchr(raw, '?', whole);
    size_t path = question == NULL ? whole : (size_t)(question - raw);
    size_t start = 1;
    while (start < path) {
        const char *end = memchr(raw + start, '/', path - start);
        size_t length = end == NULL ? path - start : (size_t)(end - (raw + start));
        CW_TRY(add_segment(target, raw + start, length, err));
        start += length + 1;
    }
    CW_TRY(take_json_ending(target, err));
    return question == NULL ? CW_OK : cw_form_decode(&target->query, question + 1, whole - path - 1, err);
}

static bool take_id(const char *segment, cw_match *match)
{
    size_t length = strlen(segment);
    if (length == 0 || length > 15 || strspn(segment, "0123456789") != length || match->id_count >= CW_TARGET_IDS)
        return false;
    int64_t id = 0;
    for (const char *c = segment; *c != '\0'; c++)
        id = id * 10 + (*c - '0');
    if (id == 0)
        return false;
    match->ids[match->id_count++] = id;
    return true;
}

static bool part_matches(const char *pattern, size_t length, const char *segment, cw_match *match)
{
    if (length == 1 && pattern[0] == '#')
        return take_id(segment, match);
    if (length == 1 && pattern[0] == '*') {
        if (match->word_count >= CW_TARGET_IDS)
            return false;
        match->words[match->word_count++] = segment;
        return true;
    }
    return strlen(segment) == length && memcmp(pattern, segment, length) == 0;
}

bool cw_target_matches(const cw_target *target, const char *pattern, cw_match *match)
{
    *match = (cw_match){0};
    size_t at = 0;
    const char *part = pattern + 1; /* patterns begin with a slash */
    while (*part != '\0') {
        size_t length = strcspn(part, "/");
        if (at >= target->count || !part_matches(part, length, target->segments[at], match))
            return false;
        at++;
        part += length;
        if (*part == '/')
            part++;
    }
    return at == target->count;
}
