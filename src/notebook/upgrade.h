/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inside this room only. */
#ifndef CW_NOTEBOOK_UPGRADE_H
#define CW_NOTEBOOK_UPGRADE_H

#include "notebook/store.h"

/* Inside a transaction that holds the writing lock: keeps the database as it is as bench-form-VERSION.db beside it (not
 * for a new bench, version 0), then runs the schema texts it lacks. CW_FILE: no room for the copy; nothing was changed.
 */
cw_status upgrade_bench(cw_bench *bench, int version, cw_error *err) __attribute__((warn_unused_result));

#endif
