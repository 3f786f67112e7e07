/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 250000 baud is no POSIX speed; the kernel's own call takes any number, but its header clashes with <termios.h>, so
 * this call lives in a file of its own. */
#include <asm/termbits.h>
#include <sys/ioctl.h>

#include "live/serial_inside.h"

int cw_serial_set_speed(int fd, unsigned baud)
{
    struct termios2 settings;
    if (ioctl(fd, TCGETS2, &settings) != 0)
        return -1;
    settings.c_cflag &= ~(tcflag_t)(CBAUD | CBAUD << IBSHIFT);
    settings.c_cflag |= BOTHER | BOTHER << IBSHIFT;
    settings.c_ispeed = baud;
    settings.c_ospeed = baud;
    if (ioctl(fd, TCSETS2, &settings) != 0 || ioctl(fd, TCGETS2, &settings) != 0)
        return -1;
    /* a divider may miss by a little; more than 2.5 % would garble the bytes */
    double taken = settings.c_ospeed, off = taken / baud - 1;
    return off > -0.025 && off < 0.025 ? 0 : -1;
}
