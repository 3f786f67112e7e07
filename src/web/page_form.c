/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "web/page.h"

static void open_form(cw_request *request, cw_html *h, bool files, const char *kind, const char *format, va_list args)
{
    char *address = NULL;
    if (vasprintf(&address, format, args) < 0) {
        h->buf.failed = true;
        return;
    }
    html_markup(h, "<form method='post'");
    if (kind != NULL)
        html_attr(h, "class", kind);
    html_attr(h, "action", address);
    if (files)
        html_markup(h, " enctype='multipart/form-data'");
    html_markup(h, ">");
    cw_field_hidden(h, "token", request->pass.token);
    free(address);
}

void cw_form_begin(cw_request *request, cw_html *h, bool files, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    open_form(request, h, files, NULL, format, args);
    va_end(args);
}

void cw_form_end(cw_html *h)
{
    html_markup(h, "</form>\n");
}

void cw_button_form(cw_request *request, cw_html *h, bool quiet, const char *label, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    open_form(request, h, false, "inline", format, args);
    va_end(args);
    html_markup(h, "<button");
    html_attr(h, "class", quiet ? "button" : "main");
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button></form>");
}

static void write_help_id(cw_html *h, const char *name, const char *help)
{
    if (help != NULL)
        html_attrf(h, "aria-describedby", "help-%s", name);
}

static void write_help(cw_html *h, const char *name, const char *help)
{
    if (help == NULL)
        return;
    html_markup(h, "<span class='help'");
    html_attrf(h, "id", "help-%s", name);
    html_markup(h, ">");
    html_text(h, help);
    html_markup(h, "</span>");
}

static void write_area(const cw_request *request, cw_html *h, const cw_input *input)
{
    html_markup(h, "<textarea");
    html_attrf(h, "id", "in-%s", input->name);
    html_attr(h, "name", input->name);
    html_attrf(h, "rows", "%ld", input->rows);
    html_attr(h, "placeholder", input->example);
    write_help_id(h, input->name, input->help);
    html_flag(h, "required", input->required);
    html_flag(h, "autofocus", input->focus);
    html_markup(h, ">");
    html_text(h, cw_value(request, input->name, input->value == NULL ? "" : input->value));
    html_markup(h, "</textarea>");
}

static void write_input(const cw_request *request, cw_html *h, const cw_input *input)
{
    const char *type = input->type == NULL ? "text" : input->type;
    html_markup(h, "<input");
    html_attr(h, "type", type);
    html_attrf(h, "id", "in-%s", input->name);
    html_attr(h, "name", input->name);
    if (strcmp(type, "file") != 0)
        html_attr(h, "value", cw_value(request, input->name, input->value));
    html_attr(h, "inputmode", input->mode);
    html_attr(h, "list", input->list);
    html_attr(h, "placeholder", input->example);
    html_attr(h, "accept", input->accept);
    html_flag(h, "capture", input->capture);
    html_flag(h, "multiple", input->several);
    write_help_id(h, input->name, input->help);
    html_flag(h, "required", input->required);
    html_flag(h, "autofocus", input->focus);
    html_markup(h, " autocomplete='off'>");
}

void cw_field_input(const cw_request *request, cw_html *h, const cw_input *input)
{
    html_markup(h, "<div");
    html_attr(h, "class", input->narrow ? "field narrow" : "field");
    html_markup(h, "><label");
    html_attrf(h, "for", "in-%s", input->name);
    html_markup(h, ">");
    html_text(h, input->label);
    if (input->unit != NULL && input->unit[0] != '\0') {
        html_markup(h, " <span class='unit'>");
        html_text(h, input->unit);
        html_markup(h, "</span>");
    }
    if (!input->required && input->rows == 0 && input->value == NULL && input->type == NULL)
        html_markup(h, " <span class='unit'>if known</span>");
    html_markup(h, "</label>");
    if (input->rows > 0)
        write_area(request, h, input);
    else
        write_input(request, h, input);
    write_help(h, input->name, input->help);
    html_markup(h, "</div>\n");
}

enum { BUTTONS_MOST = 4 };

static void write_buttons(cw_html *h, const char *name, const char *now, const cw_option_item *items, size_t count)
{
    html_markup(h, "<div class='choices'>");
    for (size_t i = 0; i < count; i++) {
        html_markup(h, "<label class='choice'><input type='radio'");
        html_attr(h, "name", name);
        html_attr(h, "value", items[i].value);
        html_flag(h, "checked", strcmp(items[i].value, now) == 0);
        html_markup(h, "><span>");
        html_text(h, items[i].label);
        html_markup(h, "</span></label>");
    }
    html_markup(h, "</div>");
}

static void write_list(cw_html *h, const char *name, const char *now, const cw_option_item *items, size_t count,
                       const char *help)
{
    html_markup(h, "<select");
    html_attrf(h, "id", "in-%s", name);
    html_attr(h, "name", name);
    write_help_id(h, name, help);
    html_markup(h, ">");
    for (size_t i = 0; i < count; i++) {
        html_markup(h, "<option");
        html_attr(h, "value", items[i].value);
        html_flag(h, "selected", strcmp(items[i].value, now) == 0);
        html_markup(h, ">");
        html_text(h, items[i].label);
        html_markup(h, "</option>");
    }
    html_markup(h, "</select>");
}

void cw_field_choice(const cw_request *request, cw_html *h, const char *name, const char *label, const char *value,
                     const cw_option_item *items, size_t count, const char *help)
{
    const char *now = cw_value(request, name, value == NULL ? "" : value);
    if (count <= BUTTONS_MOST) {
        html_markup(h, "<fieldset class='field'");
        write_help_id(h, name, help);
        html_markup(h, "><legend>");
        html_text(h, label);
        html_markup(h, "</legend>");
        write_buttons(h, name, now, items, count);
        write_help(h, name, help);
        html_markup(h, "</fieldset>\n");
        return;
    }
    html_markup(h, "<div class='field'><label");
    html_attrf(h, "for", "in-%s", name);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</label>");
    write_list(h, name, now, items, count, help);
    write_help(h, name, help);
    html_markup(h, "</div>\n");
}

void cw_field_tick(const cw_request *request, cw_html *h, const char *name, const char *label, bool is_ticked)
{
    bool typed = request->writes; /* an unticked box is not sent at all */
    bool now = typed ? cw_form_get(&request->form, name) != NULL : is_ticked;
    html_markup(h, "<label class='tick'><input type='checkbox' value='1'");
    html_attr(h, "name", name);
    html_flag(h, "checked", now);
    html_markup(h, "><span>");
    html_text(h, label);
    html_markup(h, "</span></label>\n");
}

void cw_field_hidden(cw_html *h, const char *name, const char *value)
{
    html_markup(h, "<input type='hidden'");
    html_attr(h, "name", name);
    html_attr(h, "value", value);
    html_markup(h, ">");
}

void cw_submit(cw_html *h, const char *label)
{
    html_markup(h, "<div class='actions'><button class='main'>");
    html_said(h, label);
    html_markup(h, "</button></div>\n");
}

void cw_submit_other(cw_html *h, const char *label, const char *name, const char *value)
{
    html_markup(h, "<button class='button'");
    html_attr(h, "name", name);
    html_attr(h, "value", value);
    html_markup(h, ">");
    html_text(h, label);
    html_markup(h, "</button>");
}
