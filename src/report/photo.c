/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/photo.h"

#include <errno.h>
#include <math.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>
#include <libexif/exif-data.h>

static const double DOTS_MOST = 200e6;

/* libjpeg ends the program on an error unless its handler jumps. */
typedef struct {
    struct jpeg_error_mgr base;
    jmp_buf back;
    char text[JMSG_LENGTH_MAX];
} jpeg_trouble;

static void jump_back(j_common_ptr common)
{
    jpeg_trouble *trouble = (jpeg_trouble *)common->err;
    common->err->format_message(common, trouble->text);
    longjmp(trouble->back, 1);
}

static void stay_quiet(j_common_ptr common)
{
    (void)common; /* warnings are counted by the library and looked at after reading */
}

static void set_handlers(jpeg_trouble *trouble)
{
    jpeg_std_error(&trouble->base);
    trouble->base.error_exit = jump_back;
    trouble->base.output_message = stay_quiet;
}

static int exif_orientation(const struct jpeg_decompress_struct *jpeg)
{
    for (jpeg_saved_marker_ptr marker = jpeg->marker_list; marker != NULL; marker = marker->next) {
        if (marker->marker != JPEG_APP0 + 1 || marker->data_length < 6 || memcmp(marker->data, "Exif\0\0", 6) != 0)
            continue;
        ExifData *data = exif_data_new_from_data(marker->data, marker->data_length);
        if (data == NULL)
            return 1;
        ExifEntry *entry = exif_data_get_entry(data, EXIF_TAG_ORIENTATION);
        int value = 1;
        if (entry != NULL && entry->format == EXIF_FORMAT_SHORT && entry->components == 1)
            value = exif_get_short(entry->data, exif_data_get_byte_order(data));
        exif_data_unref(data);
        return value >= 1 && value <= 8 ? value : 1;
    }
    return 1;
}

static cw_status look_at_jpeg(FILE *file, const char *path, cw_print_photo *photo, cw_error *err)
{
    jpeg_trouble trouble = {0};
    struct jpeg_decompress_struct jpeg = {0};
    set_handlers(&trouble);
    jpeg.err = &trouble.base;
    if (setjmp(trouble.back) != 0) {
        jpeg_destroy_decompress(&jpeg);
        return cw_fail(err, CW_INPUT, "the photo \"%s\" cannot be read: %s", path, trouble.text);
    }
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_save_markers(&jpeg, JPEG_APP0 + 1, 0xffff);
    jpeg_read_header(&jpeg, TRUE);
    cw_print_photo found = {.orientation = exif_orientation(&jpeg)};
    bool lying = found.orientation >= 5;
    found.width = (int)(lying ? jpeg.image_height : jpeg.image_width);
    found.height = (int)(lying ? jpeg.image_width : jpeg.image_height);
    jpeg_destroy_decompress(&jpeg);
    *photo = found;
    return CW_OK;
}

/* PNG: signature, then the head's length and name, width and height, big-endian (ISO/IEC 15948, 11.2.2). */
static bool look_at_png(const unsigned char *head, size_t count, cw_print_photo *photo)
{
    static const unsigned char signature[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    if (count < 24 || memcmp(head, signature, sizeof signature) != 0)
        return false;
    unsigned size[2];
    for (int i = 0; i < 2; i++) {
        const unsigned char *b = head + 16 + 4 * i;
        size[i] = (unsigned)b[0] << 24 | (unsigned)b[1] << 16 | (unsigned)b[2] << 8 | b[3];
    }
    bool possible = size[0] > 0 && size[1] > 0 && size[0] < 100000 && size[1] < 100000;
    *photo = (cw_print_photo){
        .width = possible ? (int)size[0] : 0, .height = possible ? (int)size[1] : 0, .orientation = 1, .is_png = true};
    return true;
}

cw_status cw_print_photo_look(const char *path, cw_print_photo *photo, cw_error *err)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return cw_fail(err, CW_FILE, "the photo \"%s\" cannot be opened: %s", path, strerror(errno));
    unsigned char head[24];
    size_t count = fread(head, 1, sizeof head, file);
    cw_status status = CW_OK;
    if (count >= 2 && head[0] == 0xff && head[1] == 0xd8) {
        rewind(file);
        status = look_at_jpeg(file, path, photo, err);
    } else if (!look_at_png(head, count, photo)) {
        status = cw_fail(err, CW_INPUT, "\"%s\" is neither a JPEG nor a PNG photo", path);
    }
    fclose(file);
    if (status == CW_OK &&
        !(photo->width > 0 && photo->height > 0 && (double)photo->width * photo->height <= DOTS_MOST))
        status = cw_fail(err, CW_INPUT, "the photo \"%s\" has an impossible size of %d x %d dots", path, photo->width,
                         photo->height);
    return status;
}

/* Rows of RGB into cairo's native-endian 0x00RRGGBB. */
static void store_row(cairo_surface_t *surface, unsigned row, const unsigned char *rgb)
{
    unsigned char *to =
        cairo_image_surface_get_data(surface) + (size_t)row * (size_t)cairo_image_surface_get_stride(surface);
    int width = cairo_image_surface_get_width(surface);
    for (int x = 0; x < width; x++) {
        uint32_t dot = (uint32_t)rgb[3 * x] << 16 | (uint32_t)rgb[3 * x + 1] << 8 | rgb[3 * x + 2];
        memcpy(to + 4 * (size_t)x, &dot, sizeof dot);
    }
}

/* Decodes at the smallest eighth of the size that still has `width_dots` across. */
static cw_status decode_jpeg(FILE *file, const char *path, const cw_print_photo *photo, int width_dots,
                             cairo_surface_t *volatile *surface, cw_error *err)
{
    jpeg_trouble trouble = {0};
    struct jpeg_decompress_struct jpeg = {0};
    unsigned char *volatile row = NULL;
    set_handlers(&trouble);
    jpeg.err = &trouble.base;
    if (setjmp(trouble.back) != 0) {
        jpeg_destroy_decompress(&jpeg);
        free(row);
        return cw_fail(err, CW_INPUT, "the photo \"%s\" cannot be read: %s", path, trouble.text);
    }
    jpeg_create_decompress(&jpeg);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg.scale_denom = 8;
    jpeg.scale_num = (unsigned)fmin(8, fmax(1, ceil(8.0 * width_dots / photo->width)));
    jpeg_start_decompress(&jpeg);
    *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)jpeg.output_width, (int)jpeg.output_height);
    row = malloc((size_t)jpeg.output_width * 3);
    if (row == NULL || cairo_surface_status(*surface) != CAIRO_STATUS_SUCCESS) {
        jpeg_destroy_decompress(&jpeg);
        free(row);
        return cw_fail(err, CW_MEMORY, "no memory for the photo \"%s\"", path);
    }
    cairo_surface_flush(*surface);
    while (jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW rows[] = {row};
        unsigned at = jpeg.output_scanline;
        if (jpeg_read_scanlines(&jpeg, rows, 1) == 1)
            store_row(*surface, at, row);
    }
    cairo_surface_mark_dirty(*surface);
    long warnings = trouble.base.num_warnings;
    jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    free(row);
    if (warnings > 0)
        return cw_fail(err, CW_INPUT, "the photo \"%s\" is damaged or cut short", path);
    return CW_OK;
}

static cw_status decode(const char *path, const cw_print_photo *photo, int width_dots,
                        cairo_surface_t *volatile *surface, cw_error *err)
{
    if (photo->is_png) {
        *surface = cairo_image_surface_create_from_png(path);
        cairo_status_t result = cairo_surface_status(*surface);
        if (result != CAIRO_STATUS_SUCCESS)
            return cw_fail(err, CW_INPUT, "the photo \"%s\" cannot be read: %s", path, cairo_status_to_string(result));
        return CW_OK;
    }
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return cw_fail(err, CW_FILE, "the photo \"%s\" cannot be opened: %s", path, strerror(errno));
    cw_status status = decode_jpeg(file, path, photo, width_dots, surface, err);
    fclose(file);
    return status;
}

/* The eight ways a camera may have been held: x' = a x + c y, y' = b x + d y about the middle (Exif 2.32, tag 274). */
static const double turns[9][4] = {{1, 0, 0, 1}, {1, 0, 0, 1},  {-1, 0, 0, 1},  {-1, 0, 0, -1}, {1, 0, 0, -1},
                                   {0, 1, 1, 0}, {0, 1, -1, 0}, {0, -1, -1, 0}, {0, -1, 1, 0}};

/* A copy turned upright, scaled to `width` x `height`. */
static cairo_surface_t *upright(cairo_surface_t *from, int orientation, int width, int height)
{
    cairo_surface_t *to = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    cairo_t *cr = cairo_create(to);
    cairo_set_source_rgb(cr, 1, 1, 1); /* under a PNG with holes */
    cairo_paint(cr);
    double w = cairo_image_surface_get_width(from), h = cairo_image_surface_get_height(from);
    const double *t = turns[orientation];
    cairo_matrix_t turn;
    cairo_matrix_init(&turn, t[0], t[1], t[2], t[3], 0, 0);
    bool lying = orientation >= 5;
    cairo_translate(cr, width / 2.0, height / 2.0);
    cairo_scale(cr, width / (lying ? h : w), height / (lying ? w : h));
    cairo_transform(cr, &turn);
    cairo_set_source_surface(cr, from, -w / 2, -h / 2);
    cairo_pattern_set_filter(cairo_get_source(cr), CAIRO_FILTER_GOOD);
    cairo_pattern_set_extend(cairo_get_source(cr), CAIRO_EXTEND_PAD);
    cairo_rectangle(cr, -w / 2, -h / 2, w, h);
    cairo_fill(cr);
    cairo_destroy(cr);
    cairo_surface_flush(to);
    return to;
}

/* Attaches the picture as JPEG, which a PDF surface stores as it is. */
static cw_status attach_jpeg(cairo_surface_t *surface, const char *path, cw_error *err)
{
    jpeg_trouble trouble = {0};
    struct jpeg_compress_struct jpeg = {0};
    unsigned char *bytes = NULL, *volatile row = NULL;
    unsigned long count = 0;
    set_handlers(&trouble);
    jpeg.err = &trouble.base;
    int width = cairo_image_surface_get_width(surface), height = cairo_image_surface_get_height(surface);
    if (setjmp(trouble.back) != 0) {
        jpeg_destroy_compress(&jpeg);
        free(row);
        free(bytes);
        return cw_fail(err, CW_MEMORY, "packing the photo \"%s\" failed: %s", path, trouble.text);
    }
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &count);
    jpeg.image_width = (unsigned)width;
    jpeg.image_height = (unsigned)height;
    jpeg.input_components = 3;
    jpeg.in_color_space = JCS_RGB;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 85, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    row = malloc((size_t)width * 3);
    for (int y = 0; row != NULL && y < height; y++) {
        const unsigned char *from =
            cairo_image_surface_get_data(surface) + (size_t)y * (size_t)cairo_image_surface_get_stride(surface);
        for (int x = 0; x < width; x++) {
            uint32_t dot;
            memcpy(&dot, from + 4 * (size_t)x, sizeof dot);
            row[3 * x] = (unsigned char)(dot >> 16);
            row[3 * x + 1] = (unsigned char)(dot >> 8);
            row[3 * x + 2] = (unsigned char)dot;
        }
        JSAMPROW rows[] = {row};
        jpeg_write_scanlines(&jpeg, rows, 1);
    }
    if (row != NULL)
        jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    bool done = row != NULL && cairo_surface_set_mime_data(surface, CAIRO_MIME_TYPE_JPEG, bytes, count, free, bytes) ==
                                   CAIRO_STATUS_SUCCESS;
    free(row);
    if (!done) {
        free(bytes);
        return cw_fail(err, CW_MEMORY, "no memory for the photo \"%s\"", path);
    }
    return CW_OK;
}

cw_status cw_print_photo_load(const char *path, const cw_print_photo *photo, int width_dots, cairo_surface_t **surface,
                              cw_error *err)
{
    cairo_surface_t *volatile decoded = NULL;
    int width = width_dots < photo->width ? width_dots : photo->width;
    width = width > 1 ? width : 1;
    int height = (int)fmax(1, round((double)width * photo->height / photo->width));
    cw_status status = decode(path, photo, width, &decoded, err);
    cairo_surface_t *made = NULL;
    if (status == CW_OK) {
        made = upright(decoded, photo->orientation, width, height);
        if (cairo_surface_status(made) != CAIRO_STATUS_SUCCESS)
            status = cw_fail(err, CW_MEMORY, "no memory for the photo \"%s\"", path);
        else
            status = attach_jpeg(made, path, err);
    }
    if (decoded != NULL)
        cairo_surface_destroy(decoded);
    if (status != CW_OK) {
        if (made != NULL)
            cairo_surface_destroy(made);
        return status;
    }
    *surface = made;
    return CW_OK;
}
