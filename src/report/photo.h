/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photographs for paper: JPEG (turned upright by EXIF) and PNG, brought down to what the paper can show. */
#ifndef CW_REPORT_PHOTO_H
#define CW_REPORT_PHOTO_H

#include <cairo.h>
#include <stdbool.h>

#include "base/error.h"

typedef struct {
    int width, height; /* upright, in dots */
    int orientation;   /* EXIF 1 to 8; 1 where not said */
    bool is_png;
} cw_print_photo;

/* Reads the head of the file only. CW_INPUT: neither JPEG nor PNG, damaged, or over 200 million dots; CW_FILE. */
cw_status cw_print_photo_look(const char *path, cw_print_photo *photo, cw_error *err)
    __attribute__((warn_unused_result));

/* The picture upright, no wider than needed for `width_dots` across; when painted on a PDF it is stored as JPEG,
 * without any of the file's own metadata. The caller destroys *surface. A file cut short gives CW_INPUT. */
cw_status cw_print_photo_load(const char *path, const cw_print_photo *photo, int width_dots, cairo_surface_t **surface,
                              cw_error *err) __attribute__((warn_unused_result));

#endif
