/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small versions of pictures: decoded at the nearest larger eighth, averaged down over areas, turned upright. */
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>

#include "notebook/picture.h"

typedef struct {
    int width, height;
    unsigned char *rgb; /* width * height * 3 */
    unsigned char *profile;
    unsigned int profile_size;
} pixels;

static void pixels_free(pixels *p)
{
    free(p->rgb);
    free(p->profile);
    *p = (pixels){0};
}

/* ---- JPEG in ---- */

typedef struct {
    struct jpeg_error_mgr base;
    jmp_buf back;
    char text[JMSG_LENGTH_MAX];
} jpeg_trouble;

static void jpeg_stop(j_common_ptr info)
{
    jpeg_trouble *trouble = (jpeg_trouble *)info->err;
    trouble->base.format_message(info, trouble->text);
    longjmp(trouble->back, 1);
}

/* Warnings are counted by the library; a partly damaged picture is still shown. */
static void jpeg_quiet(j_common_ptr info, int level)
{
    if (level < 0)
        info->err->num_warnings++;
}

enum { SCANS_MOST = 500 };

/* A progressive JPEG can be made of millions of empty scans: that costs hours, and no camera does it. */
static void jpeg_watch(j_common_ptr info)
{
    if (((j_decompress_ptr)info)->input_scan_number > SCANS_MOST) {
        jpeg_trouble *trouble = (jpeg_trouble *)info->err;
        snprintf(trouble->text, sizeof trouble->text, "it has more than %d scans", SCANS_MOST);
        longjmp(trouble->back, 1);
    }
}

/* The smallest n of n/8 that is still at least `side` pixels long. */
static unsigned int eighths(unsigned int longer, unsigned int side)
{
    unsigned int n = 1;
    while (n < 8 && (longer * n + 7) / 8 < side)
        n++;
    return n;
}

static void row_from_cmyk(const unsigned char *cmyk, unsigned char *rgb, int width)
{
    for (int x = 0; x < width; x++) /* inverted, as every writer of such files stores it */
        for (int c = 0; c < 3; c++)
            rgb[x * 3 + c] = (unsigned char)(cmyk[x * 4 + c] * cmyk[x * 4 + 3] / 255);
}

/* Between setjmp and the end nothing may be owned that is not in *out or the decoder. */
static void jpeg_rows(struct jpeg_decompress_struct *in, pixels *out, unsigned char *wide)
{
    size_t stride = (size_t)out->width * 3;
    while (in->output_scanline < in->output_height) {
        unsigned char *row = out->rgb + in->output_scanline * stride;
        JSAMPROW to = wide != NULL ? wide : row;
        if (jpeg_read_scanlines(in, &to, 1) == 1 && wide != NULL)
            row_from_cmyk(wide, row, out->width);
    }
}

static cw_status jpeg_read(const unsigned char *bytes, size_t size, int side, pixels *out, cw_error *err)
{
    struct jpeg_decompress_struct in = {0};
    struct jpeg_progress_mgr watch = {.progress_monitor = jpeg_watch};
    jpeg_trouble trouble = {0};
    unsigned char *volatile wide = NULL;
    in.err = jpeg_std_error(&trouble.base);
    trouble.base.error_exit = jpeg_stop;
    trouble.base.emit_message = jpeg_quiet;
    if (setjmp(trouble.back) != 0) {
        jpeg_destroy_decompress(&in);
        free(wide);
        return cw_fail(err, CW_INPUT, "the picture is damaged inside and cannot be shown: %s", trouble.text);
    }
    jpeg_create_decompress(&in);
    in.progress = &watch;
    jpeg_save_markers(&in, JPEG_APP0 + 2, 0xffff);
    jpeg_mem_src(&in, bytes, size);
    jpeg_read_header(&in, TRUE);
    bool cmyk = in.jpeg_color_space == JCS_CMYK || in.jpeg_color_space == JCS_YCCK;
    in.out_color_space = cmyk ? JCS_CMYK : JCS_RGB;
    in.scale_num = eighths(in.image_width > in.image_height ? in.image_width : in.image_height, (unsigned)side);
    in.scale_denom = 8;
    jpeg_start_decompress(&in);
    out->width = (int)in.output_width;
    out->height = (int)in.output_height;
    out->rgb = calloc((size_t)out->width * (size_t)out->height, 3);
    if (cmyk)
        wide = malloc((size_t)out->width * 4);
    if (out->rgb == NULL || (cmyk && wide == NULL)) {
        jpeg_destroy_decompress(&in);
        free(wide);
        return cw_fail(err, CW_MEMORY, "no memory to show a picture");
    }
    jpeg_read_icc_profile(&in, &out->profile, &out->profile_size);
    jpeg_rows(&in, out, wide);
    jpeg_destroy_decompress(&in); /* what follows the picture does not matter */
    free(wide);
    return CW_OK;
}

/* ---- PNG in ---- */

static cw_status png_read(const unsigned char *bytes, size_t size, pixels *out, cw_error *err)
{
    png_image image = {.version = PNG_IMAGE_VERSION};
    png_color white = {255, 255, 255};
    if (!png_image_begin_read_from_memory(&image, bytes, size))
        return cw_fail(err, CW_INPUT, "the picture is damaged inside and cannot be shown: %s", image.message);
    if (image.width > INT32_MAX / 4 || (uint64_t)image.width * image.height > PICTURE_PIXELS_WHOLE_MOST) {
        png_image_free(&image);
        return cw_fail(err, CW_INPUT, "the picture is too large");
    }
    image.format = PNG_FORMAT_RGB;
    out->width = (int)image.width;
    out->height = (int)image.height;
    out->rgb = malloc(PNG_IMAGE_SIZE(image));
    if (out->rgb == NULL) {
        png_image_free(&image);
        return cw_fail(err, CW_MEMORY, "no memory to show a picture");
    }
    if (!png_image_finish_read(&image, &white, out->rgb, 0, NULL))
        return cw_fail(err, CW_INPUT, "the picture is damaged inside and cannot be shown: %s", image.message);
    return CW_OK;
}

/* ---- smaller, and upright ---- */

/* One axis of area averaging: how source pixels share a target pixel, in 1/256 of a source pixel. */
static void span_of(int target, int from, int to, int *first, int *last, int64_t *first_part, int64_t *last_part)
{
    int64_t begin = (int64_t)target * from * 256 / to, end = (int64_t)(target + 1) * from * 256 / to;
    *first = (int)(begin / 256);
    *last = (int)((end - 1) / 256);
    *first_part = 256 - begin % 256;
    *last_part = end - (int64_t)*last * 256;
    if (*first == *last)
        *first_part = end - begin;
}

static void average(const pixels *from, pixels *to, int x, int y)
{
    int x0, x1, y0, y1;
    int64_t xa, xb, ya, yb, sum[3] = {0}, weight = 0;
    span_of(x, from->width, to->width, &x0, &x1, &xa, &xb);
    span_of(y, from->height, to->height, &y0, &y1, &ya, &yb);
    for (int j = y0; j <= y1; j++) {
        int64_t wy = j == y0 ? ya : j == y1 ? yb : 256;
        for (int i = x0; i <= x1; i++) {
            int64_t w = wy * (i == x0 ? xa : i == x1 ? xb : 256);
            const unsigned char *p = from->rgb + ((size_t)j * (size_t)from->width + (size_t)i) * 3;
            for (int c = 0; c < 3; c++)
                sum[c] += w * p[c];
            weight += w;
        }
    }
    if (weight == 0)
        return; /* an empty span cannot be: to is smaller than from; this keeps it from dividing by nothing */
    for (int c = 0; c < 3; c++)
        to->rgb[((size_t)y * (size_t)to->width + (size_t)x) * 3 + (size_t)c] =
            (unsigned char)((sum[c] + weight / 2) / weight);
}

static int scaled(int64_t length, int64_t side, int64_t longer)
{
    int64_t rounded = (length * side + longer / 2) / longer;
    return rounded < 1 ? 1 : (int)rounded;
}

/* width, height: of the original as stored; what was decoded may be rounded up by a fraction of a pixel. */
static cw_status shrink(pixels *p, int64_t width, int64_t height, int side, cw_error *err)
{
    int64_t longer = width > height ? width : height;
    if (longer <= side)
        return CW_OK;
    pixels small = {.width = scaled(width, side, longer), .height = scaled(height, side, longer)};
    small.rgb = malloc((size_t)small.width * (size_t)small.height * 3);
    if (small.rgb == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to show a picture");
    for (int y = 0; y < small.height; y++)
        for (int x = 0; x < small.width; x++)
            average(p, &small, x, y);
    free(p->rgb);
    p->width = small.width;
    p->height = small.height;
    p->rgb = small.rgb;
    return CW_OK;
}

/* EXIF 2.32, tag 0112: where the upright pixel (x, y) lies in the stored picture of w x h. */
static void stored_place(int orientation, int w, int h, int x, int y, int *sx, int *sy)
{
    bool swapped = orientation >= 5;
    int a = swapped ? y : x, b = swapped ? x : y;
    *sx = orientation == 2 || orientation == 3 || orientation == 7 || orientation == 8 ? w - 1 - a : a;
    *sy = orientation == 3 || orientation == 4 || orientation == 6 || orientation == 7 ? h - 1 - b : b;
}

static cw_status turn(pixels *p, int orientation, cw_error *err)
{
    if (orientation == 1)
        return CW_OK;
    int width = orientation >= 5 ? p->height : p->width, height = orientation >= 5 ? p->width : p->height;
    unsigned char *upright = malloc((size_t)width * (size_t)height * 3);
    if (upright == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to show a picture");
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            int sx, sy;
            stored_place(orientation, p->width, p->height, x, y, &sx, &sy);
            memcpy(upright + ((size_t)y * (size_t)width + (size_t)x) * 3,
                   p->rgb + ((size_t)sy * (size_t)p->width + (size_t)sx) * 3, 3);
        }
    free(p->rgb);
    p->rgb = upright;
    p->width = width;
    p->height = height;
    return CW_OK;
}

/* ---- JPEG out ---- */

static cw_status jpeg_write(const pixels *p, unsigned char **jpeg, size_t *jpeg_size, cw_error *err)
{
    struct jpeg_compress_struct out = {0};
    jpeg_trouble trouble = {0};
    unsigned char *volatile made = NULL;
    unsigned long made_size = 0;
    out.err = jpeg_std_error(&trouble.base);
    trouble.base.error_exit = jpeg_stop;
    if (setjmp(trouble.back) != 0) {
        jpeg_destroy_compress(&out);
        free(made);
        return cw_fail(err, CW_MEMORY, "a small picture could not be made: %s", trouble.text);
    }
    jpeg_create_compress(&out);
    jpeg_mem_dest(&out, (unsigned char **)&made, &made_size);
    out.image_width = (JDIMENSION)p->width;
    out.image_height = (JDIMENSION)p->height;
    out.input_components = 3;
    out.in_color_space = JCS_RGB;
    jpeg_set_defaults(&out);
    jpeg_set_quality(&out, 82, TRUE);
    jpeg_start_compress(&out, TRUE);
    if (p->profile_size > 0)
        jpeg_write_icc_profile(&out, p->profile, p->profile_size);
    while (out.next_scanline < out.image_height) {
        JSAMPROW row = p->rgb + (size_t)out.next_scanline * (size_t)p->width * 3;
        jpeg_write_scanlines(&out, &row, 1);
    }
    jpeg_finish_compress(&out);
    jpeg_destroy_compress(&out);
    *jpeg = made;
    *jpeg_size = made_size;
    return CW_OK;
}

cw_status picture_thumb(const unsigned char *bytes, size_t size, int side, unsigned char **jpeg, size_t *jpeg_size,
                        cw_error *err)
{
    picture_info info;
    pixels p = {0};
    CW_TRY(picture_inspect(bytes, size, &info, err));
    cw_status status = info.png ? png_read(bytes, size, &p, err) : jpeg_read(bytes, size, side, &p, err);
    if (status == CW_OK)
        status = info.orientation >= 5 ? shrink(&p, info.height_px, info.width_px, side, err)
                                       : shrink(&p, info.width_px, info.height_px, side, err);
    if (status == CW_OK)
        status = turn(&p, info.orientation, err);
    if (status == CW_OK)
        status = jpeg_write(&p, jpeg, jpeg_size, err);
    pixels_free(&p);
    return status;
}
