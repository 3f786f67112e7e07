/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/journal.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/json.h"

enum { PATH_MOST = 4200, LOG_MOST = 512 << 20 };

struct cw_journal {
    char folder[PATH_MOST], log_path[PATH_MOST + 16], samples_path[PATH_MOST + 16];
    int lock_fd, folder_fd, log_fd, samples_fd;
    off_t log_size; /* of whole lines */
    uint64_t samples;
};

static cw_status file_trouble(const char *path, const char *doing, cw_error *err)
{
    return cw_fail(err, CW_FILE, "%s \"%s\": %s", doing, path, strerror(errno));
}

static cw_status open_file(const char *path, int *fd, cw_error *err)
{
    *fd = open(path, O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    return *fd >= 0 ? CW_OK : file_trouble(path, "opening the live test's journal", err);
}

static cw_status take_lock(cw_journal *journal, cw_error *err)
{
    char path[PATH_MOST + 16];
    snprintf(path, sizeof path, "%s/lock", journal->folder);
    CW_TRY(open_file(path, &journal->lock_fd, err));
    if (flock(journal->lock_fd, LOCK_EX | LOCK_NB) == 0)
        return CW_OK;
    return cw_fail(err, CW_CONFLICT, "another program is measuring live on this bench; end it there first");
}

static cw_status open_all(cw_journal *journal, cw_error *err)
{
    if (mkdir(journal->folder, 0700) != 0 && errno != EEXIST)
        return file_trouble(journal->folder, "making the folder of live tests", err);
    journal->folder_fd = open(journal->folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (journal->folder_fd < 0)
        return file_trouble(journal->folder, "opening the folder of live tests", err);
    CW_TRY(take_lock(journal, err));
    CW_TRY(open_file(journal->log_path, &journal->log_fd, err));
    CW_TRY(open_file(journal->samples_path, &journal->samples_fd, err));
    journal->log_size = lseek(journal->log_fd, 0, SEEK_END);
    off_t bytes = lseek(journal->samples_fd, 0, SEEK_END);
    journal->samples = bytes > 0 ? (uint64_t)bytes / sizeof(float) : 0;
    return fsync(journal->folder_fd) == 0 ? CW_OK : file_trouble(journal->folder, "writing", err);
}

cw_status cw_journal_open(const char *bench_folder, cw_journal **journal, cw_error *err)
{
    cw_journal *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the journal of live tests");
    made->lock_fd = made->folder_fd = made->log_fd = made->samples_fd = -1;
    cw_status status = CW_OK;
    if (snprintf(made->folder, sizeof made->folder, "%s/live", bench_folder) >= (int)sizeof made->folder)
        status = cw_fail(err, CW_INPUT, "the bench's path is too long");
    snprintf(made->log_path, sizeof made->log_path, "%s/test.jsonl", made->folder);
    snprintf(made->samples_path, sizeof made->samples_path, "%s/samples.f32", made->folder);
    if (status == CW_OK)
        status = open_all(made, err);
    if (status != CW_OK) {
        cw_journal_close(made);
        return status;
    }
    *journal = made;
    return CW_OK;
}

void cw_journal_close(cw_journal *journal)
{
    if (journal == NULL)
        return;
    const int fds[] = {journal->samples_fd, journal->log_fd, journal->folder_fd, journal->lock_fd};
    for (size_t i = 0; i < CW_COUNT(fds); i++)
        if (fds[i] >= 0)
            close(fds[i]);
    free(journal);
}

bool cw_journal_there(const char *bench_folder)
{
    char path[PATH_MOST];
    struct stat about;
    snprintf(path, sizeof path, "%s/live/test.jsonl", bench_folder);
    return stat(path, &about) == 0 && about.st_size > 0;
}

static cw_status write_all(int fd, const void *bytes, size_t count, off_t at)
{
    const char *from = bytes;
    while (count > 0) {
        ssize_t written = pwrite(fd, from, count, at);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return CW_FILE;
        from += written;
        at += written;
        count -= (size_t)written;
    }
    return CW_OK;
}

static cw_status read_all(int fd, void *bytes, size_t count)
{
    char *to = bytes;
    off_t at = 0;
    while (count > 0) {
        ssize_t got = pread(fd, to, count, at);
        if (got < 0 && errno == EINTR)
            continue;
        if (got <= 0)
            return CW_FILE;
        to += got;
        at += got;
        count -= (size_t)got;
    }
    return CW_OK;
}

cw_status cw_journal_add(cw_journal *journal, json_t *line, cw_error *err)
{
    char *text = cw_json_written(line, CW_JSON_KEPT);
    json_decref(line);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the journal of the live test");
    size_t length = strlen(text);
    text[length] = '\n'; /* in the terminator's place: one write, whole line */
    cw_status status = write_all(journal->log_fd, text, length + 1, journal->log_size);
    free(text);
    if (status == CW_OK && fdatasync(journal->log_fd) == 0) {
        journal->log_size += (off_t)length + 1;
        return CW_OK;
    }
    cw_status told = file_trouble(journal->log_path, "writing the live test's journal", err);
    if (ftruncate(journal->log_fd, journal->log_size) != 0)
        cw_context(err, "and what was half written could not be taken back");
    return told;
}

static cw_status take_lines(char *text, size_t size,
                            cw_status (*take)(void *context, const json_t *line, cw_error *err), void *context,
                            size_t *whole, cw_error *err)
{
    size_t at = 0, number = 0;
    for (char *end; at < size && (end = memchr(text + at, '\n', size - at)) != NULL; at = (size_t)(end - text) + 1) {
        json_error_t where;
        json_t *line = json_loadb(text + at, (size_t)(end - text) - at, 0, &where);
        number++;
        if (line == NULL)
            return cw_fail(err, CW_INPUT, "line %zu of the live test's journal is damaged: %s", number, where.text);
        cw_status status = take(context, line, err);
        json_decref(line);
        if (status != CW_OK) {
            cw_context(err, "line %zu of the live test's journal", number);
            return status;
        }
    }
    *whole = at;
    return CW_OK;
}

cw_status cw_journal_read(cw_journal *journal, cw_status (*take)(void *context, const json_t *line, cw_error *err),
                          void *context, cw_error *err)
{
    if (journal->log_size > LOG_MOST)
        return cw_fail(err, CW_RANGE, "the live test's journal \"%s\" is too large to be read", journal->log_path);
    size_t size = (size_t)journal->log_size, whole = 0;
    char *text = malloc(size + 1);
    if (text == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to read the live test's journal");
    cw_status status = read_all(journal->log_fd, text, size) == CW_OK
                           ? take_lines(text, size, take, context, &whole, err)
                           : file_trouble(journal->log_path, "reading the live test's journal", err);
    free(text);
    if (status != CW_OK)
        return status;
    journal->log_size = (off_t)whole;
    return ftruncate(journal->log_fd, journal->log_size) == 0
               ? CW_OK
               : file_trouble(journal->log_path, "mending the live test's journal", err);
}

cw_status cw_journal_add_samples(cw_journal *journal, const float *samples, size_t count, uint64_t *total,
                                 cw_error *err)
{
    off_t at = (off_t)(journal->samples * sizeof *samples);
    if (write_all(journal->samples_fd, samples, count * sizeof *samples, at) != CW_OK ||
        fdatasync(journal->samples_fd) != 0)
        return file_trouble(journal->samples_path, "writing the live test's samples", err);
    journal->samples += count;
    *total = journal->samples;
    return CW_OK;
}

cw_status cw_journal_samples(cw_journal *journal, uint64_t count, float **samples, cw_error *err)
{
    if (count > journal->samples)
        return cw_fail(err, CW_FILE, "the live test's samples \"%s\" are shorter than its journal says",
                       journal->samples_path);
    if (count > SIZE_MAX / sizeof **samples)
        return cw_fail(err, CW_RANGE, "the live test's samples are too many");
    float *read = malloc(count > 0 ? (size_t)count * sizeof *read : 1);
    if (read == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the live test's samples");
    if (read_all(journal->samples_fd, read, (size_t)count * sizeof *read) != CW_OK ||
        ftruncate(journal->samples_fd, (off_t)(count * sizeof *read)) != 0) {
        free(read);
        return file_trouble(journal->samples_path, "reading the live test's samples", err);
    }
    journal->samples = count;
    *samples = read;
    return CW_OK;
}

cw_status cw_journal_clear(cw_journal *journal, cw_error *err)
{
    if (ftruncate(journal->log_fd, 0) != 0 || fsync(journal->log_fd) != 0)
        return file_trouble(journal->log_path, "emptying the live test's journal", err);
    journal->log_size = 0;
    if (ftruncate(journal->samples_fd, 0) != 0)
        return file_trouble(journal->samples_path, "emptying the live test's samples", err);
    journal->samples = 0;
    return CW_OK;
}
