/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/files.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum { COPY_BLOCK = 1 << 18, FLUSH_BLOCK = 1 << 20, SWEEP_AFTER_S = 60 };

static const char *const sub_folders[] = {"photos", "recordings", "thumbs", "incoming"};

cw_status files_make_folders(cw_bench *bench, cw_error *err)
{
    char path[FILES_PATH];
    for (size_t i = 0; i < CW_COUNT(sub_folders); i++) {
        snprintf(path, sizeof path, "%s/%s", bench->folder, sub_folders[i]);
        if (mkdir(path, 0755) != 0 && errno != EEXIST)
            return cw_fail(err, CW_FILE, "the folder \"%s\" cannot be made: %s", path, strerror(errno));
    }
    files_sweep_incoming(bench, NULL);
    return files_sync_folder(bench->folder, err);
}

/* A living writer holds a lock on its part. A part younger than a minute may be one that has no lock yet. */
static bool is_dead_part(const char *path)
{
    struct stat about;
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (fd < 0)
        return false;
    bool dead = fstat(fd, &about) == 0 && S_ISREG(about.st_mode) && time(NULL) - about.st_mtime > SWEEP_AFTER_S &&
                flock(fd, LOCK_EX | LOCK_NB) == 0;
    close(fd);
    return dead;
}

void files_sweep_incoming(const cw_bench *bench, int64_t *removed)
{
    char folder[FILES_PATH], path[FILES_PATH + 256];
    snprintf(folder, sizeof folder, "%s/incoming", bench->folder);
    DIR *dir = opendir(folder);
    if (dir == NULL)
        return;
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (entry->d_name[0] != '.' && is_dead_part(path) && unlink(path) == 0 && removed != NULL)
            ++*removed;
    }
    closedir(dir);
}

void files_path(const cw_bench *bench, const char *sub_folder, const char *hash, const char *extension,
                char out[FILES_PATH])
{
    snprintf(out, FILES_PATH, "%s/%s/%.2s/%s%s", bench->folder, sub_folder, hash, hash, extension);
}

void files_extension(const char *name, char out[16])
{
    const char *dot = strrchr(name, '.');
    size_t length = dot == NULL ? 0 : strlen(dot + 1);
    out[0] = '\0';
    if (length == 0 || length > 8)
        return;
    out[0] = '.';
    for (size_t i = 0; i <= length; i++) {
        char c = dot[1 + i];
        c = c >= 'A' && c <= 'Z' ? (char)(c + 32) : c;
        if (c != '\0' && !(c >= 'a' && c <= 'z') && !(c >= '0' && c <= '9')) {
            out[0] = '\0';
            return;
        }
        out[1 + i] = c;
    }
}

void files_bare_name(const char *name, char out[CW_LINE_MOST + 1])
{
    const char *last = name;
    for (const char *c = name; *c != '\0'; c++)
        if (*c == '/' || *c == '\\')
            last = c + 1;
    size_t length = store_cut(last, CW_LINE_MOST);
    if (length == 0 || !store_text_ok(last, length, false) || strcmp(last, ".") == 0 || strcmp(last, "..") == 0) {
        snprintf(out, CW_LINE_MOST + 1, "file");
        return;
    }
    memcpy(out, last, length);
    out[length] = '\0';
}

bool files_hash_ok(const char *hash)
{
    return strlen(hash) == FILES_HASH_TEXT - 1 && strspn(hash, "0123456789abcdef") == FILES_HASH_TEXT - 1;
}

static void hash_text(const unsigned char digest[32], char hash[FILES_HASH_TEXT])
{
    for (size_t i = 0; i < 32; i++)
        snprintf(hash + 2 * i, 3, "%02x", digest[i]);
}

cw_status files_hash(const char *path, char hash[FILES_HASH_TEXT], int64_t *bytes, cw_error *err)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (fd < 0)
        return cw_fail(err, errno == ENOENT ? CW_NOT_FOUND : CW_FILE, "\"%s\" cannot be read: %s", path,
                       strerror(errno));
    gnutls_hash_hd_t sum = NULL;
    unsigned char *block = malloc(COPY_BLOCK), digest[32];
    cw_status status = CW_OK;
    int64_t total = 0;
    ssize_t got = 0;
    if (block == NULL || gnutls_hash_init(&sum, GNUTLS_DIG_SHA256) != 0)
        status = cw_fail(err, CW_MEMORY, "no memory to read \"%s\"", path);
    while (status == CW_OK && (got = read(fd, block, COPY_BLOCK)) > 0) {
        gnutls_hash(sum, block, (size_t)got);
        total += got;
    }
    if (status == CW_OK && got < 0)
        status = cw_fail(err, CW_FILE, "reading \"%s\" failed: %s", path, strerror(errno));
    if (sum != NULL)
        gnutls_hash_deinit(sum, digest);
    close(fd);
    free(block);
    if (status != CW_OK)
        return status;
    hash_text(digest, hash);
    *bytes = total;
    return CW_OK;
}

cw_status files_sync_folder(const char *folder, cw_error *err)
{
    int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int failed = fd < 0 || fsync(fd) != 0, reason = errno;
    if (fd >= 0)
        close(fd);
    if (failed)
        return cw_fail(err, CW_FILE, "the folder \"%s\" would not be flushed to disk: %s", folder, strerror(reason));
    return CW_OK;
}

cw_status files_make_parent(const char *path, cw_error *err)
{
    char folder[FILES_PATH], above[FILES_PATH];
    snprintf(folder, sizeof folder, "%s", path);
    dirname(folder);
    if (mkdir(folder, 0755) != 0) {
        if (errno == EEXIST)
            return CW_OK;
        return cw_fail(err, CW_FILE, "the folder \"%s\" cannot be made: %s", folder, strerror(errno));
    }
    snprintf(above, sizeof above, "%s", folder);
    dirname(above);
    return files_sync_folder(above, err);
}

/* ---- a file on its way in ---- */

struct cw_incoming {
    cw_bench *bench;
    cw_incoming_kind kind;
    int fd;
    gnutls_hash_hd_t sum;
    int64_t most;
    files_arrived file;
};

cw_status cw_incoming_open(cw_bench *bench, cw_incoming_kind kind, const char *name, cw_incoming **incoming,
                           cw_error *err)
{
    if (bench->read_only)
        return cw_fail(err, CW_FILE, "the bench in \"%s\" is open for reading only; nothing was stored", bench->folder);
    cw_incoming *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to take a file in");
    made->bench = bench;
    made->kind = kind;
    made->most = (kind == CW_INCOMING_PHOTO ? (int64_t)50 : (int64_t)4096) << 20;
    files_bare_name(name, made->file.name);
    snprintf(made->file.path, sizeof made->file.path, "%s/incoming/XXXXXX", bench->folder);
    made->fd = mkostemp(made->file.path, O_CLOEXEC);
    cw_status status = CW_OK;
    if (made->fd < 0)
        status = cw_fail(err, CW_FILE, "\"%s\" cannot be stored in \"%s\": %s", made->file.name, bench->folder,
                         strerror(errno));
    else if (flock(made->fd, LOCK_EX | LOCK_NB) != 0)
        status = cw_fail(err, CW_FILE, "\"%s\" cannot be locked: %s", made->file.path, strerror(errno));
    else if (gnutls_hash_init(&made->sum, GNUTLS_DIG_SHA256) != 0)
        status = cw_fail(err, CW_MEMORY, "no memory to take a file in");
    if (status != CW_OK) {
        cw_incoming_abandon(made);
        return status;
    }
    *incoming = made;
    return CW_OK;
}

cw_status cw_incoming_write(cw_incoming *incoming, const void *bytes, size_t count, cw_error *err)
{
    files_arrived *file = &incoming->file;
    if (count > (uint64_t)(incoming->most - file->bytes))
        return cw_fail(err, CW_RANGE, "\"%s\" is larger than %lld MB, the most for a %s", file->name,
                       (long long)(incoming->most >> 20), files_is_photo(incoming) ? "photo" : "recording");
    const char *from = bytes;
    for (size_t left = count; left > 0;) {
        ssize_t written = write(incoming->fd, from, left);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0)
            return cw_fail(err, CW_FILE, "storing \"%s\" failed: %s; nothing of it was kept", file->name,
                           strerror(errno));
        from += written;
        left -= (size_t)written;
    }
    int64_t block = file->bytes / FLUSH_BLOCK;
    gnutls_hash(incoming->sum, bytes, count);
    file->bytes += (int64_t)count;
    if (file->bytes / FLUSH_BLOCK !=
        block) /* the disk begins while the rest is still on its way; fsync is the promise */
        sync_file_range(incoming->fd, block * FLUSH_BLOCK, (file->bytes / FLUSH_BLOCK - block) * FLUSH_BLOCK,
                        SYNC_FILE_RANGE_WRITE);
    return CW_OK;
}

void cw_incoming_abandon(cw_incoming *incoming)
{
    if (incoming == NULL)
        return;
    if (incoming->sum != NULL)
        gnutls_hash_deinit(incoming->sum, NULL);
    if (incoming->fd >= 0) {
        if (incoming->file.path[0] != '\0')
            unlink(incoming->file.path);
        close(incoming->fd);
    }
    free(incoming);
}

cw_status files_arrive(cw_incoming *incoming, files_arrived *arrived, cw_error *err)
{
    files_arrived *file = &incoming->file;
    unsigned char digest[32];
    if (incoming->sum != NULL) {
        gnutls_hash_deinit(incoming->sum, digest);
        incoming->sum = NULL;
        hash_text(digest, file->hash);
    }
    if (fchmod(incoming->fd, 0644) != 0 || fsync(incoming->fd) != 0)
        return cw_fail(err, CW_FILE, "storing \"%s\" failed: %s; nothing of it was kept", file->name, strerror(errno));
    *arrived = *file;
    return CW_OK;
}

/* An equal file that is there already is replaced by this one: the same content, and a damaged one is thereby mended.
 */
cw_status files_settle(cw_incoming *incoming, const char *sub_folder, const char *extension, cw_error *err)
{
    char goal[FILES_PATH], folder[FILES_PATH];
    files_path(incoming->bench, sub_folder, incoming->file.hash, extension, goal);
    CW_TRY(files_make_parent(goal, err));
    if (rename(incoming->file.path, goal) != 0)
        return cw_fail(err, CW_FILE, "storing \"%s\" failed: %s; nothing of it was kept", incoming->file.name,
                       strerror(errno));
    incoming->file.path[0] = '\0';
    snprintf(folder, sizeof folder, "%s", goal);
    return files_sync_folder(dirname(folder), err);
}

cw_bench *files_bench(const cw_incoming *incoming)
{
    return incoming->bench;
}

const char *cw_incoming_path(const cw_incoming *incoming)
{
    return incoming->file.path;
}

const char *cw_incoming_name(const cw_incoming *incoming)
{
    return incoming->file.name;
}

bool files_is_photo(const cw_incoming *incoming)
{
    return incoming->kind == CW_INCOMING_PHOTO;
}

cw_status files_copy_in(cw_incoming *incoming, const char *path, cw_error *err)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    struct stat about;
    if (fd < 0)
        return cw_fail(err, errno == ENOENT ? CW_INPUT : CW_FILE, "\"%s\" cannot be read: %s", path, strerror(errno));
    char *block = malloc(COPY_BLOCK);
    cw_status status = CW_OK;
    ssize_t got = 0;
    if (block == NULL)
        status = cw_fail(err, CW_MEMORY, "no memory to read \"%s\"", path);
    else if (fstat(fd, &about) != 0 || !S_ISREG(about.st_mode))
        status = cw_fail(err, CW_INPUT, "\"%s\" is not a file", path);
    while (status == CW_OK && (got = read(fd, block, COPY_BLOCK)) > 0)
        status = cw_incoming_write(incoming, block, (size_t)got, err);
    if (status == CW_OK && got < 0)
        status = cw_fail(err, CW_FILE, "reading \"%s\" failed: %s", path, strerror(errno));
    free(block);
    close(fd);
    return status;
}
