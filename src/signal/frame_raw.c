/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <libraw/libraw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "signal/frame_inside.h"

static void release_raw(void *held)
{
    libraw_close(held);
}

static double known_or_nan(float value)
{
    return value > 0 && isfinite(value) ? (double)value : NAN;
}

/* Black of a pixel: a common part, one a colour, and a repeating pattern. */
static double black_of(const libraw_data_t *raw, size_t y, size_t x, int colour)
{
    const libraw_colordata_t *c = &raw->rawdata.color;
    unsigned repeat_h = c->cblack[4], repeat_w = c->cblack[5];
    double black = c->black + (double)c->cblack[colour];
    if (repeat_h > 0 && repeat_w > 0)
        black += c->cblack[6 + (y % repeat_h) * repeat_w + x % repeat_w];
    return black;
}

static cw_status take_mosaic(libraw_data_t *raw, cw_frame *frame, cw_error *err)
{
    const libraw_image_sizes_t *size = &raw->sizes;
    if (raw->rawdata.raw_image == NULL)
        return cw_fail(err, CW_INPUT,
                       "this holds no sensor mosaic (it was converted already); take the camera's own raw file");
    size_t width = size->width, height = size->height;
    if (width < 64 || height < 64 || width * height > (size_t)CW_FRAME_MEGAPIXELS_MOST * 1000000 ||
        size->raw_pitch < 2 * (size->left_margin + size->width) || size->top_margin + size->height > size->raw_height)
        return cw_fail(err, CW_INPUT, "it says it has %zu x %zu pixels; 64 x 64 to %d megapixels can be used", width,
                       height, CW_FRAME_MEGAPIXELS_MOST);
    frame->pitch = size->raw_pitch / 2;
    frame->pixels = raw->rawdata.raw_image + (size_t)size->top_margin * frame->pitch + size->left_margin;
    double least_black = INFINITY;
    for (size_t y = 0; y < CW_FRAME_PATTERN; y++)
        for (size_t x = 0; x < CW_FRAME_PATTERN; x++) {
            int colour = libraw_COLOR(raw, (int)y, (int)x);
            frame->colour[y][x] = (uint8_t)(colour & (CW_FRAME_COLOURS - 1));
            frame->black[y][x] = (float)black_of(raw, y, x, colour);
            least_black = fmin(least_black, (double)frame->black[y][x]);
        }
    unsigned white = raw->rawdata.color.maximum;
    if (white < 256 || white > 65535)
        white = 65535;
    /* sensors bend a little before they clip */
    frame->clip = (uint16_t)(0.98 * white);
    frame->info.saturation = fmax(white - least_black, 1);
    return CW_OK;
}

cw_status cw_frame_open_raw(const char *path, cw_frame *frame, cw_error *err)
{
    libraw_data_t *raw = libraw_init(0);
    if (raw == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a raw photograph");
    frame->held = raw;
    frame->release = release_raw;
    /* a file too short to hold any header comes back as a read error: to us it is simply no raw photograph */
    if (libraw_open_file(raw, path) != LIBRAW_SUCCESS)
        return cw_fail(err, CW_NOT_MINE, "this is no raw photograph that is known");
    int failed = libraw_unpack(raw);
    if (failed != LIBRAW_SUCCESS)
        return cw_fail(err, CW_INPUT, "it cannot be read as a raw photograph: %s", libraw_strerror(failed));
    frame->info = (cw_frame_info){
        .is_raw = true,
        .width = raw->sizes.width,
        .height = raw->sizes.height,
        .exposure_s = known_or_nan(raw->other.shutter),
        .f_number = known_or_nan(raw->other.aperture),
        .iso = known_or_nan(raw->other.iso_speed),
    };
    snprintf(frame->info.camera, sizeof frame->info.camera, "%.79s", raw->idata.model);
    return take_mosaic(raw, frame, err);
}
