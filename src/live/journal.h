/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a live test must not lose: a folder with a log of JSON lines and, for sound, the samples. Every line is on disk
 * (fsync) when the call returns; a line that was being written when the power went is left out when read. */
#ifndef CW_LIVE_JOURNAL_H
#define CW_LIVE_JOURNAL_H

#include <jansson.h>
#include <stdbool.h>
#include <stdint.h>

#include "base/error.h"

typedef struct cw_journal cw_journal;

/* Opens the journal in `bench_folder`/live for this program alone; the folder is made when missing. CW_CONFLICT:
 * another program has it. */
cw_status cw_journal_open(const char *bench_folder, cw_journal **journal, cw_error *err)
    __attribute__((warn_unused_result));
void cw_journal_close(cw_journal *journal); /* NULL is fine; what is in it stays */

/* Is there a journal with something in it? Looks only. */
bool cw_journal_there(const char *bench_folder);

/* Hands every whole line over in order; a torn last one is cut off the file. CW_FILE, CW_INPUT: a line in the middle
 * that is damaged, with its number. */
cw_status cw_journal_read(cw_journal *journal, cw_status (*take)(void *context, const json_t *line, cw_error *err),
                          void *context, cw_error *err) __attribute__((warn_unused_result));
/* Takes `line` over. CW_FILE: full disk ...; then nothing of it counts. */
cw_status cw_journal_add(cw_journal *journal, json_t *line, cw_error *err) __attribute__((warn_unused_result));

/* Samples behind those that are there (*total floats afterwards). They count once a line of the log names them. */
cw_status cw_journal_add_samples(cw_journal *journal, const float *samples, size_t count, uint64_t *total,
                                 cw_error *err) __attribute__((warn_unused_result));
/* The first `count` samples; what lies behind them is cut off. The caller frees *samples. CW_FILE when there are
 * fewer. */
cw_status cw_journal_samples(cw_journal *journal, uint64_t count, float **samples, cw_error *err)
    __attribute__((warn_unused_result));

/* Empties it. */
cw_status cw_journal_clear(cw_journal *journal, cw_error *err) __attribute__((warn_unused_result));

#endif
