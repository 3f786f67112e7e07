/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: a record as a JSON object under its columns' names, and back. Used for what a plan said, and
 * for the archive of a job. */
#ifndef CW_NOTEBOOK_RECORD_JSON_H
#define CW_NOTEBOOK_RECORD_JSON_H

#include <jansson.h>

#include "notebook/store.h"

/* Every written column; unknown numbers and ids 0 as null. JSON columns stay texts. NULL without memory. */
json_t *record_json(const store_table *table, const void *record);
/* The same as one line of text for free(); NULL without memory. */
char *record_json_text(const store_table *table, const void *record);
/* Fills a zeroed record; keys that are not there leave "" , NaN, 0. Texts are kept in *held. CW_INPUT names the key
 * that is of the wrong kind. Ranges are checked when the record is added. */
cw_status record_from_json(const store_table *table, const json_t *object, void *record, void **held, cw_error *err)
    __attribute__((warn_unused_result));

#endif
