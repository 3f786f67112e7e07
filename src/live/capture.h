/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Listening to a sound card: the devices there are, and a stream of frames with nothing dropped, or said so. PortAudio
 * behind it; the only file that knows. Asking for a rate is not getting it: behind a sound server any rate opens and is
 * resampled, so the frames are counted against the computer's clock and the true rate is told. */
#ifndef CW_LIVE_CAPTURE_H
#define CW_LIVE_CAPTURE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"
#include "base/quantity.h"

enum { CW_CAPTURE_NAME = 200, CW_CAPTURE_DEVICES_MOST = 64 };

typedef struct {
    int number; /* for cw_capture_open; stable while nothing is plugged in or out */
    char name[CW_CAPTURE_NAME];
    size_t channels_most;
    double rate_hz; /* its own */
    bool is_direct; /* the hardware itself, not a server or a converter before it: best for measuring */
    bool is_default;
} cw_capture_device;

/* CW_DEVICE when the sound system cannot be reached. */
cw_status cw_capture_devices(cw_capture_device *devices, size_t most, size_t *count, cw_error *err)
    __attribute__((warn_unused_result));

typedef struct {
    int device;      /* -1: the default one */
    double rate_hz;  /* 0: the device's own */
    size_t channels; /* 1 to 8 */
} cw_capture_request;

typedef struct cw_capture cw_capture;

/* Opens and starts. CW_DEVICE with the device's name and what it can do instead. The caller closes *capture. */
cw_status cw_capture_open(const cw_capture_request *request, cw_capture **capture, cw_error *err)
    __attribute__((warn_unused_result));
void cw_capture_close(cw_capture *capture); /* NULL is fine */

/* Up to `most` interleaved frames, waiting `wait_ms` for the first. *got 0: none yet. *dropped: frames the system lost
 * since the last call (0: none; at least this many, where it tells only that some were lost). CW_DEVICE: it vanished.
 */
cw_status cw_capture_read(cw_capture *capture, int wait_ms, float *frames, size_t most, size_t *got, uint64_t *dropped,
                          cw_error *err) __attribute__((warn_unused_result));

/* Frames a second by the computer's clock, from the frames taken so far: value and u; the nominal rate with a u of 1 %
 * in the first five seconds. */
cw_quantity cw_capture_rate(const cw_capture *capture);

double cw_capture_nominal(const cw_capture *capture);   /* as opened */
const char *cw_capture_name(const cw_capture *capture); /* of its device; as long as the capture */

#endif
