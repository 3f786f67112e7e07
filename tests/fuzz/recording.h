/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes of a fuzzer as a file, read and measured the way the program does. Any answer is right that is an answer: no
 * crash, no leak, a sentence when it is a refusal. */
#ifndef CW_TESTS_FUZZ_RECORDING_H
#define CW_TESTS_FUZZ_RECORDING_H

#include <gsl/gsl_errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <unistd.h>

#include "shutter/measure.h"

static inline void measure_bytes(const uint8_t *bytes, size_t count)
{
    gsl_set_error_handler_off();
    int file = memfd_create("fuzz", 0);
    if (file < 0 || write(file, bytes, count) != (ssize_t)count)
        abort();
    char path[64];
    snprintf(path, sizeof path, "/proc/self/fd/%d", file);
    cw_error err = {.text = ""};
    cw_source *source = NULL;
    cw_status status = cw_source_open(path, NULL, &source, &err);
    if (status == CW_OK) {
        const cw_source_info *info = cw_source_about(source);
        if (info->channels < 1 || info->channels > CW_CHANNELS_MOST || !(info->rate_hz > 0))
            abort();
        cw_measure_setup setup = {.contact_channel = count % 3 == 0 && info->channels > 1 ? info->channels : 0,
                                  .kind = count % 2 ? CW_SHUTTER_LEAF : CW_SHUTTER_FOCAL_PLANE};
        cw_measurement *measured = NULL;
        status = cw_measure(source, &setup, &measured, &err);
        if (status == CW_OK && measured->shot_count == 0)
            abort();
        cw_measurement_free(measured);
    }
    if (status != CW_OK && err.text[0] == '\0')
        abort();
    cw_source_close(source);
    close(file);
}

#endif
