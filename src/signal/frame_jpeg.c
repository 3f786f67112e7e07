/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h> /* before jpeglib.h, which needs it */

#include <jpeglib.h>
#include <libexif/exif-data.h>
#include <math.h>
#include <setjmp.h>
#include <stdlib.h>
#include <string.h>

#include "signal/frame_inside.h"

static double exif_rational(const ExifData *exif, ExifTag tag)
{
    const ExifEntry *entry = exif_content_get_entry(exif->ifd[EXIF_IFD_EXIF], tag);
    if (entry == NULL || entry->format != EXIF_FORMAT_RATIONAL || entry->components < 1)
        return NAN;
    ExifRational value = exif_get_rational(entry->data, exif_data_get_byte_order((ExifData *)exif));
    return value.denominator != 0 && value.numerator != 0 ? (double)value.numerator / value.denominator : NAN;
}

static double exif_short(const ExifData *exif, ExifTag tag)
{
    const ExifEntry *entry = exif_content_get_entry(exif->ifd[EXIF_IFD_EXIF], tag);
    if (entry == NULL || entry->format != EXIF_FORMAT_SHORT || entry->components < 1)
        return NAN;
    ExifShort value = exif_get_short(entry->data, exif_data_get_byte_order((ExifData *)exif));
    return value != 0 ? value : NAN;
}

static void take_exif(const char *path, cw_frame_info *info)
{
    ExifData *exif = exif_data_new_from_file(path);
    info->exposure_s = info->f_number = info->iso = NAN;
    if (exif == NULL)
        return;
    info->exposure_s = exif_rational(exif, EXIF_TAG_EXPOSURE_TIME);
    info->f_number = exif_rational(exif, EXIF_TAG_FNUMBER);
    info->iso = exif_short(exif, EXIF_TAG_ISO_SPEED_RATINGS);
    ExifEntry *model = exif_content_get_entry(exif->ifd[EXIF_IFD_0], EXIF_TAG_MODEL);
    if (model != NULL)
        exif_entry_get_value(model, info->camera, sizeof info->camera);
    exif_data_unref(exif);
}

typedef struct {
    struct jpeg_error_mgr manager;
    jmp_buf out;
    char text[JMSG_LENGTH_MAX];
} jpeg_trouble;

/* The library's own way out would end the program. */
static void on_error(j_common_ptr info)
{
    jpeg_trouble *trouble = (jpeg_trouble *)info->err;
    trouble->manager.format_message(info, trouble->text);
    longjmp(trouble->out, 1);
}

static void on_warning(j_common_ptr info, int level)
{
    jpeg_trouble *trouble = (jpeg_trouble *)info->err;
    if (level < 0 && trouble->manager.num_warnings++ == 0)
        trouble->manager.format_message(info, trouble->text);
}

/* sRGB to linear, IEC 61966-2-1, in 65535ths. */
static void fill_linear(uint16_t linear[256])
{
    for (int i = 0; i < 256; i++) {
        double v = i / 255.0;
        linear[i] = (uint16_t)lrint(65535 * (v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4)));
    }
}

/* Luminance of linear sRGB; a pixel with any channel clipped counts as clipped. */
static void take_row(const JSAMPLE *row, size_t width, const uint16_t linear[256], uint16_t *out)
{
    for (size_t x = 0; x < width; x++) {
        const JSAMPLE *p = row + 3 * x;
        bool clipped = p[0] >= 254 || p[1] >= 254 || p[2] >= 254;
        double y = 0.2126 * linear[p[0]] + 0.7152 * linear[p[1]] + 0.0722 * linear[p[2]];
        out[x] = clipped ? 65535 : (uint16_t)y;
    }
}

/* Between the setjmp and the end nothing is owned by a local: frame and info own all, and the caller frees them. */
static cw_status decode(FILE *file, struct jpeg_decompress_struct *info, jpeg_trouble *trouble, cw_frame *frame,
                        cw_error *err)
{
    uint16_t linear[256];
    fill_linear(linear);
    if (setjmp(trouble->out) != 0)
        return cw_fail(err, CW_INPUT, "the photograph is damaged: %s", trouble->text);
    jpeg_create_decompress(info);
    jpeg_stdio_src(info, file);
    jpeg_read_header(info, TRUE);
    if (info->image_width < 64 || info->image_height < 64 ||
        (size_t)info->image_width * info->image_height > (size_t)CW_FRAME_MEGAPIXELS_MOST * 1000000)
        return cw_fail(err, CW_INPUT, "it has %u x %u pixels; 64 x 64 to %d megapixels can be used", info->image_width,
                       info->image_height, CW_FRAME_MEGAPIXELS_MOST);
    info->out_color_space = JCS_RGB;
    jpeg_start_decompress(info);
    size_t width = info->output_width, height = info->output_height;
    uint16_t *pixels = malloc(width * height * sizeof *pixels);
    frame->held = pixels;
    frame->release = free;
    frame->pixels = pixels;
    frame->pitch = width;
    if (pixels == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a photograph of %zu x %zu pixels", width, height);
    JSAMPARRAY row = (*info->mem->alloc_sarray)((j_common_ptr)info, JPOOL_IMAGE, (JDIMENSION)(3 * width), 1);
    while (info->output_scanline < info->output_height) {
        size_t y = info->output_scanline;
        jpeg_read_scanlines(info, row, 1);
        take_row(row[0], width, linear, pixels + y * width);
    }
    jpeg_finish_decompress(info);
    if (trouble->manager.num_warnings > 0)
        return cw_fail(err, CW_INPUT, "the photograph is damaged or cut off: %s", trouble->text);
    frame->info.width = width;
    frame->info.height = height;
    return CW_OK;
}

cw_status cw_frame_open_jpeg(const char *path, cw_frame *frame, cw_error *err)
{
    FILE *file = fopen(path, "rb");
    unsigned char magic[3] = {0};
    if (file == NULL)
        return cw_fail(err, CW_INPUT, "this cannot be opened; is the name right?");
    if (fread(magic, 1, 3, file) != 3 || magic[0] != 0xff || magic[1] != 0xd8 || magic[2] != 0xff) {
        fclose(file);
        return cw_fail(err, CW_NOT_MINE, "this is no JPEG");
    }
    rewind(file);
    struct jpeg_decompress_struct info = {0};
    jpeg_trouble trouble = {0};
    info.err = jpeg_std_error(&trouble.manager);
    trouble.manager.error_exit = on_error;
    trouble.manager.emit_message = on_warning;
    cw_status status = decode(file, &info, &trouble, frame, err);
    jpeg_destroy_decompress(&info);
    fclose(file);
    if (status != CW_OK)
        return status;
    take_exif(path, &frame->info);
    frame->info.is_raw = false;
    frame->info.saturation = 65535;
    frame->clip = 65535;
    return CW_OK;
}
