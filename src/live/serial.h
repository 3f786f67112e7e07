/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A serial port at any speed, raw, without hanging on it. */
#ifndef CW_LIVE_SERIAL_H
#define CW_LIVE_SERIAL_H

#include <stddef.h>

#include "base/error.h"

enum { CW_PORT_NAME = 256, CW_PORTS_MOST = 32 };

typedef struct {
    char path[CW_PORT_NAME];  /* "/dev/ttyUSB0" */
    char words[CW_PORT_NAME]; /* what the adapter calls itself, "" when it does not say */
} cw_serial_port;

/* The USB serial ports there are now. Returns how many of `most` were written. */
size_t cw_serial_ports(cw_serial_port *ports, size_t most);

/* Opens the port raw, 8N1, no flow control, and checks that the speed was taken (a pseudo terminal takes any).
 * CW_DEVICE: not there, in use, no permission (says which group to join), speed refused. */
cw_status cw_serial_open(const char *path, unsigned baud, int *fd, cw_error *err) __attribute__((warn_unused_result));

/* Reads what is there within `wait_ms`. *got 0: nothing came. CW_DEVICE: the port is gone (cable pulled). */
cw_status cw_serial_read(int fd, int wait_ms, char *bytes, size_t most, size_t *got, cw_error *err)
    __attribute__((warn_unused_result));
cw_status cw_serial_write(int fd, const char *bytes, size_t count, cw_error *err) __attribute__((warn_unused_result));

#endif
