/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <string.h>
#include <unistd.h>

#include "notebook/files.h"
#include "notebook/tables.h"
#include "notebook/test.h"

#define PLACE(field) offsetof(cw_recording, field)
static const store_column recording_columns[] = {
    {"id", "number", PLACE(id), STORE_INT, 0, NULL, 0},
    {"hash", "the hash", PLACE(hash), STORE_LINE, STORE_ADD, NULL, 0},
    {"name", "the file name", PLACE(name), STORE_LINE, STORE_ADD, NULL, 0},
    {"bytes", "the size", PLACE(bytes), STORE_INT, STORE_ADD, NULL, 0},
    {"added_at", "instant", PLACE(added_at), STORE_INSTANT, STORE_ADD, NULL, 0},
};
const store_table recording_table = {"recording",
                                     "recording",
                                     recording_columns,
                                     CW_COUNT(recording_columns),
                                     sizeof(cw_recording),
                                     offsetof(cw_recording, id),
                                     SIZE_MAX,
                                     offsetof(cw_recording, held)};

static cw_status note_recording(cw_bench *bench, const files_arrived *file, int64_t *id, cw_error *err)
{
    char now[32];
    store_now(now);
    CW_TRY(store_run(
        bench,
        "INSERT INTO recording(hash, name, bytes, added_at) VALUES(?1, ?2, ?3, ?4) ON CONFLICT(hash) DO "
        "NOTHING",
        STORE_VALUES(store_text(file->hash), store_text(file->name), store_int(file->bytes), store_text(now)), err));
    return store_number(bench, "SELECT id FROM recording WHERE hash = ?1", STORE_VALUES(store_text(file->hash)), id,
                        err);
}

static cw_status keep(cw_incoming *incoming, int64_t *id, cw_error *err)
{
    cw_bench *bench = files_bench(incoming);
    files_arrived file;
    char extension[16];
    int64_t made = 0;
    if (files_is_photo(incoming))
        return cw_fail(err, CW_INPUT, "this was taken in as a photo, not as a recording");
    CW_TRY(files_arrive(incoming, &file, err));
    if (file.bytes == 0)
        return cw_fail(err, CW_INPUT, "the recording \"%s\" is empty", file.name);
    files_extension(file.name, extension);
    CW_TRY(store_enter(bench, 0, err, "recording \"%s\" kept", file.name));
    /* The same content may be there under another name: the first name decides where it lies. */
    cw_status status = note_recording(bench, &file, &made, err);
    cw_recording row = {0};
    if (status == CW_OK)
        status = cw_recording_get(bench, made, &row, err);
    if (status == CW_OK) {
        files_extension(row.name, extension);
        status = files_settle(incoming, "recordings", extension, err);
    }
    cw_recording_free(&row);
    CW_TRY(store_leave(bench, 0, status, err));
    *id = made;
    return CW_OK;
}

cw_status cw_incoming_keep_recording(cw_incoming *incoming, int64_t *recording_id, cw_error *err)
{
    cw_status status = keep(incoming, recording_id, err);
    cw_incoming_abandon(incoming);
    return status;
}

cw_status cw_recording_import(cw_bench *bench, const char *path, int64_t *id, cw_error *err)
{
    cw_incoming *incoming;
    CW_TRY(cw_incoming_open(bench, CW_INCOMING_RECORDING, path, &incoming, err));
    cw_status status = files_copy_in(incoming, path, err);
    if (status == CW_OK)
        return cw_incoming_keep_recording(incoming, id, err);
    cw_incoming_abandon(incoming);
    return status;
}

cw_status cw_recording_get(cw_bench *bench, int64_t id, cw_recording *recording, cw_error *err)
{
    return store_get(bench, &recording_table, id, recording, err);
}

void cw_recording_free(cw_recording *recording)
{
    if (recording != NULL)
        store_release(&recording->held);
}

cw_status cw_recording_path(cw_bench *bench, int64_t id, char *path, size_t size, cw_error *err)
{
    cw_recording recording;
    char extension[16], full[FILES_PATH];
    CW_TRY(cw_recording_get(bench, id, &recording, err));
    files_extension(recording.name, extension);
    files_path(bench, "recordings", recording.hash, extension, full);
    cw_status status = CW_OK;
    if (access(full, R_OK) != 0)
        status = cw_fail(err, errno == ENOENT ? CW_NOT_FOUND : CW_FILE,
                         "the recording \"%s\" is not where it was kept (\"%s\"): %s. Put it back from a backup; "
                         "`camerawright check` names all that is missing",
                         recording.name, full, strerror(errno));
    else if (strlen(full) >= size)
        status = cw_fail(err, CW_RANGE, "the path of a recording does not fit in %zu bytes", size);
    else
        memcpy(path, full, strlen(full) + 1);
    cw_recording_free(&recording);
    return status;
}
