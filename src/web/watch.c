/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/watch.h"

#include <pthread.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

typedef enum { WAITING, RECEIVING, ANSWERING } line_state;

struct cw_line {
    int fd;
    line_state state;
    int64_t since_s;
    uint64_t bytes;
    bool cut;
    cw_line *previous, *next;
};

struct cw_watch {
    cw_door *door;
    int64_t patience_s;
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t ended;
    bool ending;
    size_t busy;
    cw_line *lines;
};

static int64_t now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

static bool is_too_slow(const cw_line *line, int64_t now, int64_t patience_s)
{
    int64_t age = now - line->since_s;
    if (line->state == WAITING)
        return age > patience_s;
    return line->state == RECEIVING && age > patience_s && line->bytes < (uint64_t)age * CW_WATCH_BODY_RATE;
}

/* The socket is only shut; closing it is the server's. */
static void look(cw_watch *watch)
{
    int64_t now = now_s();
    for (cw_line *line = watch->lines; line != NULL; line = line->next) {
        if (line->cut || !is_too_slow(line, now, watch->patience_s))
            continue;
        line->cut = true;
        shutdown(line->fd, SHUT_RDWR);
        cw_door_count(watch->door, CW_DOOR_SLOW);
    }
}

static void *look_now_and_then(void *argument)
{
    cw_watch *watch = argument;
    pthread_mutex_lock(&watch->lock);
    while (!watch->ending) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec += watch->patience_s > 12 ? 3 : 1;
        pthread_cond_timedwait(&watch->ended, &watch->lock, &until);
        look(watch);
    }
    pthread_mutex_unlock(&watch->lock);
    return NULL;
}

cw_status cw_watch_new(cw_door *door, unsigned patience_s, cw_watch **watch, cw_error *err)
{
    cw_watch *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to watch the connections");
    made->door = door;
    made->patience_s = patience_s > 0 ? patience_s : CW_WATCH_PATIENCE_S;
    pthread_mutex_init(&made->lock, NULL);
    pthread_cond_init(&made->ended, NULL);
    if (pthread_create(&made->thread, NULL, look_now_and_then, made) != 0) {
        free(made);
        return cw_fail(err, CW_MEMORY, "no thread could be started for the web server");
    }
    *watch = made;
    return CW_OK;
}

void cw_watch_free(cw_watch *watch)
{
    if (watch == NULL)
        return;
    pthread_mutex_lock(&watch->lock);
    watch->ending = true;
    pthread_cond_signal(&watch->ended);
    pthread_mutex_unlock(&watch->lock);
    pthread_join(watch->thread, NULL);
    pthread_cond_destroy(&watch->ended);
    pthread_mutex_destroy(&watch->lock);
    free(watch);
}

static void add_line(cw_watch *watch, struct MHD_Connection *connection, void **context)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    cw_line *line = info == NULL ? NULL : calloc(1, sizeof *line);
    *context = line;
    if (line == NULL)
        return; /* served all the same, only not watched */
    *line = (cw_line){.fd = info->connect_fd, .state = WAITING, .since_s = now_s(), .next = watch->lines};
    if (line->next != NULL)
        line->next->previous = line;
    watch->lines = line;
}

static void remove_line(cw_watch *watch, cw_line *line)
{
    if (line->state != WAITING)
        watch->busy--;
    if (line->previous != NULL)
        line->previous->next = line->next;
    else
        watch->lines = line->next;
    if (line->next != NULL)
        line->next->previous = line->previous;
    free(line);
}

void cw_watch_connection(void *argument, struct MHD_Connection *connection, void **context,
                         enum MHD_ConnectionNotificationCode code)
{
    cw_watch *watch = argument;
    pthread_mutex_lock(&watch->lock);
    if (code == MHD_CONNECTION_NOTIFY_STARTED)
        add_line(watch, connection, context);
    else if (*context != NULL)
        remove_line(watch, *context);
    pthread_mutex_unlock(&watch->lock);
}

cw_line *cw_watch_line(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info == NULL ? NULL : info->socket_context;
}

static void change(cw_watch *watch, cw_line *line, line_state state)
{
    if (line == NULL)
        return;
    pthread_mutex_lock(&watch->lock);
    watch->busy += (size_t)(line->state == WAITING && state != WAITING);
    watch->busy -= (size_t)(line->state != WAITING && state == WAITING);
    line->state = state;
    line->since_s = now_s();
    line->bytes = 0;
    pthread_mutex_unlock(&watch->lock);
}

void cw_line_request(cw_watch *watch, cw_line *line, bool body)
{
    change(watch, line, body ? RECEIVING : ANSWERING);
}

void cw_line_bytes(cw_watch *watch, cw_line *line, size_t count)
{
    if (line == NULL)
        return;
    pthread_mutex_lock(&watch->lock);
    line->bytes += count;
    pthread_mutex_unlock(&watch->lock);
}

void cw_line_whole(cw_watch *watch, cw_line *line)
{
    change(watch, line, ANSWERING);
}

void cw_line_done(cw_watch *watch, cw_line *line)
{
    change(watch, line, WAITING);
}

size_t cw_watch_busy(cw_watch *watch)
{
    pthread_mutex_lock(&watch->lock);
    size_t busy = watch->busy;
    pthread_mutex_unlock(&watch->lock);
    return busy;
}
