/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/call.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#include "web/body.h"
#include "web/live.h"
#include "web/request.h"

enum { FILE_BODY_MOST_MB = 4100, PHOTO_BODY_MOST_MB = 210 };

typedef struct {
    cw_work work; /* first: the lanes hand it back */
    cw_call_place *place;
    struct MHD_Connection *connection;
    char *raw_target; /* NULL without memory */
    bool begun, queued, done, writes;
    const cw_route *route;
    cw_request request;
    cw_reply reply;
    cw_body *body;
    cw_bench *own_bench; /* for the files of this request */
    cw_error refused;    /* before any handler; CW_OK: none */
} call;

void *cw_call_begin(void *place, const char *raw_target, struct MHD_Connection *connection)
{
    (void)place;
    (void)connection;
    call *made = calloc(1, sizeof *made);
    if (made != NULL)
        made->raw_target = strdup(raw_target);
    return made;
}

static const char *header(struct MHD_Connection *connection, const char *name)
{
    return MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
}

static bool is_loopback(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    if (info == NULL || info->client_addr->sa_family != AF_INET)
        return false;
    struct sockaddr_in address;
    memcpy(&address, info->client_addr, sizeof address);
    return (ntohl(address.sin_addr.s_addr) >> 24) == 127;
}

static const char *local_address(struct MHD_Connection *connection, char *out, socklen_t size)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    struct sockaddr_in address;
    socklen_t length = sizeof address;
    if (info == NULL || getsockname(info->connect_fd, (struct sockaddr *)&address, &length) != 0 ||
        address.sin_family != AF_INET)
        return NULL;
    return inet_ntop(AF_INET, &address.sin_addr, out, size);
}

static cw_status pass_door(call *self, cw_error *err)
{
    struct MHD_Connection *connection = self->connection;
    char local[INET_ADDRSTRLEN];
    unsigned flags = self->route == NULL ? 0 : self->route->flags;
    cw_visit visit = {
        .writes = self->writes,
        .open = (flags & CW_ROUTE_OPEN) != 0,
        .laptop_only = (flags & CW_ROUTE_LAPTOP) != 0,
        .peer_loopback = is_loopback(connection),
        .local = local_address(connection, local, sizeof local),
        .host = header(connection, MHD_HTTP_HEADER_HOST),
        .origin = header(connection, MHD_HTTP_HEADER_ORIGIN),
        .fetch_site = header(connection, "Sec-Fetch-Site"),
        .fetch_mode = header(connection, "Sec-Fetch-Mode"),
        .cookie = header(connection, MHD_HTTP_HEADER_COOKIE),
    };
    cw_door_reason reason;
    return cw_door_enter(self->place->house->door, &visit, &self->request.pass, &reason, err);
}

static cw_status upload_bench(void *owner, cw_bench **bench, cw_error *err)
{
    call *self = owner;
    if (self->own_bench == NULL)
        CW_TRY(cw_bench_open(self->place->house->folder, CW_BENCH_OPEN, &self->own_bench, err));
    *bench = self->own_bench;
    return CW_OK;
}

static cw_status expect_body(call *self, cw_error *err)
{
    unsigned flags = self->route->flags;
    cw_body_goal goal = {
        .form = &self->request.form,
        .uploads = self->request.uploads,
        .upload_count = &self->request.upload_count,
        .takes_files = (flags & (CW_ROUTE_PHOTO | CW_ROUTE_RECORDING)) != 0,
        .kind = (flags & CW_ROUTE_PHOTO) != 0 ? CW_INCOMING_PHOTO : CW_INCOMING_RECORDING,
        .bytes_most = (flags & CW_ROUTE_RECORDING) != 0 ? FILE_BODY_MOST_MB * 1000000ULL
                      : (flags & CW_ROUTE_PHOTO) != 0   ? PHOTO_BODY_MOST_MB * 1000000ULL
                                                        : (uint64_t)CW_BODY_FORM_MOST,
        .bench = upload_bench,
        .owner = self,
    };
    const char *declared = header(self->connection, MHD_HTTP_HEADER_CONTENT_LENGTH);
    if (declared != NULL && strtoull(declared, NULL, 10) > goal.bytes_most + CW_BODY_DROP_MOST)
        return cw_fail(err, CW_RANGE, "%s bytes were announced; %llu MB is the most that is taken here", declared,
                       (unsigned long long)(goal.bytes_most / 1000000));
    return cw_body_new(self->connection, header(self->connection, MHD_HTTP_HEADER_CONTENT_TYPE), &goal, &self->body,
                       err);
}

static void keep_header(const char *value, char *out, size_t size)
{
    size_t length = value == NULL ? 0 : strnlen(value, size - 1);
    if (length > 0)
        memcpy(out, value, length);
    out[length] = '\0';
}

/* Everything that can be known from the head of the request. */
static cw_status take_head(call *self, const char *method, cw_error *err)
{
    cw_request *request = &self->request;
    request->house = self->place->house;
    request->htmx = header(self->connection, "HX-Request") != NULL;
    keep_header(header(self->connection, MHD_HTTP_HEADER_USER_AGENT), request->agent, sizeof request->agent);
    keep_header(header(self->connection, MHD_HTTP_HEADER_IF_NONE_MATCH), request->known_etag,
                sizeof request->known_etag);
    keep_header(header(self->connection, "Last-Event-ID"), request->last_event, sizeof request->last_event);
    keep_header(header(self->connection, MHD_HTTP_HEADER_HOST), request->host, sizeof request->host);
    cw_reader_read(header(self->connection, MHD_HTTP_HEADER_COOKIE),
                   header(self->connection, MHD_HTTP_HEADER_ACCEPT_LANGUAGE), &request->reader, &request->manner);
    self->writes = strcmp(method, "GET") != 0 && strcmp(method, "HEAD") != 0;
    request->writes = self->writes;
    if (self->raw_target == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the request");
    cw_status status = cw_target_parse(self->raw_target, &request->target, err);
    if (status != CW_OK) {
        cw_door_count(self->place->house->door, CW_DOOR_BAD_TARGET);
        return status;
    }
    cw_error missing;
    cw_status found =
        cw_route_find(self->writes ? method : "GET", &request->target, &self->route, &request->match, &missing);
    CW_TRY(pass_door(self, err)); /* before anything is told about which pages there are */
    if (found != CW_OK) {
        *err = missing;
        if (found == CW_INPUT)
            cw_door_count(self->place->house->door, CW_DOOR_METHOD);
        return found;
    }
    return self->writes ? expect_body(self, err) : CW_OK;
}

/* ---- the answer ---- */

static struct MHD_Response *response_of(call *self)
{
    cw_reply *reply = &self->reply;
    if (reply->is_stream)
        return cw_live_listen(self->place->house->live, self->connection, &self->request.manner, reply->stream_seen);
    if (reply->fd >= 0) {
        struct MHD_Response *response = MHD_create_response_from_fd64(reply->file_bytes, reply->fd);
        if (response != NULL)
            reply->fd = -1; /* the response closes it */
        return response;
    }
    if (reply->lasting != NULL) {
        union {
            const char *bytes;
            void *as_mhd_wants;
        } content = {reply->lasting};
        return MHD_create_response_from_buffer(reply->length, content.as_mhd_wants, MHD_RESPMEM_PERSISTENT);
    }
    struct MHD_Response *response =
        MHD_create_response_from_buffer(reply->bytes == NULL ? 0 : reply->length, reply->bytes, MHD_RESPMEM_MUST_FREE);
    if (response != NULL)
        reply->bytes = NULL;
    return response;
}

static void add_headers(call *self, struct MHD_Response *response)
{
    static const char *const always[][2] = {
        {"Content-Security-Policy",
         "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"},
        {"X-Content-Type-Options", "nosniff"},
        {"X-Frame-Options", "DENY"},
        {"Referrer-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {"Permissions-Policy", "geolocation=(), payment=(), usb=()"},
    };
    for (size_t i = 0; i < CW_COUNT(always); i++)
        MHD_add_response_header(response, always[i][0], always[i][1]);
    const cw_reply *reply = &self->reply;
    if (reply->type != NULL)
        MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_TYPE, reply->type);
    if (reply->location[0] != '\0')
        MHD_add_response_header(response, MHD_HTTP_HEADER_LOCATION, reply->location);
    MHD_add_response_header(response, MHD_HTTP_HEADER_CACHE_CONTROL,
                            reply->immutable ? "private, max-age=31536000, immutable" : "private, no-cache");
    if (reply->etag[0] != '\0')
        MHD_add_response_header(response, MHD_HTTP_HEADER_ETAG, reply->etag);
    if (reply->file_name[0] != '\0') {
        char disposition[sizeof reply->file_name + 32];
        snprintf(disposition, sizeof disposition, "attachment; filename=\"%s\"", reply->file_name);
        MHD_add_response_header(response, MHD_HTTP_HEADER_CONTENT_DISPOSITION, disposition);
    }
    if (reply->set_reader) {
        char reader[CW_READER_COOKIE];
        cw_reader_cookie(&self->request.reader, self->place->house->tls, reader, sizeof reader);
        MHD_add_response_header(response, MHD_HTTP_HEADER_SET_COOKIE, reader);
    }
    bool bounced = self->request.pass.bounce;
    if ((self->request.pass.fresh && !reply->immutable && !bounced) || reply->set_cookie) {
        char cookie[CW_SESSION_TEXT + 128];
        cw_door_cookie(self->place->house->door, &self->request.pass, cookie, sizeof cookie);
        MHD_add_response_header(response, MHD_HTTP_HEADER_SET_COOKIE, cookie);
    }
}

static enum MHD_Result send_reply(call *self)
{
    bool is_known = self->reply.etag[0] != '\0' && strcmp(self->reply.etag, self->request.known_etag) == 0;
    struct MHD_Response *response =
        is_known ? MHD_create_response_from_buffer(0, NULL, MHD_RESPMEM_PERSISTENT) : response_of(self);
    if (response == NULL)
        return MHD_NO;
    add_headers(self, response);
    unsigned code = is_known                          ? 304
                    : self->reply.code != 0           ? self->reply.code
                    : self->reply.location[0] != '\0' ? 303
                                                      : 200;
    enum MHD_Result queued = MHD_queue_response(self->connection, code, response);
    MHD_destroy_response(response);
    return queued;
}

static enum MHD_Result send_error(call *self, const cw_error *err)
{
    cw_reply_error(&self->request, &self->reply, err);
    return send_reply(self);
}

static void run_on_worker(cw_work *work, cw_bench *bench)
{
    call *self = (call *)work;
    self->request.bench = self->own_bench != NULL ? self->own_bench : bench;
    cw_dispatch(self->route, &self->request, &self->reply);
    self->done = true;
    MHD_resume_connection(self->connection);
}

/* The request is whole: to a worker, or answered here when it needs none. */
static enum MHD_Result hand_over(call *self)
{
    cw_error err = {0};
    cw_line_whole(self->place->watch, cw_watch_line(self->connection));
    if (self->body != NULL && cw_body_end(self->body, &err) != CW_OK) {
        self->request.too_large = err.status == CW_RANGE;
        if (self->request.too_large)
            cw_door_count(self->place->house->door, CW_DOOR_TOO_LARGE);
        self->request.problem = err;
    }
    if ((self->route->flags & CW_ROUTE_QUICK) != 0) {
        cw_dispatch(self->route, &self->request, &self->reply);
        return send_reply(self);
    }
    self->queued = true;
    self->work.run = run_on_worker;
    MHD_suspend_connection(self->connection); /* before the worker can know of it, or its wake-up would be lost */
    cw_lanes_add(self->place->lanes, (self->route->flags & CW_ROUTE_HEAVY) != 0 ? CW_LANE_SLOW : CW_LANE_QUICK,
                 &self->work);
    return MHD_YES;
}

static enum MHD_Result begin(call *self, cw_call_place *place, struct MHD_Connection *connection, const char *method)
{
    self->begun = true;
    self->place = place;
    self->connection = connection;
    cw_reply_init(&self->reply);
    cw_error err = {0};
    cw_status status = take_head(self, method, &err);
    cw_line_request(place->watch, cw_watch_line(connection), self->body != NULL);
    if (status == CW_OK)
        return MHD_YES;
    /* Nothing of a refused body is read: the answer goes out and the line is closed. */
    self->request.too_large = err.status == CW_RANGE;
    if (self->request.too_large)
        cw_door_count(place->house->door, CW_DOOR_TOO_LARGE);
    self->refused = err;
    return send_error(self, &err);
}

enum MHD_Result cw_call_answer(void *place, struct MHD_Connection *connection, const char *url, const char *method,
                               const char *version, const char *body, size_t *body_size, void **context)
{
    (void)url;
    (void)version;
    call *self = *context;
    if (self == NULL)
        return MHD_NO; /* no memory: the line is cut */
    if (!self->begun)
        return begin(self, place, connection, method);
    if (*body_size > 0) {
        bool go_on = self->body == NULL || cw_body_feed(self->body, body, *body_size);
        cw_line_bytes(self->place->watch, cw_watch_line(connection), *body_size);
        *body_size = 0;
        return go_on ? MHD_YES : MHD_NO;
    }
    if (self->refused.status != CW_OK)
        return MHD_YES;
    if (!self->queued)
        return hand_over(self);
    return self->done ? send_reply(self) : MHD_YES;
}

void cw_call_completed(void *place, struct MHD_Connection *connection, void **context,
                       enum MHD_RequestTerminationCode code)
{
    (void)code;
    call *self = *context;
    if (self == NULL)
        return;
    *context = NULL;
    cw_line_done(((cw_call_place *)place)->watch, cw_watch_line(connection));
    cw_body_free(self->body);
    cw_request_free(&self->request); /* abandons what was uploaded and not taken over */
    if (self->begun)
        cw_reply_free(&self->reply);
    cw_bench_close(self->own_bench);
    free(self->raw_target);
    free(self);
}
