/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the form of a job's archive, said once for writing and reading. docs/job-archive.md tells it
 * to the world.
 *
 * index.json holds one list for each kind of row, in this order. In a row, "ref" is its place in its list, counted from
 * 1; a column that points to another row holds that row's "ref"; everything else is as in the database. */
#ifndef CW_NOTEBOOK_ARCHIVE_FORM_H
#define CW_NOTEBOOK_ARCHIVE_FORM_H

#include "notebook/store.h"

#define ARCHIVE_FORMAT "camerawright.job-archive/1"
#define ARCHIVE_FORMAT_BEFORE "camerawright.job-archive/"

typedef enum {
    ARCHIVE_JOB,
    ARCHIVE_RECORDING,
    ARCHIVE_TRAY,
    ARCHIVE_STEP,
    ARCHIVE_PART,
    ARCHIVE_PHOTO,
    ARCHIVE_MARK,
    ARCHIVE_THING,
    ARCHIVE_BLOCK,
    ARCHIVE_TEST,
    ARCHIVE_READING,
    ARCHIVE_SHEET,
    ARCHIVE_COST,
    ARCHIVE_CHECKLIST,
    ARCHIVE_ITEM,
    ARCHIVE_FRAME,
    ARCHIVE_LEFT_OUT, /* not in archives of version 0.1.0 */
    ARCHIVE_VERSION,  /* of a test; likewise */
    ARCHIVE_KIND_COUNT
} archive_kind_name;

enum { ARCHIVE_LINKS_MOST = 3, ARCHIVE_ROWS_MOST = 20000, ARCHIVE_INDEX_MOST = 64 << 20 };

/* A column that points to a row of another kind. */
typedef struct {
    const char *column;
    archive_kind_name kind;
    bool required;
    bool later; /* the row it points to comes further down: set when that is there */
} archive_link;

typedef struct {
    const char *key; /* of the list in the index: "steps" */
    const store_table *table;
    const char *where; /* which rows of the bench belong to job ?1, in order */
    bool planned;      /* the table has a planned_json beside what the struct holds */
    bool ranked;       /* and a rank */
    size_t link_count;
    archive_link links[ARCHIVE_LINKS_MOST];
} archive_kind;

extern const archive_kind archive_kinds[ARCHIVE_KIND_COUNT];

/* The place of a column in its table's struct; the column must be there. */
const store_column *archive_column(const store_table *table, const char *name);
/* A file's path inside the archive: "photos/<hash>.jpg", "recordings/<hash>.wav". */
void archive_path(bool photo, const char *hash, const char *extension, char out[128]);
/* Whether a path is one of those, and nothing else; hash receives the 64 digits. */
bool archive_path_ok(const char *path, bool *photo, char hash[65]);

#endif
