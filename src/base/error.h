/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can go wrong, and the sentence that tells the person at the bench.
 *
 * Every function that can fail returns a cw_status and takes a cw_error, never NULL. On anything but CW_OK the error
 * holds one sentence that says what is wrong, where, and what to do; outputs are written only on CW_OK. Callers on the
 * way up add where they were: "shot3.csv, line 17: one column only; ..." */
#ifndef CW_BASE_ERROR_H
#define CW_BASE_ERROR_H

#include <stddef.h>

typedef enum {
    CW_OK = 0,
    CW_INPUT,     /* what a person, a file or a device handed in cannot be used as it is */
    CW_RANGE,     /* a value, or a set of values, outside what can be computed */
    CW_NOT_MINE,  /* a reader: this is some other kind of file, another reader may know it */
    CW_NOT_FOUND, /* the job, file, step or page asked for does not exist */
    CW_CONFLICT,  /* it would contradict what is already stored, or someone else was faster */
    CW_REFUSED,   /* not allowed from here (web door) */
    CW_MEMORY,    /* no memory */
    CW_FILE,      /* the disk said no: open, read, write, fsync, rename */
    CW_STORE,     /* the bench's database said no */
    CW_DEVICE     /* a serial port, sound device or other hardware said no */
} cw_status;

enum { CW_ERROR_TEXT = 1024 };

typedef struct {
    cw_status status;
    char text[CW_ERROR_TEXT]; /* one or two sentences in one line of UTF-8; cut with "..." when too long */
} cw_error;

/* Writes the sentence and returns `status`, so that a failure is one line: return cw_fail(err, CW_RANGE, "..."). */
cw_status cw_fail(cw_error *err, cw_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4), warn_unused_result, cold));

/* Puts "<where>: " before the sentence that is already there. Does nothing to the status. */
void cw_context(cw_error *err, const char *format, ...) __attribute__((format(printf, 2, 3), cold));

/* The command line's exit status: 0 done, 2 bad input, 3 failed (disk, device, memory). */
int cw_exit_status(cw_status status);

/* A short fixed name of the status, such as "range"; used in JSON errors and in tests. */
const char *cw_status_name(cw_status status);

/* Returns what is not CW_OK. Only where nothing is owned yet; otherwise one exit that frees. */
#define CW_TRY(call)                                                                                                   \
    do {                                                                                                               \
        cw_status cw_try_status_ = (call);                                                                             \
        if (cw_try_status_ != CW_OK)                                                                                   \
            return cw_try_status_;                                                                                     \
    } while (0)

#define CW_COUNT(array) (sizeof(array) / sizeof((array)[0]))

#endif
