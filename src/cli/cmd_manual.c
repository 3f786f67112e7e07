/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "base/file.h"
#include "cli/command.h"
#include "cli/manual/manual.h"

enum { PAGE_MOST = 8 << 20, PATH_TEXT = 4096 };

static cw_status write_page(const char *folder, const char *name, const cw_buf *page, cw_error *err)
{
    char path[PATH_TEXT];
    if (snprintf(path, sizeof path, "%s/%s.md", folder, name) >= (int)sizeof path)
        return cw_fail(err, CW_INPUT, "the folder's name is too long: \"%.60s...\"", folder);
    CW_TRY(cw_buf_check(page, "the page", err));
    return cw_write_file(path, cw_buf_string(page), page->length, err);
}

/* A page per worksheet and an index, into the folder. */
static cw_status write_reference(const char *folder, FILE *out, cw_error *err)
{
    if (mkdir(folder, 0777) != 0 && errno != EEXIST)
        return cw_fail(err, CW_FILE, "the folder \"%.200s\" cannot be made: %s", folder, strerror(errno));
    size_t count;
    const cw_worksheet *const *sheets = cw_worksheets(&count);
    cw_status status = CW_OK;
    for (size_t i = 0; i < count && status == CW_OK; i++) {
        cw_buf page = cw_buf_new(PAGE_MOST);
        status = cw_manual_sheet_markdown(sheets[i], &page, err);
        if (status == CW_OK)
            status = write_page(folder, sheets[i]->name, &page, err);
        cw_buf_free(&page);
    }
    if (status != CW_OK)
        return status;
    cw_buf index = cw_buf_new(PAGE_MOST);
    cw_manual_sheets_index(&index);
    status = write_page(folder, "README", &index, err);
    cw_buf_free(&index);
    if (status == CW_OK)
        fprintf(out, "%zu worksheets written to %s\n", count, folder);
    return status;
}

static const char usage[] = "say what to write: page, worksheets-page, bash, zsh, fish, words, or reference FOLDER";

static cw_status write_kind(const char *kind, const char *date, cw_buf *text, cw_error *err)
{
    if (strcmp(kind, "page") == 0)
        cw_manual_page(text, date);
    else if (strcmp(kind, "worksheets-page") == 0)
        cw_manual_sheets_page(text, date);
    else if (strcmp(kind, "bash") == 0)
        cw_manual_bash(text);
    else if (strcmp(kind, "zsh") == 0)
        cw_manual_zsh(text);
    else if (strcmp(kind, "fish") == 0)
        cw_manual_fish(text);
    else if (strcmp(kind, "words") == 0)
        cw_manual_words(text);
    else
        return cw_fail(err, CW_INPUT, "\"%.40s\" is not there to be written; %s", kind, usage);
    return cw_buf_check(text, "the manual", err);
}

static cw_status run_manual(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {{.key = "date"}};
    const char *operands[2];
    size_t given;
    CW_TRY(cw_options_read(count, args, options, CW_COUNT(options), operands, CW_COUNT(operands), &given, err));
    if (given == 0)
        return cw_fail(err, CW_INPUT, "%s", usage);
    bool reference = strcmp(operands[0], "reference") == 0;
    if (given == 2 && reference)
        return write_reference(operands[1], out, err);
    if (given == 2 || reference)
        return cw_fail(err, CW_INPUT, "%s", reference ? "reference needs a folder behind it" : usage);
    const char *date = cw_option_value(options, CW_COUNT(options), "date");
    if (date != NULL && (strlen(date) != 10 || strspn(date, "0123456789-") != 10))
        return cw_fail(err, CW_INPUT, "--date is written 2026-11-25, not \"%.40s\"", date);
    cw_buf text = cw_buf_new(PAGE_MOST);
    cw_status status = write_kind(operands[0], date != NULL ? date : "\"\"", &text, err);
    if (status == CW_OK)
        fwrite(cw_buf_string(&text), 1, text.length, out);
    cw_buf_free(&text);
    return status;
}

const cw_command cw_cmd_manual = {
    "manual", "page|worksheets-page|bash|zsh|fish|words|reference [FOLDER] [--date 2026-11-25]",
    "the manual pages, completion for a shell, or a page for every worksheet",
    "  page, worksheets-page    manual pages: camerawright manual page | man -l -\n"
    "  bash, zsh, fish          completion, for the file your shell reads at its start\n"
    "  words                    what the worksheets have to be translated, a zero byte behind each\n"
    "  reference FOLDER         the worksheets as Markdown, their examples run\n"
    "  --date                   what stands in the foot of a manual page\n",
    run_manual};
