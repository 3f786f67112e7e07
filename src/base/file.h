/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that are either the old one or the whole new one, never a piece. */
#ifndef CW_BASE_FILE_H
#define CW_BASE_FILE_H

#include <stddef.h>
#include <stdio.h>

#include "base/error.h"

/* A file being written beside its goal. */
typedef struct {
    FILE *stream; /* write here */
    char goal[4096], beside[4128];
} cw_new_file;

/* Opens "<goal>.part-XXXXXX" in the goal's folder, mode 0600 with the umask applied at commit. CW_FILE with the reason.
 */
cw_status cw_new_file_open(const char *goal, cw_new_file *file, cw_error *err) __attribute__((warn_unused_result));

/* Flush, fsync, rename over the goal, fsync the folder; on any failure the part is removed and the goal untouched. */
cw_status cw_new_file_commit(cw_new_file *file, cw_error *err) __attribute__((warn_unused_result));

/* Removes the part. Fine after a failed open or after commit. */
void cw_new_file_abandon(cw_new_file *file);

/* The three above in one. */
cw_status cw_write_file(const char *goal, const void *bytes, size_t count, cw_error *err)
    __attribute__((warn_unused_result));

/* The whole file in memory, with a terminator behind it that is not counted. CW_RANGE over `ceiling` bytes.
 * The caller frees *bytes. */
cw_status cw_read_file(const char *path, size_t ceiling, char **bytes, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));

#endif
