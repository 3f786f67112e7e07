/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/picture.h"

#include <libexif/exif-data.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

enum {
    JPEG_SOI = 0xd8,
    JPEG_EOI = 0xd9,
    JPEG_SOS = 0xda,
    JPEG_APP1 = 0xe1,
    JPEG_SOF0 = 0xc0,
    JPEG_SOF1 = 0xc1,
    JPEG_SOF2 = 0xc2,
    JPEG_DHT = 0xc4,
    JPEG_JPG = 0xc8,
    JPEG_SOF9 = 0xc9,
    JPEG_SOF10 = 0xca,
    JPEG_DAC = 0xcc
};

static uint32_t big16(const unsigned char *b)
{
    return (uint32_t)b[0] << 8 | b[1];
}

static uint32_t big32(const unsigned char *b)
{
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

static cw_status cut_off(cw_error *err)
{
    return cw_fail(err, CW_INPUT, "the picture is cut off: the file ends before the picture does. Send it again");
}

/* ---- EXIF ---- */

static int read_orientation(ExifData *exif)
{
    ExifEntry *entry = exif_content_get_entry(exif->ifd[EXIF_IFD_0], EXIF_TAG_ORIENTATION);
    if (entry == NULL || entry->format != EXIF_FORMAT_SHORT || entry->components < 1 || entry->size < 2)
        return 1;
    int value = exif_get_short(entry->data, exif_data_get_byte_order(exif));
    return value >= 1 && value <= 8 ? value : 1;
}

/* "2026:11:25 09:00:21" into "2026-11-25T09:00:21"; anything else is not known. */
static void read_taken_at(ExifData *exif, char out[20])
{
    static const char pattern[] = "0000:00:00 00:00:00";
    ExifEntry *entry = exif_content_get_entry(exif->ifd[EXIF_IFD_EXIF], EXIF_TAG_DATE_TIME_ORIGINAL);
    if (entry == NULL)
        entry = exif_content_get_entry(exif->ifd[EXIF_IFD_0], EXIF_TAG_DATE_TIME);
    if (entry == NULL || entry->format != EXIF_FORMAT_ASCII || entry->size < 19)
        return;
    for (int i = 0; i < 19; i++) {
        char c = (char)entry->data[i];
        bool fits = pattern[i] == '0' ? c >= '0' && c <= '9' : c == pattern[i];
        if (!fits)
            return;
    }
    memcpy(out, entry->data, 19);
    out[4] = out[7] = '-';
    out[10] = 'T';
    out[19] = '\0';
}

/* `exif` starts with "Exif\0\0". What cannot be read leaves the picture upright and undated, no more. */
static void read_exif(const unsigned char *exif, size_t size, picture_info *info)
{
    ExifData *data = exif_data_new_from_data(exif, (unsigned int)size);
    if (data == NULL)
        return;
    info->orientation = read_orientation(data);
    read_taken_at(data, info->taken_at);
    exif_data_unref(data);
}

/* ---- JPEG ---- */

static bool stands_alone(int marker)
{
    return marker == 0x01 || (marker >= 0xd0 && marker <= 0xd9);
}

/* Behind the compressed data of a scan: the first FF that is neither stuffed, nor a restart mark, nor fill. */
static size_t scan_end(const unsigned char *bytes, size_t size, size_t at)
{
    while (at + 1 < size) {
        const unsigned char *found = memchr(bytes + at, 0xff, size - at - 1);
        if (found == NULL)
            return size;
        at = (size_t)(found - bytes);
        int next = bytes[at + 1];
        if (next != 0x00 && next != 0xff && !(next >= 0xd0 && next <= 0xd7))
            return at;
        at += next == 0xff ? 1 : 2;
    }
    return size;
}

cw_status picture_segment_at(const unsigned char *bytes, size_t size, size_t at, picture_segment *segment, bool *last,
                             cw_error *err)
{
    size_t mark = at;
    if (at >= size)
        return cut_off(err);
    if (bytes[at] != 0xff)
        return cw_fail(err, CW_INPUT, "the picture is damaged: byte %zu of the JPEG should start a segment", at);
    while (mark < size && bytes[mark] == 0xff)
        mark++;
    if (mark >= size)
        return cut_off(err);
    *segment = (picture_segment){.marker = bytes[mark], .at = at, .data = mark + 1, .end = mark + 1};
    *last = segment->marker == JPEG_EOI;
    if (segment->marker == 0)
        return cw_fail(err, CW_INPUT, "the picture is damaged: byte %zu of the JPEG should start a segment", at);
    if (stands_alone(segment->marker))
        return CW_OK;
    if (size - segment->data < 2)
        return cut_off(err);
    size_t length = big16(bytes + segment->data);
    if (length < 2)
        return cw_fail(err, CW_INPUT, "the picture is damaged: the JPEG segment at byte %zu has no length", at);
    if (length > size - segment->data)
        return cut_off(err);
    segment->length = length - 2;
    segment->end = segment->data + length;
    segment->data += 2;
    if (segment->marker == JPEG_SOS)
        segment->end = scan_end(bytes, size, segment->end);
    return CW_OK;
}

static cw_status check_size(int64_t width, int64_t height, bool whole, cw_error *err)
{
    int64_t most = whole ? PICTURE_PIXELS_WHOLE_MOST : PICTURE_PIXELS_MOST;
    if (width < 1 || height < 1)
        return cw_fail(err, CW_INPUT, "the picture is damaged: it says it is %lld x %lld pixels", (long long)width,
                       (long long)height);
    if (width > most / height)
        return cw_fail(err, CW_INPUT, "the picture has %lld x %lld pixels; %lld million is the most for this kind",
                       (long long)width, (long long)height, (long long)(most / 1000000));
    return CW_OK;
}

static cw_status read_frame(const unsigned char *bytes, const picture_segment *segment, picture_info *info,
                            cw_error *err)
{
    const unsigned char *frame = bytes + segment->data;
    int marker = segment->marker;
    if (marker != JPEG_SOF0 && marker != JPEG_SOF1 && marker != JPEG_SOF2 && marker != JPEG_SOF9 &&
        marker != JPEG_SOF10)
        return cw_fail(err, CW_INPUT, "this kind of JPEG (frame type %d) cannot be shown; save it as a usual JPEG",
                       marker - JPEG_SOF0);
    if (segment->length < 6 || frame[0] != 8 || segment->length < 6 + (size_t)frame[5] * 3)
        return cw_fail(err, CW_INPUT, "the picture is damaged, or not a JPEG of 8 bits a colour");
    info->height_px = big16(frame + 1);
    info->width_px = big16(frame + 3);
    return check_size(info->width_px, info->height_px, marker == JPEG_SOF2 || marker == JPEG_SOF10, err);
}

static bool is_frame(int marker)
{
    return marker >= JPEG_SOF0 && marker <= 0xcf && marker != JPEG_DHT && marker != JPEG_JPG && marker != JPEG_DAC;
}

static cw_status inspect_jpeg(const unsigned char *bytes, size_t size, picture_info *info, cw_error *err)
{
    bool last = false, scanned = false, has_exif = false;
    for (size_t at = 2; !last;) {
        picture_segment segment;
        CW_TRY(picture_segment_at(bytes, size, at, &segment, &last, err));
        const unsigned char *data = bytes + segment.data;
        if (is_frame(segment.marker) && info->width_px == 0)
            CW_TRY(read_frame(bytes, &segment, info, err));
        if (segment.marker == JPEG_APP1 && segment.length >= 14 && memcmp(data, "Exif\0", 6) == 0 && !has_exif) {
            read_exif(data, segment.length, info);
            has_exif = true;
        }
        scanned |= segment.marker == JPEG_SOS;
        at = segment.end;
    }
    if (info->width_px == 0 || !scanned)
        return cw_fail(err, CW_INPUT, "the picture is damaged: the JPEG holds no picture");
    return CW_OK;
}

/* ---- PNG ---- */

/* A PNG holds the bare TIFF structure; libexif wants the name in front of it that a JPEG has. */
static void read_png_exif(const unsigned char *data, size_t length, picture_info *info)
{
    static const unsigned char name[6] = "Exif\0";
    if (length < 8 || length > 65000)
        return;
    unsigned char *exif = malloc(sizeof name + length);
    if (exif == NULL)
        return;
    memcpy(exif, name, sizeof name);
    memcpy(exif + sizeof name, data, length);
    read_exif(exif, sizeof name + length, info);
    free(exif);
}

static cw_status inspect_png(const unsigned char *bytes, size_t size, picture_info *info, cw_error *err)
{
    bool has_data = false;
    for (size_t at = 8;;) {
        if (size - at < 12)
            return cut_off(err);
        size_t length = big32(bytes + at);
        const unsigned char *type = bytes + at + 4, *data = type + 4;
        if (length > size - at - 12)
            return cut_off(err);
        if (crc32(0, type, (uInt)length + 4) != big32(data + length))
            return cw_fail(err, CW_INPUT, "the picture is damaged: the checksum of the PNG part at byte %zu is wrong",
                           at);
        if (at == 8 && (memcmp(type, "IHDR", 4) != 0 || length != 13))
            return cw_fail(err, CW_INPUT, "the picture is damaged: the PNG does not begin with its header");
        if (at == 8) {
            info->width_px = big32(data);
            info->height_px = big32(data + 4);
            CW_TRY(check_size(info->width_px, info->height_px, true, err));
        }
        has_data |= memcmp(type, "IDAT", 4) == 0;
        if (memcmp(type, "eXIf", 4) == 0)
            read_png_exif(data, length, info);
        if (memcmp(type, "IEND", 4) == 0)
            break;
        at += length + 12;
    }
    if (!has_data)
        return cw_fail(err, CW_INPUT, "the picture is damaged: the PNG holds no picture");
    return CW_OK;
}

/* ---- which kind ---- */

static cw_status refuse_other_kind(const unsigned char *bytes, size_t size, cw_error *err)
{
    static const char *const phone[] = {"heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1", "avif"};
    if (size >= 12 && memcmp(bytes + 4, "ftyp", 4) == 0) {
        for (size_t i = 0; i < CW_COUNT(phone); i++)
            if (memcmp(bytes + 8, phone[i], 4) == 0)
                return cw_fail(
                    err, CW_INPUT,
                    "this is a HEIC or AVIF picture, which cannot be shown here; set the phone's camera to JPEG "
                    "(often called \"most compatible\"), or share it as JPEG");
        return cw_fail(err, CW_INPUT, "this is a video, not a photo; take a JPEG or PNG");
    }
    if (size >= 4 && (memcmp(bytes, "II*", 4) == 0 || memcmp(bytes, "MM\0*", 4) == 0))
        return cw_fail(err, CW_INPUT, "this is a TIFF or raw photo; save it as JPEG first");
    if (size == 0)
        return cw_fail(err, CW_INPUT, "the file is empty");
    return cw_fail(err, CW_INPUT, "this is neither a JPEG nor a PNG by its content, whatever its name says");
}

cw_status picture_inspect(const unsigned char *bytes, size_t size, picture_info *info, cw_error *err)
{
    static const unsigned char png[] = {0x89, 'P', 'N', 'G', '\r', '\n', 0x1a, '\n'};
    picture_info found = {.orientation = 1};
    if (size >= 3 && bytes[0] == 0xff && bytes[1] == JPEG_SOI && bytes[2] == 0xff) {
        CW_TRY(inspect_jpeg(bytes, size, &found, err));
    } else if (size >= sizeof png && memcmp(bytes, png, sizeof png) == 0) {
        found.png = true;
        CW_TRY(inspect_png(bytes, size, &found, err));
    } else {
        return refuse_other_kind(bytes, size, err);
    }
    if (found.orientation >= 5) {
        int64_t width = found.width_px;
        found.width_px = found.height_px;
        found.height_px = width;
    }
    *info = found;
    return CW_OK;
}
