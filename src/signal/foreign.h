/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that people hand in and that are no recordings this program reads, told by their first bytes. */
#ifndef CW_SIGNAL_FOREIGN_H
#define CW_SIGNAL_FOREIGN_H

#include <stddef.h>

#include "base/error.h"

/* What the file is and what to do, in words that go on a sentence ("a spreadsheet or archive (ZIP); ..."), NULL for
 * anything not known. `head`: the first bytes of the file, 16 or more where it has them. */
const char *cw_foreign_form(const unsigned char *head, size_t count);
/* The same for the file of that name; NULL also where it cannot be read. */
const char *cw_foreign_file(const char *path);

#endif
