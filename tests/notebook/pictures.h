/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pictures for tests, made here: four coloured quarters (red, green / blue, white) under a little structure. */
#ifndef CW_TESTS_PICTURES_H
#define CW_TESTS_PICTURES_H

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <png.h>

static inline unsigned char *quarters(int width, int height)
{
    static const unsigned char colours[4][3] = {{220, 30, 30}, {30, 200, 30}, {30, 30, 220}, {240, 240, 240}};
    unsigned char *rgb = malloc((size_t)width * (size_t)height * 3);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            int quarter = (x * 2 >= width) + 2 * (y * 2 >= height);
            for (int c = 0; c < 3; c++)
                rgb[(y * width + x) * 3 + c] = (unsigned char)(colours[quarter][c] + (x / 8 + y / 8) % 2 * 10);
        }
    return rgb;
}

static inline void write_jpeg(const char *path, int width, int height, int quality, bool progressive)
{
    struct jpeg_compress_struct out;
    struct jpeg_error_mgr trouble;
    unsigned char *rgb = quarters(width, height);
    FILE *file = fopen(path, "wb");
    out.err = jpeg_std_error(&trouble);
    jpeg_create_compress(&out);
    jpeg_stdio_dest(&out, file);
    out.image_width = (JDIMENSION)width;
    out.image_height = (JDIMENSION)height;
    out.input_components = 3;
    out.in_color_space = JCS_RGB;
    jpeg_set_defaults(&out);
    jpeg_set_quality(&out, quality, TRUE);
    if (progressive)
        jpeg_simple_progression(&out);
    jpeg_start_compress(&out, TRUE);
    while (out.next_scanline < out.image_height) {
        JSAMPROW row = rgb + (size_t)out.next_scanline * (size_t)width * 3;
        jpeg_write_scanlines(&out, &row, 1);
    }
    jpeg_finish_compress(&out);
    jpeg_destroy_compress(&out);
    fclose(file);
    free(rgb);
}

static inline void write_png(const char *path, int width, int height)
{
    unsigned char *rgb = quarters(width, height);
    png_image image = {.version = PNG_IMAGE_VERSION,
                       .width = (png_uint_32)width,
                       .height = (png_uint_32)height,
                       .format = PNG_FORMAT_RGB};
    png_image_write_to_file(&image, path, 0, rgb, 0, NULL);
    free(rgb);
}

/* Decodes a JPEG whole; the caller frees. */
static inline unsigned char *read_jpeg(const char *path, int *width, int *height)
{
    struct jpeg_decompress_struct in;
    struct jpeg_error_mgr trouble;
    FILE *file = fopen(path, "rb");
    in.err = jpeg_std_error(&trouble);
    jpeg_create_decompress(&in);
    jpeg_stdio_src(&in, file);
    jpeg_read_header(&in, TRUE);
    in.out_color_space = JCS_RGB;
    jpeg_start_decompress(&in);
    *width = (int)in.output_width;
    *height = (int)in.output_height;
    unsigned char *rgb = malloc((size_t)*width * (size_t)*height * 3);
    while (in.output_scanline < in.output_height) {
        JSAMPROW row = rgb + (size_t)in.output_scanline * (size_t)*width * 3;
        jpeg_read_scanlines(&in, &row, 1);
    }
    jpeg_finish_decompress(&in);
    jpeg_destroy_decompress(&in);
    fclose(file);
    return rgb;
}

#endif
