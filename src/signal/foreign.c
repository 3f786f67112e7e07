/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/foreign.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/buf.h"

static const struct {
    size_t at;
    const char *magic;
    size_t length;
    const char *is;
} FORMS[] = {
    {4, "ftyp", 4,
     "an MP4 sound or film (.m4a, .mp4, .3gp), as many phones write it; set the recorder to WAV, or convert the file "
     "to "
     "WAV or FLAC"},
    {0, "\x1a\x45\xdf\xa3", 4, "a WebM or Matroska sound, as browsers write it; convert it to WAV or FLAC"},
    {0, "#!AMR", 5, "an AMR sound, made for telephone speech; set the recorder to WAV"},
    {0, "\x30\x26\xb2\x75\x8e\x66\xcf\x11", 8, "an ASF sound (.wma); convert it to WAV or FLAC"},
    {0, "PK\x03\x04", 4,
     "a spreadsheet or an archive (ZIP inside); save the sheet as CSV, or take the recording out of the archive"},
    {0, "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", 8, "an older spreadsheet; save it as CSV"},
    {0, "\x1f\x8b", 2, "packed with gzip; unpack it first"},
    {0, "BZh", 3, "packed with bzip2; unpack it first"},
    {0, "7z\xbc\xaf\x27\x1c", 6, "a 7z archive; take the recording out of it first"},
    {0,
     "\xfd"
     "7zXZ",
     5, "packed with xz; unpack it first"},
    {0, "\x89PNG", 4, "a picture; export the samples themselves, as CSV"},
    {0, "\xff\xd8\xff", 3, "a picture; export the samples themselves, as CSV"},
    {0, "GIF8", 4, "a picture; export the samples themselves, as CSV"},
    {0, "%PDF", 4, "a PDF; export the samples themselves, as CSV"},
    {0, "SQLite format 3", 15, "a database; export the recording as CSV or WAV"},
    {0, "\x89HDF", 4, "an HDF5 file; export the samples as CSV or WAV"},
    {0, "MATLAB 5.0 MAT", 14, "a MAT file; export the samples as CSV or WAV"},
    {0, "\x93NUMPY", 6, "an array of numbers without a sample rate (NPY); save it as CSV with a time column"},
};

/* Marks of text, behind blanks and a byte order mark, in any letters. */
static const struct {
    const char *magic, *is;
} TEXTS[] = {
    {"<!doctype html", "a web page (HTML); export the samples themselves, as CSV"},
    {"<html", "a web page (HTML); export the samples themselves, as CSV"},
    {"<?xml", "XML; export the samples as CSV"},
    {"{", "JSON; export the samples as CSV"},
};

const char *cw_foreign_form(const unsigned char *head, size_t count)
{
    for (size_t i = 0; i < CW_COUNT(FORMS); i++)
        if (count >= FORMS[i].at + FORMS[i].length && memcmp(head + FORMS[i].at, FORMS[i].magic, FORMS[i].length) == 0)
            return FORMS[i].is;
    size_t at = count >= 3 && memcmp(head, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
    while (at < count && isspace(head[at]))
        at++;
    for (size_t i = 0; i < CW_COUNT(TEXTS); i++) {
        size_t n = strlen(TEXTS[i].magic);
        if (count >= at + n && strncasecmp((const char *)head + at, TEXTS[i].magic, n) == 0)
            return TEXTS[i].is;
    }
    return NULL;
}

const char *cw_foreign_file(const char *path)
{
    unsigned char head[64] = {0};
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    size_t got = fread(head, 1, sizeof head, file);
    fclose(file);
    return cw_foreign_form(head, got);
}
