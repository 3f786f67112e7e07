/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Run by capture.sh behind a private sound server whose only input is the monitor of a null sink, while a test pattern
 * is played into it. Usage: capture RATE CHANNELS SECONDS. Every frame of the pattern carries its own number in channel
 * 0 (low 15 bits) and channel 1 (the rest), and a hash of it in the others: a frame lost, repeated, scaled, resampled
 * or swapped shows. Prints what came; exit status 0 when a stretch of at least half of the pattern came exactly. */
#include "live/capture.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static unsigned hash(unsigned number, unsigned channel)
{
    unsigned h = number * 2654435761u ^ channel * 40503u;
    h ^= h >> 13;
    return h * 2246822519u >> 17; /* 15 bits */
}

static unsigned value_of(float sample)
{
    return (unsigned)(int)lrintf(sample * 32768);
}

int main(int argc, char **argv)
{
    enum { BLOCK = 4096 };
    static float frames[BLOCK * 8];
    if (argc != 4)
        return 2;
    cw_capture_request request = {
        .device = -1, .rate_hz = strtod(argv[1], NULL), .channels = strtoul(argv[2], NULL, 10)};
    double seconds = strtod(argv[3], NULL);
    cw_error err;
    cw_capture_device devices[CW_CAPTURE_DEVICES_MOST];
    size_t count;
    if (cw_capture_devices(devices, CW_CAPTURE_DEVICES_MOST, &count, &err) != CW_OK) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    for (size_t i = 0; i < count; i++)
        if (devices[i].is_default)
            printf("default: %s, %zu channels, %.0f Hz\n", devices[i].name, devices[i].channels_most,
                   devices[i].rate_hz);
    cw_capture *capture;
    if (cw_capture_open(&request, &capture, &err) != CW_OK) {
        fprintf(stderr, "%s\n", err.text);
        return 1;
    }
    printf("listening\n");
    fflush(stdout);
    uint64_t lost = 0, expected = 0, exact = 0, wrong = 0, total = 0;
    clock_t cpu = clock();
    while ((double)total < seconds * request.rate_hz) {
        size_t got;
        uint64_t dropped;
        if (cw_capture_read(capture, 1000, frames, BLOCK, &got, &dropped, &err) != CW_OK) {
            fprintf(stderr, "%s\n", err.text);
            return 1;
        }
        lost += dropped;
        total += got;
        for (size_t i = 0; i < got; i++) {
            const float *frame = frames + i * request.channels;
            unsigned number = value_of(frame[0]) | value_of(frame[1]) << 15;
            if (number == 0 && (expected == 0 || exact > 0))
                continue; /* silence before and after the pattern */
            bool good = number == expected + 1 || expected == 0;
            for (unsigned c = 2; c < request.channels; c++)
                good = good && value_of(frame[c]) == hash(number, c);
            exact += good;
            wrong += !good;
            expected = number;
        }
    }
    double used = (double)(clock() - cpu) / CLOCKS_PER_SEC;
    cw_quantity rate = cw_capture_rate(capture);
    cw_capture_close(capture);
    printf("%llu frames exact, %llu wrong, %llu dropped; %.3f of one core; %.1f +- %.1f Hz by the computer's clock\n",
           (unsigned long long)exact, (unsigned long long)wrong, (unsigned long long)lost, used / seconds, rate.value,
           2 * rate.u);
    return exact > (uint64_t)(request.rate_hz * seconds / 4) && wrong == 0 && lost == 0 ? 0 : 1;
}
