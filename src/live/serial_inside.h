/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef CW_LIVE_SERIAL_INSIDE_H
#define CW_LIVE_SERIAL_INSIDE_H

/* 0, or -1 with errno when the port does not take the speed. */
int cw_serial_set_speed(int fd, unsigned baud);

#endif
