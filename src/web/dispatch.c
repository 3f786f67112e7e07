/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/json.h"
#include "base/manner.h"
#include "web/house.h"
#include "web/page.h"
#include "web/request.h"

cw_status cw_route_find(const char *method, const cw_target *target, const cw_route **route, cw_match *match,
                        cw_error *err)
{
    size_t count;
    const cw_route *routes = cw_routes(&count);
    bool other_method = false;
    for (size_t i = 0; i < count; i++) {
        cw_match found;
        if (!cw_target_matches(target, routes[i].pattern, &found) || (target->json && routes[i].twin == NULL))
            continue;
        if (strcmp(routes[i].method, method) != 0) {
            other_method = true;
            continue;
        }
        *route = &routes[i];
        *match = found;
        return CW_OK;
    }
    if (other_method)
        return cw_fail(err, CW_INPUT, "this address does not take %.10s", method);
    return cw_fail(err, CW_NOT_FOUND, "there is no page at this address; it may have been taken away, or mistyped");
}

static void error_json(cw_reply *reply, const cw_error *err)
{
    reply->json = json_pack("{s:s,s:s,s:s}", "format", "camerawright.error/1", "status", cw_status_name(err->status),
                            "error", err->text);
}

static void bare_error(cw_reply *reply)
{
    static const char words[] = "The page could not be made: no memory.\n";
    cw_reply_free(reply);
    reply->code = 500;
    reply->lasting = words;
    reply->length = sizeof words - 1;
    reply->type = "text/plain; charset=utf-8";
}

/* Pages and twins become bytes; other replies are bytes already. */
static bool finish(cw_reply *reply, cw_error *err)
{
    if (reply->bytes != NULL || reply->lasting != NULL || reply->fd >= 0 || reply->is_stream ||
        reply->location[0] != '\0')
        return true;
    if (reply->json != NULL) {
        reply->bytes = cw_json_written(reply->json, CW_JSON_GIVEN_LINE);
        if (reply->bytes == NULL) {
            *err = (cw_error){0};
            return cw_fail(err, CW_MEMORY, "no memory to write the JSON of this page") == CW_OK;
        }
        reply->length = strlen(reply->bytes);
        reply->type = "application/json";
        return true;
    }
    if (cw_html_take(&reply->html, &reply->bytes, &reply->length, err) != CW_OK)
        return false;
    reply->type = "text/html; charset=utf-8";
    return true;
}

static unsigned code_of(const cw_request *request, const cw_error *err)
{
    return request->too_large ? 413 : cw_http_status(err);
}

void cw_reply_error(cw_request *request, cw_reply *reply, const cw_error *err)
{
    bool fresh_cookie = reply->set_cookie;
    cw_reply_free(reply);
    reply->set_cookie = fresh_cookie;
    reply->code = code_of(request, err);
    if (reply->code >= 500)
        fprintf(stderr, "camerawright serve: %s\n", err->text);
    if (request->target.json)
        error_json(reply, err);
    else
        cw_page_error(request, reply, err);
    cw_error second = {0};
    if (!finish(reply, &second))
        bare_error(reply);
    cw_manner_use(NULL);
}

static void show_again(const cw_route *route, cw_request *request, cw_reply *reply, const cw_error *refused)
{
    cw_reply_free(reply);
    request->problem = *refused;
    cw_error err = {0};
    if (route->again == NULL || route->again(request, reply, &err) != CW_OK || !finish(reply, &err)) {
        cw_reply_error(request, reply, refused);
        return;
    }
    reply->code = code_of(request, refused);
    if (reply->code >= 500)
        fprintf(stderr, "camerawright serve: %s\n", refused->text);
}

static cw_status run(const cw_route *route, cw_request *request, cw_reply *reply, cw_error *err)
{
    if (request->writes) {
        if (request->problem.status != CW_OK) { /* the body was refused */
            *err = request->problem;
            return err->status;
        }
        CW_TRY(cw_door_token(request->house->door, &request->pass, cw_form_get(&request->form, "token"), err));
        return route->page(request, reply, err);
    }
    if (request->pass.bounce)
        return cw_page_bounce(request, reply);
    return request->target.json ? route->twin(request, reply, err) : route->page(request, reply, err);
}

void cw_dispatch(const cw_route *route, cw_request *request, cw_reply *reply)
{
    cw_error err = {0};
    cw_manner_use(
        NULL); /* what a handler composes and stores is plain; a page is told to its reader as it is written */
    if (run(route, request, reply, &err) == CW_OK && finish(reply, &err)) {
        cw_manner_use(NULL);
        return;
    }
    if (request->writes)
        show_again(route, request, reply, &err);
    else
        cw_reply_error(request, reply, &err);
    cw_manner_use(NULL);
}
