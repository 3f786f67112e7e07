/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A test as plain text for a terminal of 80 columns, in the words of the thread's reader (base/manner.h). */
#ifndef CW_SHUTTER_TABLE_H
#define CW_SHUTTER_TABLE_H

#include "base/buf.h"
#include "shutter/evaluate.h"

/* The speeds (marked, measured, error with its 95 % interval, spread, evenness, limit, verdict), the curtains, the
 * findings with their evidence, and the rule of the verdict. Lines of at most 80 columns, each with its line end.
 * CW_MEMORY when the text could not be held. */
cw_status cw_shutter_table(const cw_shutter_test *test, cw_buf *out, cw_error *err) __attribute__((warn_unused_result));

/* Words wrapped to 80 columns, every line indented. */
void cw_wrapped_text(const char *text, size_t indent, cw_buf *out);

#endif
