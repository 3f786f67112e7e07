/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/manner.h"
#include "base/unit.h"
#include "web/house.h"
#include "web/request.h"

void cw_reply_init(cw_reply *reply)
{
    *reply = (cw_reply){.html = cw_html_new(), .fd = -1};
}

void cw_reply_free(cw_reply *reply)
{
    cw_html_free(&reply->html);
    json_decref(reply->json);
    free(reply->bytes);
    if (reply->fd >= 0)
        close(reply->fd);
    cw_reply_init(reply);
}

void cw_request_free(cw_request *request)
{
    cw_target_free(&request->target);
    cw_form_free(&request->form);
    for (size_t i = 0; i < request->upload_count; i++)
        cw_incoming_abandon(request->uploads[i].incoming);
    request->upload_count = 0;
}

unsigned cw_http_status(const cw_error *err)
{
    switch (err->status) {
    case CW_OK:
        return 200;
    case CW_INPUT:
    case CW_RANGE:
    case CW_NOT_MINE:
        return 422;
    case CW_NOT_FOUND:
        return 404;
    case CW_CONFLICT:
        return 409;
    case CW_REFUSED:
        return 403;
    case CW_FILE:
        return 507;
    case CW_MEMORY:
    case CW_STORE:
    case CW_DEVICE:
        return 500;
    }
    return 500;
}

const char *cw_value(const cw_request *request, const char *name, const char *fallback)
{
    const char *typed = cw_form_get(&request->form, name);
    if (typed == NULL && !request->writes)
        typed = cw_form_get(&request->target.query, name);
    return typed != NULL ? typed : fallback;
}

const char *cw_posted(const cw_request *request, const char *name)
{
    const char *value = cw_form_get(&request->form, name);
    return value != NULL ? value : "";
}

bool cw_ticked(const cw_request *request, const char *name)
{
    const char *value = cw_value(request, name, "");
    return value[0] != '\0' && strcmp(value, "0") != 0;
}

cw_status cw_whole(const cw_request *request, const char *name, long least, long most, long fallback, long *value,
                   cw_error *err)
{
    const char *text = cw_value(request, name, "");
    if (text[0] == '\0') {
        *value = fallback;
        return CW_OK;
    }
    cw_status status = cw_parse_whole(text, least, most, value, err);
    if (status != CW_OK)
        cw_context(err, "%s", name);
    return status;
}

int64_t cw_row_id(const cw_request *request, const char *name)
{
    const char *text = cw_value(request, name, "");
    size_t length = strlen(text);
    if (length == 0 || length > 15 || strspn(text, "0123456789") != length)
        return 0;
    return strtoll(text, NULL, 10);
}

void cw_go(cw_request *request, cw_reply *reply, const char *said, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(reply->location, sizeof reply->location, format, args);
    va_end(args);
    if (said != NULL)
        cw_house_say(request->house, request->pass.session, said);
}

cw_incoming *cw_request_take_upload(cw_request *request, const char *field)
{
    for (size_t i = 0; i < request->upload_count; i++) {
        cw_upload *upload = &request->uploads[i];
        if (upload->incoming == NULL || strcmp(upload->field, field) != 0)
            continue;
        cw_incoming *taken = upload->incoming;
        upload->incoming = NULL;
        return taken;
    }
    return NULL;
}

/* A header may not hold quotes, line ends or anything a file system minds. */
static void set_file_name(cw_reply *reply, const char *file_name)
{
    size_t written = 0;
    for (const char *c = file_name; *c != '\0' && written + 1 < sizeof reply->file_name; c++) {
        bool plain = (*c >= 'a' && *c <= 'z') || (*c >= 'A' && *c <= 'Z') || (*c >= '0' && *c <= '9') ||
                     strchr("-._", *c) != NULL;
        reply->file_name[written++] = plain ? *c : '-';
    }
    reply->file_name[written] = '\0';
}

cw_status cw_reply_buffer(cw_reply *reply, cw_buf *buf, const char *type, const char *file_name, cw_error *err)
{
    size_t length = buf->length;
    CW_TRY(cw_buf_take(buf, &reply->bytes, err));
    reply->length = length;
    reply->type = type;
    if (file_name != NULL)
        set_file_name(reply, file_name);
    return CW_OK;
}

cw_status cw_reply_file(cw_reply *reply, const char *path, const char *type, const char *file_name, cw_error *err)
{
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    struct stat about;
    if (fd < 0 || fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) {
        int reason = errno;
        if (fd >= 0)
            close(fd);
        return cw_fail(err, CW_FILE, "\"%s\" cannot be opened: %s", path, strerror(reason));
    }
    reply->fd = fd;
    reply->file_bytes = (uint64_t)about.st_size;
    reply->type = type;
    if (file_name != NULL)
        set_file_name(reply, file_name);
    return CW_OK;
}
