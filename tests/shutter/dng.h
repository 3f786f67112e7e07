/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Raw photographs for tests: a DNG written with libtiff (the published DNG 1.4 tags), four different black levels. */
#ifndef CW_TESTS_SHUTTER_DNG_H
#define CW_TESTS_SHUTTER_DNG_H

#include <stdint.h>
#include <tiffio.h>

#include "support/check.h"

typedef struct {
    uint32_t width, height;
    double exposure_s, f_number; /* EXIF; 0: left out */
    uint16_t iso;
    const char *camera;
    uint16_t white;
    float black[4]; /* of the 2 x 2 pattern RG/GB */
} dng_look;

static inline void dng_write(const char *path, const dng_look *look, const uint16_t *pixels)
{
    static const uint8_t version[4] = {1, 4, 0, 0};
    static const float matrix[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1}, neutral[3] = {1, 1, 1};
    static const uint16_t two[2] = {2, 2};
    TIFF *t = TIFFOpen(path, "w");
    assert_non_null(t);
    TIFFSetField(t, TIFFTAG_IMAGEWIDTH, look->width);
    TIFFSetField(t, TIFFTAG_IMAGELENGTH, look->height);
    TIFFSetField(t, TIFFTAG_BITSPERSAMPLE, 16);
    TIFFSetField(t, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(t, TIFFTAG_ROWSPERSTRIP, look->height);
    TIFFSetField(t, TIFFTAG_COMPRESSION, COMPRESSION_NONE);
    TIFFSetField(t, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_CFA);
    TIFFSetField(t, TIFFTAG_PLANARCONFIG, PLANARCONFIG_CONTIG);
    TIFFSetField(t, TIFFTAG_SUBFILETYPE, 0);
    TIFFSetField(t, TIFFTAG_MAKE, "Test");
    TIFFSetField(t, TIFFTAG_MODEL, look->camera);
    TIFFSetField(t, TIFFTAG_UNIQUECAMERAMODEL, look->camera);
    TIFFSetField(t, TIFFTAG_DNGVERSION, version);
    TIFFSetField(t, TIFFTAG_DNGBACKWARDVERSION, version);
    TIFFSetField(t, TIFFTAG_CFAREPEATPATTERNDIM, two);
    TIFFSetField(t, TIFFTAG_CFAPATTERN, 4, "\0\1\1\2");
    TIFFSetField(t, TIFFTAG_COLORMATRIX1, 9, matrix);
    TIFFSetField(t, TIFFTAG_ASSHOTNEUTRAL, 3, neutral);
    TIFFSetField(t, TIFFTAG_CALIBRATIONILLUMINANT1, 21);
    TIFFSetField(t, TIFFTAG_BLACKLEVELREPEATDIM, two);
    TIFFSetField(t, TIFFTAG_BLACKLEVEL, 4, look->black);
    uint32_t white = look->white;
    TIFFSetField(t, TIFFTAG_WHITELEVEL, 1, &white);
    for (uint32_t y = 0; y < look->height; y++)
        assert_int_equal(TIFFWriteScanline(t, (void *)(uintptr_t)(pixels + (size_t)y * look->width), y, 0), 1);
    TIFFWriteDirectory(t);
    uint64_t exif = 0;
    TIFFCreateEXIFDirectory(t);
    if (look->exposure_s > 0)
        TIFFSetField(t, EXIFTAG_EXPOSURETIME, look->exposure_s);
    if (look->f_number > 0)
        TIFFSetField(t, EXIFTAG_FNUMBER, look->f_number);
    if (look->iso > 0)
        TIFFSetField(t, EXIFTAG_ISOSPEEDRATINGS, 1, &look->iso);
    TIFFWriteCustomDirectory(t, &exif);
    TIFFSetDirectory(t, 0);
    TIFFSetField(t, TIFFTAG_EXIFIFD, exif);
    TIFFRewriteDirectory(t);
    TIFFClose(t);
}

#endif
