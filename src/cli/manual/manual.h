/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What can be said of the program from its own tables: manual pages, shell completion, the reference of the worksheets.
 * Nothing here is written by hand twice, so it cannot disagree with what the program does. */
#ifndef CW_CLI_MANUAL_H
#define CW_CLI_MANUAL_H

#include "base/buf.h"
#include "cli/command.h"
#include "worksheets/worksheet.h"

/* camerawright(1) and camerawright-worksheets(7), in the man macros. `date` is shown in the foot: "2026-11-25". */
void cw_manual_page(cw_buf *out, const char *date);
void cw_manual_sheets_page(cw_buf *out, const char *date);

void cw_manual_bash(cw_buf *out);
void cw_manual_zsh(cw_buf *out);
void cw_manual_fish(cw_buf *out);

/* One sheet as Markdown, its example run. CW_RANGE and the like when the example does not run. */
cw_status cw_manual_sheet_markdown(const cw_worksheet *sheet, cw_buf *out, cw_error *err)
    __attribute__((warn_unused_result));
/* The list of the sheets by group, with links to NAME.md. */
void cw_manual_sheets_index(cw_buf *out);

/* Every text of the worksheets' tables, each ended by a zero byte, for scripts/words. */
void cw_manual_words(cw_buf *out);

/* The options that a command's usage and help speak of, each once in their order; at most `most`. Words are copied. */
enum { CW_MANUAL_WORD = 40, CW_MANUAL_WORDS_MOST = 64 };
size_t cw_manual_options(const cw_command *command, char words[][CW_MANUAL_WORD], size_t most);
/* The words a command begins with ("new", "list" of `job`), from its usage: "new|list|show ..."; 0 when it has none. */
size_t cw_manual_subcommands(const cw_command *command, char words[][CW_MANUAL_WORD], size_t most);
/* The choices an option has ("--shutter leaf|focal-plane"); 0 when it is free. */
size_t cw_manual_choices(const cw_command *command, const char *option, char words[][CW_MANUAL_WORD], size_t most);

#endif
