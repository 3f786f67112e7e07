/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/capture.h"

#include <fcntl.h>
#include <math.h>
#include <portaudio.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "live/gate_clock.h"

enum { RING_SECONDS = 4, CHANNELS_MOST = 8 };

/* Longest burst of a desktop's sound server at low latency; of that order, seen with PulseAudio 16. */
static const double burst_s = 0.025;

/* Frames are asked for in pieces of about this length. Shorter ones wake the sound system's threads more often:
 * measured with 4 channels at 192 kHz through PulseAudio 16, listening cost 10 % of a core at 9 ms and 4 % at 50 ms. */
static const double latency_s = 0.03;

struct cw_capture {
    PaStream *stream;
    size_t channels;
    double rate_hz;
    char name[CW_CAPTURE_NAME];

    /* ring of frames: the callback writes, the reader reads; each index is written by one side only */
    float *ring;
    size_t ring_frames;
    _Atomic uint64_t written, read;
    _Atomic uint64_t dropped;
    _Atomic bool finished;

    cw_gate_clock clock; /* seconds of frames against seconds of the computer */
    double clock_last_s;
};

/* The backend prints to standard error while it looks around; the person at the terminal must not see that. */
static int hush(void)
{
    int kept = dup(STDERR_FILENO), nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    if (nowhere >= 0) {
        dup2(nowhere, STDERR_FILENO);
        close(nowhere);
    }
    return kept;
}

static void unhush(int kept)
{
    if (kept < 0)
        return;
    dup2(kept, STDERR_FILENO);
    close(kept);
}

static cw_status start_system(cw_error *err)
{
    int kept = hush();
    PaError failed = Pa_Initialize();
    unhush(kept);
    if (failed != paNoError)
        return cw_fail(err, CW_DEVICE, "the sound system cannot be reached: %s", Pa_GetErrorText(failed));
    return CW_OK;
}

static void stop_system(void)
{
    int kept = hush();
    Pa_Terminate();
    unhush(kept);
}

static bool describe(int number, cw_capture_device *device)
{
    const PaDeviceInfo *info = Pa_GetDeviceInfo(number);
    if (info == NULL || info->maxInputChannels < 1)
        return false;
    int channels = info->maxInputChannels < CHANNELS_MOST ? info->maxInputChannels : CHANNELS_MOST;
    *device = (cw_capture_device){
        .number = number,
        .channels_most = (size_t)channels,
        .rate_hz = info->defaultSampleRate,
        .is_direct = strstr(info->name, "(hw:") != NULL,
        .is_default = number == Pa_GetDefaultInputDevice(),
    };
    snprintf(device->name, sizeof device->name, "%s", info->name);
    return true;
}

cw_status cw_capture_devices(cw_capture_device *devices, size_t most, size_t *count, cw_error *err)
{
    CW_TRY(start_system(err));
    *count = 0;
    for (int i = 0; i < Pa_GetDeviceCount() && *count < most; i++)
        if (describe(i, &devices[*count]))
            ++*count;
    stop_system();
    return CW_OK;
}

/* Runs in the sound system's thread: copies, counts, never waits. */
static int take_frames(const void *input, void *output, unsigned long frames, const PaStreamCallbackTimeInfo *times,
                       PaStreamCallbackFlags flags, void *state)
{
    (void)output;
    (void)times;
    cw_capture *capture = state;
    uint64_t written = atomic_load_explicit(&capture->written, memory_order_relaxed);
    uint64_t read = atomic_load_explicit(&capture->read, memory_order_acquire);
    const float *samples = input;
    if ((flags & paInputOverflow) != 0)
        atomic_fetch_add(&capture->dropped, 1);
    if (samples == NULL || capture->ring_frames - (written - read) < frames) {
        atomic_fetch_add(&capture->dropped, frames);
        return paContinue;
    }
    for (unsigned long i = 0; i < frames; i++, written++)
        memcpy(capture->ring + written % capture->ring_frames * capture->channels, samples + i * capture->channels,
               capture->channels * sizeof *samples);
    atomic_store_explicit(&capture->written, written, memory_order_release);
    return paContinue;
}

static void on_finished(void *state)
{
    atomic_store(&((cw_capture *)state)->finished, true);
}

static cw_status open_stream(const cw_capture_request *request, cw_capture *capture, cw_error *err)
{
    int number = request->device >= 0 ? request->device : Pa_GetDefaultInputDevice();
    cw_capture_device device;
    if (number == paNoDevice || number >= Pa_GetDeviceCount() || !describe(number, &device))
        return cw_fail(err, CW_DEVICE, "there is no such sound input; is it plugged in?");
    snprintf(capture->name, sizeof capture->name, "%s", device.name);
    capture->channels = request->channels;
    capture->rate_hz = request->rate_hz > 0 ? request->rate_hz : device.rate_hz;
    capture->ring_frames = (size_t)(capture->rate_hz * RING_SECONDS);
    capture->ring = calloc(capture->ring_frames * capture->channels, sizeof *capture->ring);
    if (capture->ring == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to listen to %zu channels", request->channels);
    PaStreamParameters wanted = {.device = number,
                                 .channelCount = (int)request->channels,
                                 .sampleFormat = paFloat32,
                                 .suggestedLatency = fmax(latency_s, Pa_GetDeviceInfo(number)->defaultLowInputLatency)};
    PaError failed = Pa_OpenStream(&capture->stream, &wanted, NULL, capture->rate_hz, paFramesPerBufferUnspecified,
                                   paClipOff | paDitherOff, take_frames, capture);
    if (failed == paNoError) {
        Pa_SetStreamFinishedCallback(capture->stream, on_finished);
        failed = Pa_StartStream(capture->stream);
    }
    if (failed != paNoError)
        return cw_fail(err, CW_DEVICE,
                       "\"%s\" cannot be listened to with %zu channels at %.0f Hz (it has %zu at %.0f Hz): %s",
                       device.name, request->channels, capture->rate_hz, device.channels_most, device.rate_hz,
                       Pa_GetErrorText(failed));
    return CW_OK;
}

cw_status cw_capture_open(const cw_capture_request *request, cw_capture **capture, cw_error *err)
{
    if (request->channels < 1 || request->channels > CHANNELS_MOST || request->rate_hz < 0 || request->rate_hz > 1e6)
        return cw_fail(err, CW_RANGE, "%zu channels at %g Hz; 1 to %d channels, up to 1 MHz", request->channels,
                       request->rate_hz, CHANNELS_MOST);
    cw_capture *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for listening");
    cw_status status = start_system(err);
    if (status != CW_OK) {
        free(made);
        return status;
    }
    int kept = hush();
    status = open_stream(request, made, err);
    unhush(kept);
    if (status != CW_OK) {
        cw_capture_close(made);
        return status;
    }
    *capture = made;
    return CW_OK;
}

void cw_capture_close(cw_capture *capture)
{
    if (capture == NULL)
        return;
    int kept = hush();
    if (capture->stream != NULL) {
        Pa_AbortStream(capture->stream);
        Pa_CloseStream(capture->stream);
    }
    unhush(kept);
    stop_system();
    free(capture->ring);
    free(capture);
}

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

/* Waits in small steps: the callback may not signal anybody. */
static uint64_t wait_for_frames(const cw_capture *capture, int wait_ms)
{
    const struct timespec step = {0, 4000000};
    for (int waited_ms = 0;; waited_ms += 4) {
        uint64_t there = atomic_load_explicit(&capture->written, memory_order_acquire) -
                         atomic_load_explicit(&capture->read, memory_order_relaxed);
        if (there > 0 || waited_ms >= wait_ms || atomic_load(&capture->finished))
            return there;
        nanosleep(&step, NULL);
    }
}

/* The arrivals come in bursts; one pair of clock readings a tenth of a second is enough for the rate. */
static void follow_clock(cw_capture *capture, uint64_t written)
{
    double now = now_s();
    if (now - capture->clock_last_s < 0.1)
        return;
    capture->clock_last_s = now;
    cw_gate_clock_beat(&capture->clock, (double)written / capture->rate_hz, now);
}

cw_status cw_capture_read(cw_capture *capture, int wait_ms, float *frames, size_t most, size_t *got, uint64_t *dropped,
                          cw_error *err)
{
    uint64_t there = wait_for_frames(capture, wait_ms);
    *dropped = atomic_exchange(&capture->dropped, 0);
    if (there == 0 && (atomic_load(&capture->finished) || Pa_IsStreamActive(capture->stream) != 1))
        return cw_fail(err, CW_DEVICE, "the sound input \"%s\" is gone; was it unplugged?", capture->name);
    uint64_t read = atomic_load_explicit(&capture->read, memory_order_relaxed);
    *got = there < most ? (size_t)there : most;
    for (size_t i = 0; i < *got; i++)
        memcpy(frames + i * capture->channels, capture->ring + (read + i) % capture->ring_frames * capture->channels,
               capture->channels * sizeof *frames);
    atomic_store_explicit(&capture->read, read + *got, memory_order_release);
    if (there > 0)
        follow_clock(capture, read + there);
    return CW_OK;
}

cw_quantity cw_capture_rate(const cw_capture *capture)
{
    double span_s = capture->clock.last_x - capture->clock.first_x;
    if (capture->clock.count < 8 || span_s < 5)
        return (cw_quantity){capture->rate_hz, 0.01 * capture->rate_hz};
    cw_quantity slope = cw_gate_clock_rate(&capture->clock); /* computer seconds per nominal second */
    /* frames come in bursts whose phase drifts from start to end: up to one burst over the span, rectangular */
    double u_burst = burst_s / span_s / sqrt(12);
    return (cw_quantity){capture->rate_hz / slope.value, capture->rate_hz * hypot(slope.u, u_burst)};
}

double cw_capture_nominal(const cw_capture *capture)
{
    return capture->rate_hz;
}

const char *cw_capture_name(const cw_capture *capture)
{
    return capture->name;
}
