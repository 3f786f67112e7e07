/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only: the descriptions of the tables, each beside its functions. */
#ifndef CW_NOTEBOOK_TABLES_H
#define CW_NOTEBOOK_TABLES_H

#include "notebook/store.h"

extern const store_table job_table, test_table, reading_table, saved_sheet_table, recording_table;

#endif
