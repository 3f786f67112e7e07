/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside the room: what each kind of file gives to source.c. A reader that opens fills source->info, ->calls and
 * ->state; it answers CW_NOT_MINE for another kind of file and CW_INPUT, in words, for its own kind when damaged or not
 * supported, in which case no other reader is asked. */
#ifndef CW_SIGNAL_READER_H
#define CW_SIGNAL_READER_H

#include <stdio.h>

#include "signal/source.h"

struct cw_source {
    cw_source_info info;
    cw_source_calls calls;
    void *state;
};

/* The first bytes of the file, so that every reader can look without opening it again. */
typedef struct {
    unsigned char bytes[4096];
    size_t count;
    uint64_t file_bytes;
} cw_file_head;

cw_status cw_sound_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                        cw_error *err) __attribute__((warn_unused_result));
cw_status cw_vcd_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                      cw_error *err) __attribute__((warn_unused_result));
cw_status cw_csv_open(const char *path, const cw_file_head *head, const cw_source_options *options, cw_source *source,
                      cw_error *err) __attribute__((warn_unused_result));

/* Keeps a warning with the source; beyond CW_WARNINGS_MOST the last place says that there were more. */
void cw_source_warn(cw_source_info *info, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Text as a text file begins: no NUL, few control bytes. */
bool cw_head_is_text(const cw_file_head *head);

#endif
