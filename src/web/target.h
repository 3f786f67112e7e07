/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A request target ("/jobs/7.json?name=x") taken apart, and patterns it may match. Nothing that could climb out of a
 * folder survives here: a segment is never empty, "." or "..", and holds no slash, backslash or control character. */
#ifndef CW_WEB_TARGET_H
#define CW_WEB_TARGET_H

#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"
#include "web/form.h"

enum { CW_TARGET_MOST = 32 * 1024, CW_SEGMENTS_MOST = 8, CW_SEGMENT_TEXT = 128, CW_TARGET_IDS = 4 };

typedef struct {
    size_t count;
    char segments[CW_SEGMENTS_MOST][CW_SEGMENT_TEXT]; /* decoded; the last without ".json" */
    bool json;                                        /* it ended in ".json" */
    cw_form query;                                    /* freed by cw_target_free */
} cw_target;

/* CW_INPUT for anything that is not a plain path of this program. The caller frees *target also after a failure. */
cw_status cw_target_parse(const char *raw, cw_target *target, cw_error *err) __attribute__((warn_unused_result));
void cw_target_free(cw_target *target);

/* What a pattern picked out. */
typedef struct {
    size_t id_count, word_count;
    int64_t ids[CW_TARGET_IDS];
    const char *words[CW_TARGET_IDS]; /* stay the target's */
} cw_match;

/* Pattern: literal segments, "#" for a row's number (1 to 15 digits, above 0), "*" for any one segment:
 * "/jobs/#/tests/#". */
bool cw_target_matches(const cw_target *target, const char *pattern, cw_match *match);

#endif
