/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The notes of a job as Markdown with their photos, in one file to be taken away. Written into a folder beside it
 * first. */
#include <archive.h>
#include <archive_entry.h>
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/file.h"
#include "notebook/archive.h"
#include "notebook/files.h"

enum { FILE_MOST = 256 << 20 };

typedef struct {
    struct archive *zip;
    size_t root; /* length of the folder's path: what follows is the name in the zip */
} packing;

static cw_status zip_failed(const packing *p, cw_error *err)
{
    const char *why = p->zip != NULL ? archive_error_string(p->zip) : NULL;
    return cw_fail(err, CW_FILE, "the notes cannot be packed: %s", why != NULL ? why : "no reason given");
}

static cw_status pack_file(const packing *p, const char *path, cw_error *err)
{
    char *bytes;
    size_t length;
    CW_TRY(cw_read_file(path, FILE_MOST, &bytes, &length, err));
    struct archive_entry *entry = archive_entry_new();
    bool done = entry != NULL;
    if (done) {
        archive_entry_set_pathname(entry, path + p->root + 1);
        archive_entry_set_size(entry, (la_int64_t)length);
        archive_entry_set_filetype(entry, AE_IFREG);
        archive_entry_set_perm(entry, 0644);
        archive_entry_set_mtime(entry, time(NULL), 0);
        done = archive_write_header(p->zip, entry) == ARCHIVE_OK &&
               archive_write_data(p->zip, bytes, length) == (la_ssize_t)length;
    }
    archive_entry_free(entry);
    free(bytes);
    return done ? CW_OK : zip_failed(p, err);
}

/* Packs what lies in the folder and below it; without a zip, takes it away. */
static cw_status walk(const packing *p, const char *folder, cw_error *err)
{
    DIR *dir = opendir(folder);
    if (dir == NULL)
        return cw_fail(err, CW_FILE, "\"%s\" cannot be read: %s", folder, strerror(errno));
    cw_status status = CW_OK;
    for (struct dirent *one; status == CW_OK && (one = readdir(dir)) != NULL;) {
        char path[FILES_PATH + 300];
        struct stat about;
        if (strcmp(one->d_name, ".") == 0 || strcmp(one->d_name, "..") == 0)
            continue;
        snprintf(path, sizeof path, "%s/%s", folder, one->d_name);
        if (lstat(path, &about) == 0 && S_ISDIR(about.st_mode))
            status = walk(p, path, err);
        else if (p->zip != NULL)
            status = pack_file(p, path, err);
        else
            unlink(path);
    }
    closedir(dir);
    if (p->zip == NULL)
        rmdir(folder);
    return status;
}

static cw_status pack(const char *folder, const char *path, cw_error *err)
{
    cw_new_file file;
    CW_TRY(cw_new_file_open(path, &file, err));
    packing p = {archive_write_new(), strlen(folder)};
    cw_status status = CW_OK;
    if (p.zip == NULL || archive_write_set_format_zip(p.zip) != ARCHIVE_OK ||
        archive_write_set_options(p.zip, "zip:hdrcharset=UTF-8") != ARCHIVE_OK ||
        archive_write_open_FILE(p.zip, file.stream) != ARCHIVE_OK)
        status = zip_failed(&p, err);
    if (status == CW_OK)
        status = walk(&p, folder, err);
    if (status == CW_OK && archive_write_close(p.zip) != ARCHIVE_OK)
        status = zip_failed(&p, err);
    archive_write_free(p.zip);
    if (status == CW_OK)
        return cw_new_file_commit(&file, err);
    cw_new_file_abandon(&file);
    return status;
}

cw_status cw_job_markdown_zip(cw_bench *bench, int64_t job_id, const char *path, cw_error *err)
{
    char folder[FILES_PATH], notes[FILES_PATH + 100];
    if (strlen(path) + 8 > sizeof folder)
        return cw_fail(err, CW_INPUT, "the path of the file is too long");
    snprintf(folder, sizeof folder, "%s.d", path);
    cw_status status = cw_job_markdown(bench, job_id, folder, notes, sizeof notes, err);
    if (status == CW_OK)
        status = pack(folder, path, err);
    cw_error ignored; /* what is left in incoming/ is tidied away later */
    if (access(folder, F_OK) == 0 && walk(&(packing){0}, folder, &ignored) != CW_OK)
        return status;
    return status;
}
