/* SPDX-License-Identifier: GPL-3.0-or-later */
/* libsndfile reads a cut-off file as if the rest had never been, and a file whose recorder stopped without a word as
 * empty; so the lengths in the header are looked at here. Forms: RIFF WAVE; EBU Tech 3306 (RF64) and ITU-R BS.2088
 * (BW64); W64, AIFF, AU and CAF by their published descriptions. */
#include "signal/sound_header.h"

#include <stdlib.h>
#include <string.h>

enum { CHUNKS_MOST = 10000 };
static const double RATE_MOST = 100e6;

/* What a walk through the chunks found. */
typedef struct {
    uint64_t promised, there; /* bytes of samples */
    uint64_t size_at;         /* where the promise stands, in four bytes; 0: elsewhere */
    bool found, unknown;      /* the data chunk; a length that was never written */
} extent;

static uint64_t number(const unsigned char *bytes, size_t count, bool big)
{
    uint64_t sum = 0;
    for (size_t i = 0; i < count; i++)
        sum = sum << 8 | bytes[big ? i : count - 1 - i];
    return sum;
}

static bool read_at(FILE *file, uint64_t at, unsigned char *bytes, size_t count)
{
    return at <= INT64_MAX && fseeko(file, (off_t)at, SEEK_SET) == 0 && fread(bytes, 1, count, file) == count;
}

static bool begins(const cw_file_head *head, size_t at, const char *magic)
{
    size_t n = strlen(magic);
    return head->count >= at + n && memcmp(head->bytes + at, magic, n) == 0;
}

/* Channels, rate and depth of a "fmt " chunk, as far as they are possible at all. */
static cw_status check_format(FILE *file, uint64_t at, bool big, cw_error *err)
{
    unsigned char b[16];
    if (!read_at(file, at, b, sizeof b))
        return CW_OK; /* too short: left to libsndfile, which says so */
    unsigned form = (unsigned)number(b, 2, big), channels = (unsigned)number(b + 2, 2, big);
    unsigned rate = (unsigned)number(b + 4, 4, big), frame = (unsigned)number(b + 12, 2, big);
    unsigned bits = (unsigned)number(b + 14, 2, big);
    if (channels == 0)
        return cw_fail(err, CW_INPUT, "the header says 0 channels; the WAV is damaged, export it again");
    if (rate == 0 || rate > RATE_MOST)
        return cw_fail(err, CW_INPUT, "the header says a sample rate of %u Hz; the WAV is damaged, export it again",
                       rate);
    bool plain = form == 1 || form == 3 || form == 0xfffe;
    if (plain && (bits == 0 || bits > 64 || frame != channels * ((bits + 7) / 8)))
        return cw_fail(err, CW_INPUT,
                       "the header says %u channels of %u bits in %u bytes, which does not agree; the WAV is damaged, "
                       "export it again",
                       channels, bits, frame);
    return CW_OK;
}

/* RIFF, RIFX, RF64, BW64: chunks of an identifier and a length of four bytes. */
static cw_status walk_riff(FILE *file, const cw_file_head *head, extent *e, cw_error *err)
{
    bool big = head->bytes[3] == 'X';
    unsigned char b[28];
    uint64_t long_data = 0;
    for (uint64_t at = 12, n = 0; n < CHUNKS_MOST && read_at(file, at, b, 8); n++) {
        uint64_t size = number(b + 4, 4, big);
        if (memcmp(b, "fmt ", 4) == 0)
            CW_TRY(check_format(file, at + 8, big, err));
        if (memcmp(b, "ds64", 4) == 0 && read_at(file, at + 8, b, 16))
            long_data = number(b + 8, 8, false);
        else if (memcmp(b, "data", 4) == 0) {
            e->found = true;
            e->there = head->file_bytes - (at + 8);
            e->size_at = at + 4;
            e->promised = long_data > 0 && size == 0xffffffffu ? long_data : size;
            e->unknown = e->promised == size && (size == 0 || size >= 0x7ffff000u) && (e->there > 0 || size > 0) &&
                         (size == 0 || e->there < size);
            return CW_OK;
        }
        at += 8 + size + (size & 1);
    }
    return CW_OK;
}

static cw_status walk_w64(FILE *file, const cw_file_head *head, extent *e)
{
    unsigned char b[24];
    for (uint64_t at = 40, n = 0; n < CHUNKS_MOST && read_at(file, at, b, 24); n++) {
        uint64_t size = number(b + 16, 8, false);
        if (memcmp(b, "data", 4) == 0 && size >= 24) {
            e->found = true;
            e->promised = size - 24;
            e->there = head->file_bytes - (at + 24);
        }
        if (e->found || size < 24 || size > head->file_bytes)
            break;
        at += (size + 7) & ~(uint64_t)7;
    }
    return CW_OK;
}

static cw_status walk_aiff(FILE *file, const cw_file_head *head, extent *e)
{
    unsigned char b[8];
    for (uint64_t at = 12, n = 0; !e->found && n < CHUNKS_MOST && read_at(file, at, b, 8); n++) {
        uint64_t size = number(b + 4, 4, true);
        if (memcmp(b, "SSND", 4) == 0) {
            e->found = true;
            e->promised = size;
            e->there = head->file_bytes - (at + 8);
        }
        at += 8 + size + (size & 1);
    }
    return CW_OK;
}

static cw_status walk_caf(FILE *file, const cw_file_head *head, extent *e)
{
    unsigned char b[12];
    for (uint64_t at = 8, n = 0; !e->found && n < CHUNKS_MOST && read_at(file, at, b, 12); n++) {
        uint64_t size = number(b + 4, 8, true);
        if (memcmp(b, "data", 4) == 0) {
            e->found = true;
            e->promised = size;
            e->unknown = size == UINT64_MAX;
            e->there = head->file_bytes - (at + 12);
        }
        if (size > head->file_bytes)
            break;
        at += 12 + size;
    }
    return CW_OK;
}

static cw_status walk_au(const cw_file_head *head, extent *e)
{
    bool big = head->bytes[0] == '.';
    if (head->count < 24)
        return CW_OK;
    uint64_t from = number(head->bytes + 4, 4, big);
    e->promised = number(head->bytes + 8, 4, big);
    e->unknown = e->promised == 0xffffffffu;
    e->found = from <= head->file_bytes;
    e->there = e->found ? head->file_bytes - from : 0;
    return CW_OK;
}

static cw_status walk(FILE *file, const cw_file_head *head, extent *e, cw_error *err)
{
    if ((begins(head, 0, "RIF") || begins(head, 0, "RF64") || begins(head, 0, "BW64")) && begins(head, 8, "WAVE"))
        return walk_riff(file, head, e, err);
    if (begins(head, 0, "riff\x2e\x91"))
        return walk_w64(file, head, e);
    if (begins(head, 0, "FORM"))
        return walk_aiff(file, head, e);
    if (begins(head, 0, "caff"))
        return walk_caf(file, head, e);
    if (begins(head, 0, ".snd") || begins(head, 0, "dns."))
        return walk_au(head, e);
    return CW_OK;
}

static void put_patch(cw_sound_patches *patches, uint64_t at, const unsigned char bytes[4])
{
    patches->patch[patches->count].at = at;
    memcpy(patches->patch[patches->count++].bytes, bytes, 4);
}

cw_status cw_sound_check_header(const char *path, const cw_file_head *head, cw_source_info *info,
                                cw_sound_patches *patches, cw_error *err)
{
    extent e = {.found = false};
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return CW_OK; /* libsndfile will say why */
    cw_status status = walk(file, head, &e, err);
    fclose(file);
    if (status != CW_OK)
        return status;
    if (begins(head, 0, "BW64")) /* the same chunks; libsndfile knows them by the older name */
        put_patch(patches, 0, (const unsigned char *)"RF64");
    if (!e.found)
        return CW_OK;
    if (e.there == 0)
        return cw_fail(err, CW_INPUT, "the sound file holds no samples; was the recording stopped at once?");
    if (e.unknown)
        cw_source_warn(info, "the header does not say how long the recording is; read to the end of the file");
    if (e.unknown && e.promised == 0) {
        uint32_t size = e.there < 0x7fffffffu ? (uint32_t)e.there : 0x7fffffffu;
        bool big = head->bytes[3] == 'X';
        unsigned char bytes[4];
        for (unsigned i = 0; i < 4; i++)
            bytes[i] = (unsigned char)(size >> (big ? 24 - 8 * i : 8 * i));
        put_patch(patches, e.size_at, bytes);
    }
    if (!e.unknown && e.there < e.promised)
        return cw_fail(err, CW_INPUT,
                       "the sound file is cut off: its header promises %llu bytes of samples, %llu are there. Copy or "
                       "record it again; what is left would end in the middle of a shot",
                       (unsigned long long)e.promised, (unsigned long long)e.there);
    return CW_OK;
}

/* --- The file as it is shown -------------------------------------------------------------------------------------- */

struct cw_sound_shown {
    FILE *file;
    cw_sound_patches patches;
};

static sf_count_t shown_length(void *state)
{
    cw_sound_shown *shown = state;
    off_t here = ftello(shown->file);
    fseeko(shown->file, 0, SEEK_END);
    off_t length = ftello(shown->file);
    fseeko(shown->file, here, SEEK_SET);
    return length;
}

static sf_count_t shown_seek(sf_count_t offset, int whence, void *state)
{
    cw_sound_shown *shown = state;
    return fseeko(shown->file, offset, whence) == 0 ? ftello(shown->file) : -1;
}

static sf_count_t shown_read(void *bytes, sf_count_t count, void *state)
{
    cw_sound_shown *shown = state;
    uint64_t from = (uint64_t)ftello(shown->file);
    size_t got = fread(bytes, 1, (size_t)count, shown->file);
    for (size_t p = 0; p < shown->patches.count; p++)
        for (uint64_t i = 0; i < 4; i++) {
            uint64_t at = shown->patches.patch[p].at + i;
            if (at >= from && at - from < got)
                ((unsigned char *)bytes)[at - from] = shown->patches.patch[p].bytes[i];
        }
    return (sf_count_t)got;
}

static sf_count_t shown_write(const void *bytes, sf_count_t count, void *state)
{
    (void)bytes;
    (void)count;
    (void)state;
    return 0; /* opened for reading */
}

static sf_count_t shown_tell(void *state)
{
    cw_sound_shown *shown = state;
    return ftello(shown->file);
}

SNDFILE *cw_sound_open_patched(const char *path, const cw_sound_patches *patches, SF_INFO *shape,
                               cw_sound_shown **shown)
{
    static SF_VIRTUAL_IO calls = {
        .get_filelen = shown_length, .seek = shown_seek, .read = shown_read, .write = shown_write, .tell = shown_tell};
    *shown = NULL;
    if (patches->count == 0)
        return sf_open(path, SFM_READ, shape);
    cw_sound_shown *made = calloc(1, sizeof *made);
    if (made == NULL || (made->file = fopen(path, "rb")) == NULL) {
        free(made);
        return NULL;
    }
    made->patches = *patches;
    SNDFILE *file = sf_open_virtual(&calls, SFM_READ, shape, made);
    if (file == NULL)
        cw_sound_shown_close(made);
    else
        *shown = made;
    return file;
}

void cw_sound_shown_close(cw_sound_shown *shown)
{
    if (shown == NULL)
        return;
    fclose(shown->file);
    free(shown);
}
