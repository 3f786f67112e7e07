/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/body.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

struct cw_body {
    cw_body_goal goal;
    struct MHD_PostProcessor *post; /* multipart; NULL: url-encoded */
    cw_buf text;                    /* url-encoded, whole */
    uint64_t received;
    cw_error refused; /* the first reason; CW_OK: none */
    bool in_field;    /* a multipart field is being put together */
    char name[CW_FORM_NAME_MOST + 1];
    cw_buf value;
    cw_incoming *file; /* a file being written, already in the list of uploads */
};

static bool is_type(const char *content_type, const char *type)
{
    size_t length = strlen(type);
    return content_type != NULL && strncasecmp(content_type, type, length) == 0 &&
           (content_type[length] == '\0' || content_type[length] == ';' || content_type[length] == ' ');
}

/* Finishes the multipart field that was being put together. */
static void end_field(cw_body *body)
{
    if (body->in_field && body->refused.status == CW_OK) {
        cw_error err = {0};
        if (cw_buf_check(&body->value, "a form field", &err) != CW_OK ||
            cw_form_add(body->goal.form, body->name, strlen(body->name), cw_buf_string(&body->value),
                        body->value.length, &err) != CW_OK)
            body->refused = err;
    }
    cw_buf_free(&body->value);
    body->in_field = false;
    body->file = NULL;
}

static cw_status open_file(cw_body *body, const char *key, const char *filename, cw_error *err)
{
    if (!body->goal.takes_files)
        return cw_fail(err, CW_INPUT, "a file came with a form that takes none (\"%.60s\")", filename);
    if (*body->goal.upload_count >= CW_UPLOADS_MOST)
        return cw_fail(err, CW_RANGE, "more than %d files at once; send them in parts", CW_UPLOADS_MOST);
    cw_bench *bench = NULL;
    CW_TRY(body->goal.bench(body->goal.owner, &bench, err));
    CW_TRY(cw_incoming_open(bench, body->goal.kind, filename, &body->file, err));
    cw_upload *upload = &body->goal.uploads[(*body->goal.upload_count)++];
    memcpy(upload->field, key, strlen(key) + 1);
    upload->incoming = body->file;
    return CW_OK;
}

static cw_status begin_part(cw_body *body, const char *key, const char *filename, size_t size, cw_error *err)
{
    if (strlen(key) > CW_FORM_NAME_MOST)
        return cw_fail(err, CW_RANGE, "a field name of %zu bytes; at most %d are taken", strlen(key),
                       CW_FORM_NAME_MOST);
    if (filename != NULL && filename[0] != '\0')
        return open_file(body, key, filename, err);
    if (filename != NULL && size == 0)
        return CW_OK; /* a file field left empty */
    memcpy(body->name, key, strlen(key) + 1);
    body->in_field = true;
    body->value = cw_buf_new(CW_FORM_BYTES_MOST);
    return CW_OK;
}

static cw_status take_part(cw_body *body, const char *key, const char *filename, const char *data, uint64_t offset,
                           size_t size, cw_error *err)
{
    if (offset == 0 && !(body->in_field && size == 0 && strcmp(body->name, key) == 0)) {
        end_field(body);
        CW_TRY(begin_part(body, key, filename, size, err));
    }
    if (body->file != NULL)
        return size > 0 ? cw_incoming_write(body->file, data, size, err) : CW_OK;
    if (!body->in_field)
        return CW_OK;
    if (body->value.length + size > CW_FORM_VALUE_MOST)
        return cw_fail(err, CW_RANGE, "the field \"%.40s\" is longer than %d bytes: shorten it", body->name,
                       CW_FORM_VALUE_MOST);
    cw_buf_add(&body->value, data, size);
    return CW_OK;
}

static enum MHD_Result on_part(void *owner, enum MHD_ValueKind kind, const char *key, const char *filename,
                               const char *content_type, const char *transfer_encoding, const char *data,
                               uint64_t offset, size_t size)
{
    (void)kind;
    (void)content_type;
    (void)transfer_encoding;
    cw_body *body = owner;
    cw_error err = {0};
    if (body->refused.status == CW_OK && take_part(body, key, filename, data, offset, size, &err) != CW_OK)
        body->refused = err;
    return MHD_YES;
}

cw_status cw_body_new(struct MHD_Connection *connection, const char *content_type, const cw_body_goal *goal,
                      cw_body **body, cw_error *err)
{
    bool multipart = is_type(content_type, "multipart/form-data");
    if (!multipart && !is_type(content_type, "application/x-www-form-urlencoded"))
        return cw_fail(err, CW_INPUT, "a form has to come as a form; this came as \"%.60s\"",
                       content_type == NULL ? "nothing said" : content_type);
    cw_body *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to take a form");
    made->goal = *goal;
    made->text = cw_buf_new(CW_BODY_FORM_MOST);
    made->value = cw_buf_new(CW_FORM_BYTES_MOST);
    if (multipart) {
        made->post = MHD_create_post_processor(connection, 64 * 1024, on_part, made);
        if (made->post == NULL) {
            free(made);
            return cw_fail(err, CW_INPUT, "the form's boundary is missing or unreadable");
        }
    }
    *body = made;
    return CW_OK;
}

bool cw_body_feed(cw_body *body, const char *bytes, size_t count)
{
    body->received += count;
    if (body->received > body->goal.bytes_most) {
        cw_error err = {0};
        if (body->refused.status == CW_OK) {
            cw_status status =
                cw_fail(&err, CW_RANGE, "more than %" PRIu64 " MB came; that is the most that is taken here",
                        body->goal.bytes_most / 1000000);
            body->refused = err;
            body->refused.status = status;
        }
        return body->received <= body->goal.bytes_most + CW_BODY_DROP_MOST;
    }
    if (body->refused.status != CW_OK)
        return true;
    if (body->post == NULL)
        cw_buf_add(&body->text, bytes, count);
    else if (MHD_post_process(body->post, bytes, count) != MHD_YES)
        body->refused.status =
            cw_fail(&body->refused, CW_INPUT, "the form is damaged: it does not keep to its own boundary");
    return true;
}

cw_status cw_body_end(cw_body *body, cw_error *err)
{
    cw_status status = CW_OK;
    if (body->post != NULL) {
        enum MHD_Result ended = MHD_destroy_post_processor(body->post);
        body->post = NULL;
        end_field(body);
        if (ended != MHD_YES && body->refused.status == CW_OK)
            return cw_fail(err, CW_INPUT, "the form ended before its last boundary; send it again");
    } else if (body->refused.status == CW_OK) {
        CW_TRY(cw_buf_check(&body->text, "the form", err));
        status = cw_form_decode(body->goal.form, cw_buf_string(&body->text), body->text.length, err);
    }
    if (body->refused.status != CW_OK) {
        *err = body->refused;
        return err->status;
    }
    return status;
}

void cw_body_free(cw_body *body)
{
    if (body == NULL)
        return;
    if (body->post != NULL && MHD_destroy_post_processor(body->post) != MHD_YES)
        body->post = NULL; /* half a body: nothing of it is used */
    cw_buf_free(&body->text);
    cw_buf_free(&body->value);
    free(body);
}
