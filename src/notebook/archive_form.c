/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/archive_form.h"

#include <string.h>

#include "notebook/files.h"
#include "notebook/tables.h"

#define JOB_LINK                                                                                                       \
    {                                                                                                                  \
        "job_id", ARCHIVE_JOB, true, false                                                                             \
    }

const archive_kind archive_kinds[ARCHIVE_KIND_COUNT] = {
    [ARCHIVE_JOB] =
        {"jobs", &job_table, "WHERE id = ?1", false, false, 1, {{"cover_photo_id", ARCHIVE_PHOTO, false, true}}},
    [ARCHIVE_RECORDING] = {"recordings",
                           &recording_table,
                           "WHERE id IN (SELECT recording_id FROM test WHERE job_id = ?1) ORDER BY id",
                           false,
                           false,
                           0,
                           {{0}}},
    [ARCHIVE_TRAY] = {"trays", &tray_table, "WHERE job_id = ?1 ORDER BY number", false, false, 1, {JOB_LINK}},
    [ARCHIVE_STEP] = {"steps", &step_table, "WHERE job_id = ?1 ORDER BY rank", true, true, 1, {JOB_LINK}},
    [ARCHIVE_PART] = {"parts",
                      &part_table,
                      "WHERE job_id = ?1 ORDER BY id",
                      true,
                      false,
                      3,
                      {JOB_LINK, {"step_id", ARCHIVE_STEP, false, false}, {"tray_id", ARCHIVE_TRAY, false, false}}},
    [ARCHIVE_PHOTO] = {"photos",
                       &photo_table,
                       "WHERE job_id = ?1 ORDER BY id",
                       false,
                       false,
                       3,
                       {JOB_LINK, {"step_id", ARCHIVE_STEP, false, false}, {"part_id", ARCHIVE_PART, false, false}}},
    [ARCHIVE_MARK] = {"marks",
                      &photo_mark_table,
                      "WHERE photo_id IN (SELECT id FROM photo WHERE job_id = ?1) ORDER BY photo_id, number",
                      false,
                      false,
                      2,
                      {{"photo_id", ARCHIVE_PHOTO, true, false}, {"part_id", ARCHIVE_PART, false, false}}},
    [ARCHIVE_THING] = {"things",
                       &thing_table,
                       "WHERE job_id = ?1 ORDER BY id",
                       false,
                       false,
                       2,
                       {JOB_LINK, {"step_id", ARCHIVE_STEP, false, false}}},
    [ARCHIVE_BLOCK] = {"blocks",
                       &block_table,
                       "WHERE job_id = ?1 ORDER BY id",
                       false,
                       false,
                       3,
                       {JOB_LINK, {"under_id", ARCHIVE_THING, true, false}, {"over_id", ARCHIVE_THING, true, false}}},
    [ARCHIVE_TEST] = {"tests",
                      &test_table,
                      "WHERE job_id = ?1 ORDER BY id",
                      false,
                      false,
                      2,
                      {JOB_LINK, {"recording_id", ARCHIVE_RECORDING, false, false}}},
    [ARCHIVE_READING] = {"readings",
                         &reading_table,
                         "WHERE test_id IN (SELECT id FROM test WHERE job_id = ?1) ORDER BY test_id, id",
                         false,
                         false,
                         1,
                         {{"test_id", ARCHIVE_TEST, true, false}}},
    [ARCHIVE_SHEET] = {"worksheets", &saved_sheet_table, "WHERE job_id = ?1 ORDER BY id", false, false, 1, {JOB_LINK}},
    [ARCHIVE_COST] = {"costs", &cost_table, "WHERE job_id = ?1 ORDER BY id", false, false, 1, {JOB_LINK}},
    [ARCHIVE_CHECKLIST] =
        {"checklists", &checklist_table, "WHERE job_id = ?1 ORDER BY id", false, false, 1, {JOB_LINK}},
    [ARCHIVE_ITEM] = {"checklist_items",
                      &checklist_item_table,
                      "WHERE checklist_id IN (SELECT id FROM checklist WHERE job_id = ?1) ORDER BY checklist_id, id",
                      false,
                      false,
                      2,
                      {{"checklist_id", ARCHIVE_CHECKLIST, true, false}, {"photo_id", ARCHIVE_PHOTO, false, false}}},
    [ARCHIVE_FRAME] = {"film_frames",
                       &film_frame_table,
                       "WHERE job_id = ?1 ORDER BY id",
                       false,
                       false,
                       2,
                       {JOB_LINK, {"photo_id", ARCHIVE_PHOTO, false, false}}},
    [ARCHIVE_LEFT_OUT] = {"left_out", &left_out_table, "WHERE job_id = ?1 ORDER BY id", false, false, 1, {JOB_LINK}},
    [ARCHIVE_VERSION] = {"test_versions",
                         &test_version_table,
                         "WHERE test_id IN (SELECT id FROM test WHERE job_id = ?1) ORDER BY test_id, id",
                         false,
                         false,
                         1,
                         {{"test_id", ARCHIVE_TEST, true, false}}},
};

const store_column *archive_column(const store_table *table, const char *name)
{
    size_t place = 0;
    while (place + 1 < table->column_count && strcmp(table->columns[place].name, name) != 0)
        place++;
    return &table->columns[place];
}

void archive_path(bool photo, const char *hash, const char *extension, char out[128])
{
    snprintf(out, 128, "%s/%.64s%.15s", photo ? "photos" : "recordings", hash, extension);
}

bool archive_path_ok(const char *path, bool *photo, char hash[65])
{
    static const char photos[] = "photos/", recordings[] = "recordings/";
    *photo = strncmp(path, photos, sizeof photos - 1) == 0;
    if (!*photo && strncmp(path, recordings, sizeof recordings - 1) != 0)
        return false;
    const char *name = path + (*photo ? sizeof photos : sizeof recordings) - 1;
    size_t length = strlen(name);
    if (length < 64 || length > 73)
        return false;
    memcpy(hash, name, 64);
    hash[64] = '\0';
    const char *extension = name + 64;
    if (*photo)
        return files_hash_ok(hash) && (strcmp(extension, ".jpg") == 0 || strcmp(extension, ".png") == 0);
    char plain[16];
    files_extension(name, plain);
    return files_hash_ok(hash) && strcmp(plain, extension) == 0;
}
