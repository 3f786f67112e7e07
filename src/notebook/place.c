/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Taking the place out of a picture. EXIF is a TIFF structure full of offsets, some known only to the phone that wrote
 * them: nothing in it is moved. The GPS directory is filled with zeros where it lies and its entry is closed up. */
#include <string.h>
#include <zlib.h>

#include "notebook/picture.h"

/* ---- TIFF 6.0, section 2: header, directories of 12-byte entries ---- */

typedef struct {
    unsigned char *bytes;
    size_t size;
    bool big;
} tiff;

enum { TAG_EXIF = 0x8769, TAG_GPS = 0x8825, ENTRY = 12, DIRECTORIES_MOST = 8 };

static uint32_t get(const tiff *t, size_t at, int count)
{
    uint32_t value = 0;
    for (int i = 0; i < count; i++)
        value = value << 8 | t->bytes[at + (size_t)(t->big ? i : count - 1 - i)];
    return value;
}

static void put16(const tiff *t, size_t at, uint32_t value)
{
    t->bytes[at + (t->big ? 0 : 1)] = (unsigned char)(value >> 8);
    t->bytes[at + (t->big ? 1 : 0)] = (unsigned char)value;
}

/* Entries of the directory at `at` that lie inside; 0 when there is none. */
static size_t entries_at(const tiff *t, size_t at)
{
    if (at < 8 || at > t->size || t->size - at < 2)
        return 0;
    size_t count = get(t, at, 2), room = (t->size - at - 2) / ENTRY;
    return count < room ? count : room;
}

/* TIFF 6.0, section 2, "types": bytes a value of each takes. */
static size_t type_size(uint32_t type)
{
    static const unsigned char sizes[] = {0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8};
    return type < sizeof sizes ? sizes[type] : 0;
}

static void wipe_directory(const tiff *t, size_t at)
{
    size_t count = entries_at(t, at);
    for (size_t i = 0; i < count; i++) {
        size_t entry = at + 2 + i * ENTRY;
        uint64_t length = (uint64_t)type_size(get(t, entry + 2, 2)) * get(t, entry + 4, 4);
        size_t value = get(t, entry + 8, 4);
        if (length > 4 && value < t->size)
            memset(t->bytes + value, 0, length < t->size - value ? (size_t)length : t->size - value);
    }
    if (count > 0)
        memset(t->bytes + at, 0, 2 + count * ENTRY);
}

/* Takes the GPS entries of one directory out: wipes what they point to and closes up the directory, its link to the
 * next one included. */
static bool close_up(const tiff *t, size_t at)
{
    bool found = false;
    size_t count = entries_at(t, at);
    for (size_t i = 0; i < count;) {
        size_t entry = at + 2 + i * ENTRY, rest = at + 2 + count * ENTRY + 4;
        if (get(t, entry, 2) != TAG_GPS) {
            i++;
            continue;
        }
        found = true;
        size_t target = get(t, entry + 8, 4);
        bool overlaps = target < rest && target + 2 + entries_at(t, target) * ENTRY > at;
        if (!overlaps)
            wipe_directory(t, target);
        rest = rest < t->size ? rest : t->size;
        memmove(t->bytes + entry, t->bytes + entry + ENTRY, rest - entry - ENTRY);
        memset(t->bytes + rest - ENTRY, 0, ENTRY);
        put16(t, at, (uint32_t)--count);
    }
    return found;
}

static size_t exif_directory(const tiff *t, size_t at)
{
    size_t count = entries_at(t, at);
    for (size_t i = 0; i < count; i++)
        if (get(t, at + 2 + i * ENTRY, 2) == TAG_EXIF)
            return get(t, at + 2 + i * ENTRY + 8, 4);
    return 0;
}

bool picture_wipe_gps(unsigned char *bytes, size_t size)
{
    tiff t = {bytes, size, size > 0 && bytes[0] == 'M'};
    if (size < 8 || (memcmp(bytes, "II*", 4) != 0 && memcmp(bytes, "MM\0*", 4) != 0))
        return false;
    bool found = false;
    size_t at = get(&t, 4, 4);
    for (int i = 0; i < DIRECTORIES_MOST && entries_at(&t, at) > 0; i++) {
        found |= close_up(&t, at);
        found |= close_up(&t, exif_directory(&t, at));
        size_t link = at + 2 + entries_at(&t, at) * ENTRY;
        at = link + 4 <= size ? get(&t, link, 4) : 0;
    }
    return found;
}

/* ---- texts that speak of a place: XMP is XML, "exif:GPSLatitude" and the like; IPTC city fields within XMP ---- */

static bool speaks_of_place(const unsigned char *data, size_t size)
{
    static const char *const words[] = {"GPS", "Location", "photoshop:City", "photoshop:Country"};
    for (size_t i = 0; i < CW_COUNT(words); i++)
        if (memmem(data, size, words[i], strlen(words[i])) != NULL)
            return true;
    return false;
}

/* ---- JPEG ---- */

static const char xmp_name[] = "http://ns.adobe.com/x";

/* What becomes of one segment: kept, dropped, or kept with its GPS wiped. */
static bool add_segment(const unsigned char *bytes, const picture_segment *segment, bool drop_pointers, cw_buf *out)
{
    const unsigned char *data = bytes + segment->data;
    size_t start = out->length;
    bool app1 = segment->marker == 0xe1;
    if (app1 && segment->length >= sizeof xmp_name && memcmp(data, xmp_name, sizeof xmp_name - 1) == 0 &&
        speaks_of_place(data, segment->length))
        return true;
    if (drop_pointers && segment->marker == 0xe2 && segment->length >= 4 && memcmp(data, "MPF", 4) == 0)
        return true;
    cw_buf_add(out, (const char *)bytes + segment->at, segment->end - segment->at);
    if (!app1 || segment->length < 14 || memcmp(data, "Exif\0", 6) != 0 || out->failed)
        return false;
    return picture_wipe_gps((unsigned char *)out->text + start + (segment->data - segment->at) + 6,
                            segment->length - 6);
}

/* Behind the end-of-image mark: zeros and line ends are padding, anything else may be a video or a second picture. */
static bool has_tail(const unsigned char *bytes, size_t size, size_t at)
{
    for (; at < size; at++)
        if (bytes[at] != 0 && bytes[at] != '\n' && bytes[at] != '\r' && bytes[at] != 0xff)
            return true;
    return false;
}

/* The end of the picture proper. */
static cw_status jpeg_end(const unsigned char *bytes, size_t size, size_t *end, cw_error *err)
{
    bool last = false;
    picture_segment segment = {.end = 2};
    while (!last)
        CW_TRY(picture_segment_at(bytes, size, segment.end, &segment, &last, err));
    *end = segment.end;
    return CW_OK;
}

static cw_status jpeg_without_place(const unsigned char *bytes, size_t size, cw_buf *out, bool *changed, cw_error *err)
{
    size_t end;
    CW_TRY(jpeg_end(bytes, size, &end, err));
    bool tail = has_tail(bytes, size, end), last = false;
    *changed = tail;
    cw_buf_add(out, (const char *)bytes, 2);
    for (size_t at = 2; !last;) {
        picture_segment segment;
        CW_TRY(picture_segment_at(bytes, size, at, &segment, &last, err));
        *changed |= add_segment(bytes, &segment, tail, out);
        at = segment.end;
    }
    return CW_OK;
}

/* ---- PNG ---- */

static uint32_t png_length(const unsigned char *b)
{
    return (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
}

/* Text chunks that carry EXIF or XMP as text. */
static bool is_metadata_text(const unsigned char *type, const unsigned char *data, size_t length)
{
    bool text = memcmp(type, "tEXt", 4) == 0 || memcmp(type, "zTXt", 4) == 0 || memcmp(type, "iTXt", 4) == 0;
    if (!text)
        return false;
    bool raw = length >= 16 && memcmp(data, "Raw profile type", 16) == 0;
    bool xmp = length >= 17 && memcmp(data, "XML:com.adobe.xmp", 17) == 0;
    return raw || (xmp && (type[0] == 'z' || speaks_of_place(data, length) || (length > 18 && data[18] != 0))) ||
           speaks_of_place(data, length);
}

static cw_status png_without_place(const unsigned char *bytes, size_t size, cw_buf *out, bool *changed, cw_error *err)
{
    *changed = false;
    cw_buf_add(out, (const char *)bytes, 8);
    for (size_t at = 8; at < size;) {
        size_t length = size - at < 12 ? SIZE_MAX : png_length(bytes + at);
        if (length == SIZE_MAX || length > size - at - 12)
            return cw_fail(err, CW_INPUT, "the picture is cut off: the file ends before the picture does");
        const unsigned char *type = bytes + at + 4;
        bool drop = is_metadata_text(type, type + 4, length), end = memcmp(type, "IEND", 4) == 0;
        size_t start = out->length;
        if (!drop)
            cw_buf_add(out, (const char *)bytes + at, length + 12);
        if (memcmp(type, "eXIf", 4) == 0 && !out->failed) {
            unsigned char *copy = (unsigned char *)out->text + start + 4;
            if (picture_wipe_gps(copy + 4, length)) {
                uint32_t sum = (uint32_t)crc32(0, copy, (uInt)length + 4);
                for (int i = 0; i < 4; i++)
                    copy[4 + length + (size_t)i] = (unsigned char)(sum >> (24 - 8 * i));
                *changed = true;
            }
        }
        *changed |= drop;
        at += length + 12;
        if (end) {
            *changed |= at < size;
            return CW_OK;
        }
    }
    return CW_OK;
}

cw_status picture_without_place(const unsigned char *bytes, size_t size, cw_buf *out, cw_error *err)
{
    bool changed;
    if (size < 8)
        return cw_fail(err, CW_INPUT, "this is no picture");
    CW_TRY(bytes[0] == 0xff ? jpeg_without_place(bytes, size, out, &changed, err)
                            : png_without_place(bytes, size, out, &changed, err));
    CW_TRY(cw_buf_check(out, "a picture", err));
    if (!changed)
        cw_buf_free(out);
    return CW_OK;
}
