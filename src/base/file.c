/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The umask can only be read by setting it, which would race with other threads; new files are made private and
 * opened to the world by nobody but the person. */
enum { FILE_MODE = 0644 };

cw_status cw_new_file_open(const char *goal, cw_new_file *file, cw_error *err)
{
    *file = (cw_new_file){0};
    if (strlen(goal) >= sizeof file->goal)
        return cw_fail(err, CW_INPUT, "the file name \"%.80s...\" is too long", goal);
    strncpy(file->goal, goal, sizeof file->goal - 1);
    snprintf(file->beside, sizeof file->beside, "%s.part-XXXXXX", goal);
    int fd = mkstemp(file->beside);
    if (fd < 0) {
        cw_status status = cw_fail(err, CW_FILE, "cannot write \"%s\": %s", goal, strerror(errno));
        file->beside[0] = '\0';
        return status;
    }
    file->stream = fdopen(fd, "wb");
    if (file->stream == NULL) {
        cw_status status = cw_fail(err, CW_FILE, "cannot write \"%s\": %s", goal, strerror(errno));
        close(fd);
        cw_new_file_abandon(file);
        return status;
    }
    return CW_OK;
}

static int sync_folder_of(const char *path)
{
    char copy[4096];
    strncpy(copy, path, sizeof copy - 1);
    copy[sizeof copy - 1] = '\0';
    int fd = open(dirname(copy), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return -1;
    int result = fsync(fd);
    int kept = errno;
    close(fd);
    errno = kept;
    return result;
}

cw_status cw_new_file_commit(cw_new_file *file, cw_error *err)
{
    int failed = ferror(file->stream) || fflush(file->stream) != 0 || fchmod(fileno(file->stream), FILE_MODE) != 0 ||
                 fsync(fileno(file->stream)) != 0;
    int reason = errno;
    if (fclose(file->stream) != 0 && !failed) {
        failed = 1;
        reason = errno;
    }
    file->stream = NULL;
    if (!failed && rename(file->beside, file->goal) != 0) {
        failed = 1;
        reason = errno;
    }
    if (failed) {
        cw_new_file_abandon(file);
        return cw_fail(err, CW_FILE, "writing \"%s\" failed: %s", file->goal, strerror(reason));
    }
    file->beside[0] = '\0';
    if (sync_folder_of(file->goal) != 0)
        return cw_fail(err, CW_FILE, "\"%s\" is written, but its folder would not be flushed to disk: %s", file->goal,
                       strerror(errno));
    return CW_OK;
}

void cw_new_file_abandon(cw_new_file *file)
{
    if (file->stream != NULL)
        fclose(file->stream);
    file->stream = NULL;
    if (file->beside[0] != '\0')
        unlink(file->beside);
    file->beside[0] = '\0';
}

cw_status cw_write_file(const char *goal, const void *bytes, size_t count, cw_error *err)
{
    cw_new_file file;
    CW_TRY(cw_new_file_open(goal, &file, err));
    if (count > 0 && fwrite(bytes, 1, count, file.stream) != count) {
        cw_status status = cw_fail(err, CW_FILE, "writing \"%s\" failed: %s", goal, strerror(errno));
        cw_new_file_abandon(&file);
        return status;
    }
    return cw_new_file_commit(&file, err);
}

cw_status cw_read_file(const char *path, size_t ceiling, char **bytes, size_t *count, cw_error *err)
{
    FILE *in = fopen(path, "rb");
    if (in == NULL)
        return cw_fail(err, errno == ENOENT ? CW_INPUT : CW_FILE, "cannot open \"%s\": %s", path, strerror(errno));
    struct stat about;
    if (fstat(fileno(in), &about) == 0 && S_ISDIR(about.st_mode)) {
        fclose(in);
        return cw_fail(err, CW_INPUT, "\"%s\" is a folder, not a file", path);
    }
    char *held = NULL;
    size_t used = 0, room = 0;
    cw_status status = CW_OK;
    for (;;) {
        if (room - used < 2) {
            room = room == 0 ? 65536 : room * 2;
            char *grown = realloc(held, room);
            if (grown == NULL) {
                status = cw_fail(err, CW_MEMORY, "no memory to read \"%s\"", path);
                break;
            }
            held = grown;
        }
        size_t got = fread(held + used, 1, room - used - 1, in);
        used += got;
        if (used > ceiling) {
            status =
                cw_fail(err, CW_RANGE, "\"%s\" is larger than %zu bytes, the most that is read here", path, ceiling);
            break;
        }
        if (got == 0) {
            if (ferror(in))
                status = cw_fail(err, CW_FILE, "reading \"%s\" failed: %s", path, strerror(errno));
            break;
        }
    }
    fclose(in);
    if (status != CW_OK) {
        free(held);
        return status;
    }
    held[used] = '\0';
    *bytes = held;
    *count = used;
    return CW_OK;
}
