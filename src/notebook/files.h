/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: where the files of a bench lie, and what their content hashes to. */
#ifndef CW_NOTEBOOK_FILES_H
#define CW_NOTEBOOK_FILES_H

#include <gnutls/crypto.h>

#include "notebook/incoming.h"
#include "notebook/store.h"

enum { FILES_HASH_TEXT = 65, FILES_PATH = STORE_PATH + 160 };

/* photos/, recordings/, thumbs/, incoming/; removes what dead uploads left in incoming/. */
cw_status files_make_folders(cw_bench *bench, cw_error *err) __attribute__((warn_unused_result));
/* Removes parts in incoming/ that no living program is writing; *removed (may be NULL) counts them. */
void files_sweep_incoming(const cw_bench *bench, int64_t *removed);

/* "<folder>/photos/ab/abcd....jpg". `extension` with its dot, or "". */
void files_path(const cw_bench *bench, const char *sub_folder, const char *hash, const char *extension,
                char out[FILES_PATH]);
/* The extension of a file name when it is plain ("wav", "csv"), with its dot; else "". */
void files_extension(const char *name, char out[16]);
/* The name without its folders ('/' and '\'), cut to fit; "file" when nothing is left. */
void files_bare_name(const char *name, char out[CW_LINE_MOST + 1]);
bool files_hash_ok(const char *hash);

/* The SHA-256 of a file and its size. CW_NOT_FOUND when it is not there. */
cw_status files_hash(const char *path, char hash[FILES_HASH_TEXT], int64_t *bytes, cw_error *err)
    __attribute__((warn_unused_result));
/* Flushes a folder, so that a rename in it is on disk. */
cw_status files_sync_folder(const char *folder, cw_error *err) __attribute__((warn_unused_result));
/* Makes the folder a file lies in, one level, and flushes its parent. */
cw_status files_make_parent(const char *path, cw_error *err) __attribute__((warn_unused_result));

/* An upload that is whole: where it lies for now, its hash and size. */
typedef struct {
    char path[FILES_PATH];
    char name[CW_LINE_MOST + 1];
    char hash[FILES_HASH_TEXT];
    int64_t bytes;
} files_arrived;

/* Ends the writing: hash known, content flushed. Still in incoming/, still `incoming`'s. */
cw_status files_arrive(cw_incoming *incoming, files_arrived *arrived, cw_error *err)
    __attribute__((warn_unused_result));
/* Moves it to its place for good and flushes the folder. */
cw_status files_settle(cw_incoming *incoming, const char *sub_folder, const char *extension, cw_error *err)
    __attribute__((warn_unused_result));
cw_bench *files_bench(const cw_incoming *incoming);
bool files_is_photo(const cw_incoming *incoming);
/* Copies a whole file into an incoming one. */
cw_status files_copy_in(cw_incoming *incoming, const char *path, cw_error *err) __attribute__((warn_unused_result));

#endif
