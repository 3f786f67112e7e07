/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The manual pages, in the man macros of groff_man(7). */
#include <string.h>

#include "cli/manual/manual.h"
#include "cli/sheet_command.h"
#include "worksheets/cautions.h"

/* Text for roff: a backslash and a leading dot or quote are disarmed, a dash is a real minus for copying. */
static void roff(cw_buf *out, const char *text)
{
    bool line_start = true;
    for (const char *at = text; *at != '\0'; at++) {
        if (line_start && (*at == '.' || *at == '\''))
            cw_buf_text(out, "\\&");
        line_start = *at == '\n';
        if (*at == '\\')
            cw_buf_text(out, "\\e");
        else if (*at == '-')
            cw_buf_text(out, "\\-");
        else if (*at == '`' || *at == '\'')
            cw_buf_text(out, *at == '`' ? "\\(ga" : "\\(aq");
        else
            cw_buf_char(out, *at);
    }
}

static void text_block(cw_buf *out, const char *text)
{
    cw_buf_text(out, ".PP\n.nf\n");
    roff(out, text);
    if (text[strlen(text) - 1] != '\n')
        cw_buf_char(out, '\n');
    cw_buf_text(out, ".fi\n");
}

static void paragraph(cw_buf *out, const char *text)
{
    cw_buf_text(out, ".PP\n");
    roff(out, text);
    cw_buf_char(out, '\n');
}

static void write_command(cw_buf *out, const cw_command *command)
{
    cw_buf_text(out, ".SS ");
    roff(out, command->name);
    cw_buf_text(out, "\n.B camerawright ");
    roff(out, command->name);
    cw_buf_char(out, '\n');
    if (command->arguments[0] != '\0') {
        roff(out, command->arguments);
        cw_buf_char(out, '\n');
    }
    paragraph(out, command->summary);
    if (command->help != NULL)
        text_block(out, command->help);
}

static void write_sheet_line(cw_buf *out, const cw_worksheet *sheet)
{
    cw_buf_text(out, ".TP\n.B ");
    roff(out, sheet->name);
    cw_buf_char(out, '\n');
    roff(out, sheet->title);
    cw_buf_char(out, '\n');
}

static void write_files(cw_buf *out)
{
    cw_buf_text(out, ".SH ENVIRONMENT\n.TP\n.B CAMERAWRIGHT_BENCH\nThe bench folder where none is named by "
                     "\\-\\-bench.\n.TP\n.B XDG_DATA_HOME\nWhere the bench lies otherwise: camerawright/bench in it.\n"
                     ".SH FILES\n.TP\n.I ~/.local/share/camerawright/bench\nThe bench: a database and the folders of "
                     "photos and recordings. Everything is kept there and nothing leaves it.\n"
                     ".SH EXAMPLES\nA number copied from any timer:\n.PP\n.nf\n"
                     "camerawright reading \\-\\-marked 1/250 \\-\\-seconds 0.00443\n.fi\n.PP\n"
                     "The bench in a browser, and from the phone too:\n.PP\n.nf\n"
                     "camerawright serve \\-\\-lan\n.fi\n"
                     ".SH \"SEE ALSO\"\n.BR camerawright\\-worksheets (7)\n");
}

void cw_manual_page(cw_buf *out, const char *date)
{
    size_t command_count, sheet_count;
    const cw_command *const *commands = cw_commands(&command_count);
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    cw_buf_printf(out,
                  ".TH CAMERAWRIGHT 1 %s \"camerawright %s\"\n.SH NAME\ncamerawright \\- the bench companion for "
                  "mechanical film cameras\n.SH SYNOPSIS\n.B camerawright\n.I command\n.RI [ options ]\n.PP\n"
                  ".B camerawright\n.I worksheet\n.RB \\-\\- \"key value ...\"\n.PP\n.B camerawright\n.I command\n.B "
                  "\\-\\-help\n"
                  ".SH DESCRIPTION\nFor the person who repairs mechanical film cameras alone at a bench: the job from "
                  "taken in to handed on, the shutter measured before and after, tools and parts to make, lenses "
                  "put together again. Numbers may be typed with a unit (23.4mm, 0.92in, 1/250, 4 ms) and with a "
                  "decimal comma; a unit that does not fit is refused.\n.SH COMMANDS\n",
                  date, CW_VERSION);
    for (size_t i = 0; i < command_count; i++)
        write_command(out, commands[i]);
    cw_buf_text(out, ".SH WORKSHEETS\nEach is a command of its own; their fields are in\n.BR camerawright\\-worksheets "
                     "(7)\nand behind \\-\\-help.\n");
    for (size_t i = 0; i < sheet_count; i++)
        write_sheet_line(out, sheets[i]);
    cw_buf_text(out, ".SH \"EXIT STATUS\"\n.TP\n.B 0\nDone.\n.TP\n.B 1\nThe verdict is outside its limit (only with "
                     "\\-\\-check).\n.TP\n.B 2\nBad input.\n.TP\n.B 3\nFailed: disk, device, memory.\n");
    write_files(out);
}

/* ---- the worksheets ---- */

static void write_field(cw_buf *out, const cw_field *field, const char *dashes)
{
    const cw_unit *unit = cw_unit_find(field->dimension, field->unit);
    cw_buf_printf(out, ".TP\n.B %s", dashes);
    roff(out, field->key);
    cw_buf_char(out, '\n');
    roff(out, field->label);
    if (field->kind == CW_KIND_NUMBER && *unit->name != '\0') {
        cw_buf_text(out, ", ");
        roff(out, unit->name);
    }
    if (field->required)
        cw_buf_text(out, " (needed)");
    if (field->fallback != NULL) {
        cw_buf_text(out, " (");
        roff(out, field->fallback);
        cw_buf_text(out, " unless given)");
    }
    cw_buf_text(out, ".\n");
    if (field->help != NULL && field->help[0] != '\0') {
        roff(out, field->help);
        cw_buf_text(out, ".\n");
    }
    for (const cw_choice *choice = field->choices; choice != NULL && choice->key != NULL; choice++) {
        cw_buf_text(out, ".br\n");
        roff(out, choice->key);
        cw_buf_text(out, ": ");
        roff(out, choice->label);
        cw_buf_char(out, '\n');
    }
}

static void write_sheet(cw_buf *out, const cw_worksheet *sheet)
{
    cw_buf_text(out, ".SS ");
    roff(out, sheet->name);
    cw_buf_char(out, '\n');
    roff(out, sheet->title);
    cw_buf_text(out, ".\n");
    roff(out, sheet->purpose);
    cw_buf_char(out, '\n');
    for (size_t i = 0; i < sheet->input_count; i++) {
        const cw_field *field = &sheet->inputs[i];
        write_field(out, field, "\\-\\-");
        if (field->kind != CW_KIND_ROWS)
            continue;
        cw_buf_text(out, ".RS\n");
        for (size_t c = 0; c < field->column_count; c++)
            write_field(out, &field->columns[c], "");
        cw_buf_text(out, ".RE\n");
    }
    for (size_t i = 0; sheet->cautions != NULL && sheet->cautions[i] != NULL; i++) {
        cw_buf_text(out, ".PP\n.B Caution:\n");
        roff(out, cw_caution(sheet->cautions[i]));
        cw_buf_char(out, '\n');
    }
}

void cw_manual_sheets_page(cw_buf *out, const char *date)
{
    size_t sheet_count;
    const cw_worksheet *const *sheets = cw_worksheets(&sheet_count);
    cw_buf_printf(out,
                  ".TH CAMERAWRIGHT\\-WORKSHEETS 7 %s \"camerawright %s\"\n.SH NAME\ncamerawright\\-worksheets \\- the "
                  "worksheets of camerawright and their fields\n.SH DESCRIPTION\nEach worksheet is a command of\n.BR "
                  "camerawright (1),\na form on its page and JSON. All take\n",
                  date, CW_VERSION);
    for (size_t i = 0; cw_sheet_face_options[i] != NULL; i++) {
        cw_buf_text(out, ".B \\-\\-");
        roff(out, cw_sheet_face_options[i]);
        cw_buf_char(out, '\n');
    }
    cw_buf_text(out, "(what each does is behind \\-\\-help).\n");
    for (size_t i = 0; i < sheet_count; i++) {
        if (i == 0 || strcmp(sheets[i]->group, sheets[i - 1]->group) != 0) {
            cw_buf_text(out, ".SH ");
            cw_buf_char(out, '"');
            roff(out, sheets[i]->group);
            cw_buf_text(out, "\"\n");
        }
        write_sheet(out, sheets[i]);
    }
    cw_buf_text(out, ".SH \"SEE ALSO\"\n.BR camerawright (1)\n");
}
