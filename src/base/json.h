/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON as text: the one place where the program writes it, so that every face writes a number alike. */
#ifndef CW_BASE_JSON_H
#define CW_BASE_JSON_H

#include <jansson.h>

typedef enum {
    CW_JSON_GIVEN,      /* given out, indented; 15 digits, all that a double keeps of what was typed */
    CW_JSON_GIVEN_LINE, /* the same in one line */
    CW_JSON_KEPT,       /* to be read again by the program: in one line, 17 digits, every number to the last bit */
    CW_JSON_KEPT_LINES  /* the same, indented */
} cw_json_form;

/* The text, to be freed by the caller; NULL without memory, and for NULL. A zero is written without a sign: -0.0, which
 * arithmetic makes of nothing, says nothing to a reader (and is made 0.0 in `json` too). */
char *cw_json_written(json_t *json, cw_json_form form);

#endif
