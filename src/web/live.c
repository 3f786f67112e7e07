/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/live.h"

#include <inttypes.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "web/live_message.h"

/* Shared by those who are reading it; gone with the last of them. */
typedef struct {
    size_t users;
    uint64_t number;
    char *text;
    size_t length;
} message;

/* What those who read in one manner get. */
typedef struct {
    cw_manner manner;
    size_t listeners;
    message *state, *level;
} edition;

enum { EDITIONS = 8 };

typedef struct listener {
    cw_live *live;
    edition *edition;
    struct MHD_Connection *connection;
    message *now; /* being sent */
    size_t at;
    uint64_t seen, seen_level, seen_beat;
    bool suspended;
    struct listener *previous, *next;
} listener;

struct cw_live {
    cw_desk *desk;
    cw_error trouble; /* why there is no desk */
    pthread_t thread;
    bool running;
    pthread_mutex_t lock; /* over what follows. MHD is called under it only to suspend and resume */
    pthread_cond_t came;
    bool ending;
    size_t count;
    listener *listeners;
    edition editions[EDITIONS];
    message *beat;
};

static message *message_new(uint64_t number, cw_buf *text)
{
    message *made = calloc(1, sizeof *made);
    cw_error ignored;
    size_t length = text->length;
    if (made == NULL || cw_buf_take(text, &made->text, &ignored) != CW_OK) {
        free(made);
        cw_buf_free(text);
        return NULL;
    }
    made->users = 1;
    made->number = number;
    made->length = length;
    return made;
}

static void message_drop(message *one)
{
    if (one == NULL || --one->users > 0)
        return;
    free(one->text);
    free(one);
}

/* Locked. */
static void put(message **place, message *fresh)
{
    if (fresh == NULL)
        return; /* no memory: the old one stands, the next change tries again */
    message_drop(*place);
    *place = fresh;
}

/* Locked. */
static void wake_all(cw_live *live)
{
    for (listener *one = live->listeners; one != NULL; one = one->next)
        if (one->suspended) {
            one->suspended = false;
            MHD_resume_connection(one->connection);
        }
}

/* ---- making the messages ---- */

static message *make_state(const cw_desk_view *view)
{
    cw_buf text = cw_buf_new(CW_LIVE_MESSAGE_MOST);
    cw_live_state_message(view, &text);
    return message_new(view->number, &text);
}

static message *make_level(const cw_desk_level *level)
{
    cw_buf text = cw_buf_new(CW_LIVE_MESSAGE_MOST);
    cw_live_level_message(level, &text);
    return message_new(level->number, &text);
}

static message *make_beat(uint64_t number)
{
    cw_buf text = cw_buf_new(16);
    cw_buf_text(&text, ":\n\n");
    return message_new(number, &text);
}

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

typedef struct {
    uint64_t state, level, beat;
    double level_at_s, beat_at_s;
    cw_desk_level copy;
} made_so_far;

/* One edition's messages; view and level are NULL where nothing is new. */
static void renew(cw_live *live, edition *one, const cw_desk_view *view, const cw_desk_level *level)
{
    pthread_mutex_lock(&live->lock);
    cw_manner manner = one->manner;
    bool is_read = one->listeners > 0;
    pthread_mutex_unlock(&live->lock);
    if (!is_read)
        return;
    cw_manner_use(&manner);
    message *state = view != NULL ? make_state(view) : NULL, *now = level != NULL ? make_level(level) : NULL;
    cw_manner_use(NULL);
    pthread_mutex_lock(&live->lock);
    put(&one->state, state);
    put(&one->level, now);
    wake_all(live);
    pthread_mutex_unlock(&live->lock);
}

/* An edition with its first listener has nothing to show yet. */
static bool any_is_bare(cw_live *live)
{
    bool bare = false;
    pthread_mutex_lock(&live->lock);
    for (size_t i = 0; i < EDITIONS; i++)
        bare = bare || (live->editions[i].listeners > 0 && live->editions[i].state == NULL);
    pthread_mutex_unlock(&live->lock);
    return bare;
}

static void beat_on(cw_live *live, made_so_far *made, double now)
{
    message *beat = make_beat(made->beat + 1);
    if (beat == NULL)
        return;
    made->beat = beat->number;
    made->beat_at_s = now;
    pthread_mutex_lock(&live->lock);
    put(&live->beat, beat);
    wake_all(live);
    pthread_mutex_unlock(&live->lock);
}

/* What has changed since the last turn, handed to whoever waits. Levels four times a second are enough for an eye. */
static void one_turn(cw_live *live, made_so_far *made)
{
    static const double level_every_s = 0.25;
    bool level_due = now_s() - made->level_at_s >= level_every_s;
    cw_desk_wait(live->desk, made->state, level_due ? made->level : CW_DESK_ANY_LEVEL, level_due ? 0.5 : 0.05);
    cw_desk_view *view = NULL;
    cw_error ignored; /* no memory: the old state stands, the next turn tries again */
    if (cw_desk_number(live->desk) != made->state || any_is_bare(live))
        if (cw_desk_look(live->desk, &view, &ignored) == CW_OK)
            made->state = view->number;
    if (level_due) {
        cw_desk_levels(live->desk, &made->copy);
        level_due = made->copy.number != made->level;
        made->level = made->copy.number;
        made->level_at_s = now_s();
    }
    for (size_t i = 0; i < EDITIONS; i++)
        renew(live, &live->editions[i], view, level_due ? &made->copy : NULL);
    cw_desk_view_free(view);
    if (now_s() - made->beat_at_s >= CW_LIVE_BEAT_S)
        beat_on(live, made, now_s());
}

static void *tell(void *argument)
{
    cw_live *live = argument;
    made_so_far *made = calloc(1, sizeof *made);
    if (made == NULL)
        return NULL;
    made->beat_at_s = now_s();
    for (;;) {
        pthread_mutex_lock(&live->lock);
        while (!live->ending && live->count == 0)
            pthread_cond_wait(&live->came, &live->lock);
        bool ending = live->ending;
        pthread_mutex_unlock(&live->lock);
        if (ending)
            break;
        one_turn(live, made);
    }
    free(made);
    return NULL;
}

/* ---- one listener; these run in the server's own thread ---- */

/* Locked. The next thing this listener has not had. */
static message *next_for(listener *one)
{
    const cw_live *live = one->live;
    const edition *mine = one->edition;
    if (mine->state != NULL && mine->state->number != one->seen) {
        one->seen = mine->state->number;
        return mine->state;
    }
    if (mine->level != NULL && mine->level->number != one->seen_level) {
        one->seen_level = mine->level->number;
        return mine->level;
    }
    if (live->beat != NULL && live->beat->number != one->seen_beat) {
        one->seen_beat = live->beat->number;
        return live->beat;
    }
    return NULL;
}

/* Locked. */
static ssize_t give(listener *one, char *buf, size_t most)
{
    if (one->now != NULL && one->at == one->now->length) {
        message_drop(one->now);
        one->now = NULL;
    }
    if (one->live->ending)
        return MHD_CONTENT_READER_END_OF_STREAM;
    if (one->now == NULL) {
        one->now = next_for(one);
        one->at = 0;
        if (one->now == NULL) {
            one->suspended = true;
            MHD_suspend_connection(one->connection);
            return 0;
        }
        one->now->users++;
    }
    size_t left = one->now->length - one->at, count = left < most ? left : most;
    memcpy(buf, one->now->text + one->at, count);
    one->at += count;
    return (ssize_t)count;
}

static ssize_t on_read(void *context, uint64_t position, char *buf, size_t most)
{
    (void)position;
    listener *one = context;
    pthread_mutex_lock(&one->live->lock);
    ssize_t count = give(one, buf, most);
    pthread_mutex_unlock(&one->live->lock);
    return count;
}

/* Locked. Nobody is to get an old state later. */
static void leave_edition(edition *left)
{
    if (--left->listeners > 0)
        return;
    message_drop(left->state);
    message_drop(left->level);
    left->state = left->level = NULL;
}

/* Locked. The edition of that manner, or a free one; the first where there is none. */
static edition *join_edition(cw_live *live, const cw_manner *manner)
{
    edition *found = NULL;
    for (size_t i = 0; i < EDITIONS; i++) {
        edition *one = &live->editions[i];
        bool is_same = one->manner.words == manner->words && one->manner.comma == manner->comma &&
                       one->manner.inches == manner->inches;
        if (one->listeners > 0 ? is_same : found == NULL)
            found = one;
        if (one->listeners > 0 && is_same)
            break;
    }
    if (found == NULL)
        found = &live->editions[0];
    else if (found->listeners == 0)
        found->manner = *manner;
    found->listeners++;
    return found;
}

static void on_free(void *context)
{
    listener *one = context;
    cw_live *live = one->live;
    pthread_mutex_lock(&live->lock);
    if (one->previous != NULL)
        one->previous->next = one->next;
    else
        live->listeners = one->next;
    if (one->next != NULL)
        one->next->previous = one->previous;
    live->count--;
    message_drop(one->now);
    leave_edition(one->edition);
    pthread_mutex_unlock(&live->lock);
    free(one);
}

size_t cw_live_listeners(cw_live *live)
{
    pthread_mutex_lock(&live->lock);
    size_t count = live->count;
    pthread_mutex_unlock(&live->lock);
    return count;
}

struct MHD_Response *cw_live_listen(cw_live *live, struct MHD_Connection *connection, const cw_manner *manner,
                                    uint64_t seen)
{
    enum { BLOCK = 16 * 1024 };
    if (!live->running || cw_live_listeners(live) >= CW_LIVE_LISTENERS_MOST)
        return NULL;
    listener *one = calloc(1, sizeof *one);
    if (one == NULL)
        return NULL;
    *one = (listener){.live = live, .connection = connection, .seen = seen};
    struct MHD_Response *response = MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, BLOCK, on_read, one, on_free);
    if (response == NULL) {
        free(one);
        return NULL;
    }
    pthread_mutex_lock(&live->lock);
    one->edition = join_edition(live, manner);
    one->seen_beat = live->beat != NULL ? live->beat->number : 0;
    one->next = live->listeners;
    if (one->next != NULL)
        one->next->previous = one;
    live->listeners = one;
    live->count++;
    pthread_cond_signal(&live->came);
    pthread_mutex_unlock(&live->lock);
    return response;
}

/* ---- life ---- */

cw_status cw_live_new(const char *folder, cw_live **live, cw_error *err)
{
    cw_live *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the live desk");
    pthread_mutex_init(&made->lock, NULL);
    pthread_cond_init(&made->came, NULL);
    *live = made;
    if (cw_desk_new(folder, &made->desk, &made->trouble) != CW_OK) {
        cw_context(&made->trouble, "live measuring is shut");
        return CW_OK;
    }
    made->running = pthread_create(&made->thread, NULL, tell, made) == 0;
    if (made->running)
        return CW_OK;
    cw_live_free(made);
    *live = NULL;
    return cw_fail(err, CW_MEMORY, "no thread could be started for the live desk");
}

cw_status cw_live_desk(cw_live *live, cw_desk **desk, cw_error *err)
{
    if (live->desk == NULL)
        return cw_fail(err, live->trouble.status, "%s", live->trouble.text);
    *desk = live->desk;
    return CW_OK;
}

void cw_live_end(cw_live *live)
{
    if (live == NULL)
        return;
    pthread_mutex_lock(&live->lock);
    live->ending = true;
    wake_all(live);
    pthread_cond_signal(&live->came);
    pthread_mutex_unlock(&live->lock);
    if (live->running)
        pthread_join(live->thread, NULL);
    live->running = false;
}

void cw_live_free(cw_live *live)
{
    if (live == NULL)
        return;
    message_drop(live->beat);
    cw_desk_free(live->desk);
    pthread_cond_destroy(&live->came);
    pthread_mutex_destroy(&live->lock);
    free(live);
}
