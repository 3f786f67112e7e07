/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/serial.h"

#include <errno.h>
#include <fcntl.h>
#include <glob.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "live/serial_inside.h"

/* The adapter's own name is in the name of the link that points to its port. */
static void find_words(const char *path, char *words, size_t size)
{
    glob_t links;
    words[0] = '\0';
    if (glob("/dev/serial/by-id/*", 0, NULL, &links) != 0)
        return;
    for (size_t i = 0; i < links.gl_pathc; i++) {
        char *target = realpath(links.gl_pathv[i], NULL);
        if (target != NULL && strcmp(target, path) == 0)
            snprintf(words, size, "%s", strrchr(links.gl_pathv[i], '/') + 1);
        free(target);
    }
    globfree(&links);
}

size_t cw_serial_ports(cw_serial_port *ports, size_t most)
{
    glob_t found;
    size_t count = 0;
    int flags = 0;
    static const char *const patterns[] = {"/dev/ttyUSB*", "/dev/ttyACM*"};
    for (size_t p = 0; p < CW_COUNT(patterns); p++)
        if (glob(patterns[p], flags, NULL, &found) == 0 || flags != 0)
            flags = GLOB_APPEND;
    if (flags == 0)
        return 0;
    for (size_t i = 0; i < found.gl_pathc && count < most; i++) {
        snprintf(ports[count].path, sizeof ports[count].path, "%s", found.gl_pathv[i]);
        find_words(ports[count].path, ports[count].words, sizeof ports[count].words);
        count++;
    }
    globfree(&found);
    return count;
}

static cw_status refuse_open(const char *path, int reason, cw_error *err)
{
    if (reason == EACCES)
        return cw_fail(
            err, CW_DEVICE,
            "the port %s may not be opened by you; on most systems its group is dialout: add yourself to it and "
            "log in again",
            path);
    if (reason == ENOENT)
        return cw_fail(err, CW_DEVICE, "there is no port %s; is the gate plugged in?", path);
    if (reason == EBUSY || reason == EWOULDBLOCK)
        return cw_fail(err, CW_DEVICE, "the port %s is in use by another program; close that first", path);
    return cw_fail(err, CW_DEVICE, "the port %s cannot be opened: %s", path, strerror(reason));
}

static cw_status make_raw(int fd, const char *path, unsigned baud, cw_error *err)
{
    struct termios settings;
    if (tcgetattr(fd, &settings) != 0)
        return cw_fail(err, CW_DEVICE, "%s is no serial port", path);
    cfmakeraw(&settings);
    settings.c_cflag |= CLOCAL | CREAD;
    settings.c_cflag &= ~(tcflag_t)(CRTSCTS | HUPCL);
    settings.c_cc[VMIN] = 0;
    settings.c_cc[VTIME] = 0;
    if (tcsetattr(fd, TCSANOW, &settings) != 0)
        return cw_fail(err, CW_DEVICE, "the port %s cannot be set up: %s", path, strerror(errno));
    if (cw_serial_set_speed(fd, baud) != 0)
        return cw_fail(err, CW_DEVICE, "the port %s does not take %u baud", path, baud);
    tcflush(fd, TCIOFLUSH);
    return CW_OK;
}

cw_status cw_serial_open(const char *path, unsigned baud, int *fd, cw_error *err)
{
    int opened = open(path, O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (opened < 0)
        return refuse_open(path, errno, err);
    cw_status status = CW_OK;
    if (flock(opened, LOCK_EX | LOCK_NB) != 0)
        status = refuse_open(path, errno, err);
    if (status == CW_OK)
        status = make_raw(opened, path, baud, err);
    if (status != CW_OK) {
        close(opened);
        return status;
    }
    *fd = opened;
    return CW_OK;
}

cw_status cw_serial_read(int fd, int wait_ms, char *bytes, size_t most, size_t *got, cw_error *err)
{
    struct pollfd waiting = {.fd = fd, .events = POLLIN};
    *got = 0;
    int ready = poll(&waiting, 1, wait_ms);
    if (ready < 0 && errno != EINTR)
        return cw_fail(err, CW_DEVICE, "waiting for the serial port failed: %s", strerror(errno));
    if (ready <= 0)
        return CW_OK;
    ssize_t count = read(fd, bytes, most);
    if (count > 0) {
        *got = (size_t)count;
        return CW_OK;
    }
    if (count < 0 && (errno == EAGAIN || errno == EINTR))
        return CW_OK;
    return cw_fail(err, CW_DEVICE, "the serial port is gone; was the cable pulled?");
}

cw_status cw_serial_write(int fd, const char *bytes, size_t count, cw_error *err)
{
    while (count > 0) {
        ssize_t wrote = write(fd, bytes, count);
        if (wrote < 0 && (errno == EINTR || errno == EAGAIN)) {
            struct pollfd waiting = {.fd = fd, .events = POLLOUT};
            if (poll(&waiting, 1, 1000) == 0)
                return cw_fail(err, CW_DEVICE, "the serial port takes nothing any more");
            continue;
        }
        if (wrote < 0)
            return cw_fail(err, CW_DEVICE, "writing to the serial port failed: %s", strerror(errno));
        bytes += wrote;
        count -= (size_t)wrote;
    }
    return CW_OK;
}
