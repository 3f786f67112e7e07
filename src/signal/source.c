/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/source.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "signal/foreign.h"
#include "signal/reader.h"

void cw_source_warn(cw_source_info *info, const char *format, ...)
{
    if (info->warning_count == CW_WARNINGS_MOST) {
        snprintf(info->warnings[CW_WARNINGS_MOST - 1], CW_WARNING_TEXT, "%s",
                 "and more of the same kind, not listed here");
        return;
    }
    va_list args;
    va_start(args, format);
    vsnprintf(info->warnings[info->warning_count], CW_WARNING_TEXT, format, args);
    va_end(args);
    info->warning_count++;
}

bool cw_head_is_text(const cw_file_head *head)
{
    size_t odd = 0;
    for (size_t i = 0; i < head->count; i++) {
        unsigned char c = head->bytes[i];
        if (c == 0)
            return false;
        odd += c < 0x20 && c != '\n' && c != '\r' && c != '\t' && c != '\f' && c != 0x1a;
    }
    return odd * 50 <= head->count;
}

static cw_status read_head(const char *path, cw_file_head *head, cw_error *err)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return cw_fail(err, errno == ENOENT ? CW_NOT_FOUND : CW_FILE, "%s cannot be opened: %s", path, strerror(errno));
    struct stat about;
    cw_status status = CW_OK;
    if (fstat(fileno(file), &about) != 0)
        status = cw_fail(err, CW_FILE, "%s: %s", path, strerror(errno));
    else if (S_ISDIR(about.st_mode))
        status = cw_fail(err, CW_INPUT, "%s is a folder; give the recording itself", path);
    else if (!S_ISREG(about.st_mode))
        status = cw_fail(err, CW_INPUT, "%s is not a plain file; a recording is read twice, so save it to a file first",
                         path);
    else if (about.st_size == 0)
        status = cw_fail(err, CW_INPUT, "%s is empty (0 bytes); was the recording stopped before it was saved?", path);
    if (status == CW_OK) {
        head->file_bytes = (uint64_t)about.st_size;
        head->count = fread(head->bytes, 1, sizeof head->bytes, file);
        if (ferror(file))
            status = cw_fail(err, CW_FILE, "%s cannot be read: %s", path, strerror(errno));
    }
    fclose(file);
    return status;
}

cw_status cw_source_open(const char *path, const cw_source_options *options, cw_source **source, cw_error *err)
{
    static const cw_source_options plain = {0};
    static cw_status (*const readers[])(const char *, const cw_file_head *, const cw_source_options *, cw_source *,
                                        cw_error *) = {cw_sound_open, cw_vcd_open, cw_csv_open};
    cw_file_head head = {.count = 0};
    CW_TRY(read_head(path, &head, err));
    const char *foreign = cw_foreign_form(head.bytes, head.count);
    if (foreign != NULL)
        return cw_fail(err, CW_INPUT, "%s is no recording that can be read but %s", path, foreign);
    cw_source *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to open %s", path);
    cw_status status = CW_NOT_MINE;
    for (size_t i = 0; i < CW_COUNT(readers) && status == CW_NOT_MINE; i++)
        status = readers[i](path, &head, options != NULL ? options : &plain, made, err);
    if (status == CW_OK) {
        *source = made;
        return CW_OK;
    }
    free(made);
    if (status == CW_NOT_MINE)
        return cw_fail(err, CW_INPUT,
                       "%s is no recording that can be read: neither sound (WAV, FLAC, AIFF ...), nor CSV text, nor a "
                       "VCD. Export it as WAV or CSV",
                       path);
    cw_context(err, "%s", path);
    return status;
}

cw_status cw_source_make(const cw_source_info *info, const cw_source_calls *calls, void *state, cw_source **source,
                         cw_error *err)
{
    if (info->channels < 1 || info->channels > CW_CHANNELS_MOST)
        return cw_fail(err, CW_RANGE, "%zu channels; 1 to %d can be used", info->channels, CW_CHANNELS_MOST);
    if (!(info->rate_hz > 0 && isfinite(info->rate_hz)))
        return cw_fail(err, CW_RANGE, "a rate of %g Hz; it must be above 0", info->rate_hz);
    cw_source *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for a source of %zu channels", info->channels);
    *made = (cw_source){.info = *info, .calls = *calls, .state = state};
    *source = made;
    return CW_OK;
}

void cw_source_close(cw_source *source)
{
    if (source == NULL)
        return;
    if (source->calls.close != NULL)
        source->calls.close(source->state);
    free(source);
}

const cw_source_info *cw_source_about(const cw_source *source)
{
    return &source->info;
}

cw_status cw_source_read(cw_source *source, size_t frames, float *out, size_t *got, cw_error *err)
{
    if (source->calls.read == NULL)
        return cw_fail(err, CW_RANGE, "this recording holds edges, not samples");
    return source->calls.read(source->state, frames, out, got, err);
}

cw_status cw_source_seek(cw_source *source, uint64_t frame, cw_error *err)
{
    if (source->calls.seek == NULL)
        return cw_fail(err, CW_RANGE, "this recording holds edges, not samples");
    return source->calls.seek(source->state, frame, err);
}

const cw_edge *cw_source_edges(const cw_source *source, size_t channel, size_t *count)
{
    *count = 0;
    if (source->calls.edges == NULL || channel >= source->info.channels)
        return NULL;
    return source->calls.edges(source->state, channel, count);
}
