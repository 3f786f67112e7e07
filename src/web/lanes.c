/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/lanes.h"

#include <pthread.h>
#include <stdlib.h>

enum { WORKERS_A_LANE = 2 };

typedef struct {
    pthread_mutex_t lock;
    pthread_cond_t filled;
    cw_work *first, *last;
    bool closing;
} queue;

typedef struct {
    pthread_t thread;
    bool running;
    queue *from;
    cw_bench *bench;
} worker;

struct cw_lanes {
    queue queues[CW_LANE_COUNT];
    worker workers[CW_LANE_COUNT][WORKERS_A_LANE];
};

/* The next piece of work, NULL when the lane closes and nothing is left. */
static cw_work *next_work(queue *from)
{
    pthread_mutex_lock(&from->lock);
    while (from->first == NULL && !from->closing)
        pthread_cond_wait(&from->filled, &from->lock);
    cw_work *work = from->first;
    if (work != NULL) {
        from->first = work->next;
        if (from->first == NULL)
            from->last = NULL;
    }
    pthread_mutex_unlock(&from->lock);
    return work;
}

static void *work_on(void *argument)
{
    worker *self = argument;
    for (cw_work *work = next_work(self->from); work != NULL; work = next_work(self->from))
        work->run(work, self->bench);
    return NULL;
}

/* The first handle makes or mends the bench; a disk that cannot be written is still good for reading. */
static cw_status open_bench(const char *folder, cw_bench **bench, cw_error *err)
{
    cw_status status = cw_bench_open(folder, CW_BENCH_CREATE, bench, err);
    if (status != CW_FILE)
        return status;
    cw_error second;
    return cw_bench_open(folder, CW_BENCH_READ, bench, &second) == CW_OK ? CW_OK : status;
}

static cw_status start_worker(worker *self, queue *from, const char *folder, cw_error *err)
{
    CW_TRY(open_bench(folder, &self->bench, err));
    self->from = from;
    if (pthread_create(&self->thread, NULL, work_on, self) != 0)
        return cw_fail(err, CW_MEMORY, "no thread could be started for the web server");
    self->running = true;
    return CW_OK;
}

cw_status cw_lanes_new(const char *folder, cw_lanes **lanes, cw_error *err)
{
    cw_lanes *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the web server's workers");
    cw_status status = CW_OK;
    for (size_t lane = 0; lane < CW_LANE_COUNT; lane++) {
        pthread_mutex_init(&made->queues[lane].lock, NULL);
        pthread_cond_init(&made->queues[lane].filled, NULL);
    }
    for (size_t lane = 0; lane < CW_LANE_COUNT; lane++)
        for (size_t i = 0; i < WORKERS_A_LANE && status == CW_OK; i++)
            status = start_worker(&made->workers[lane][i], &made->queues[lane], folder, err);
    if (status != CW_OK) {
        cw_lanes_free(made);
        return status;
    }
    *lanes = made;
    return CW_OK;
}

static void close_queue(queue *one)
{
    pthread_mutex_lock(&one->lock);
    one->closing = true;
    pthread_cond_broadcast(&one->filled);
    pthread_mutex_unlock(&one->lock);
}

void cw_lanes_free(cw_lanes *lanes)
{
    if (lanes == NULL)
        return;
    for (size_t lane = 0; lane < CW_LANE_COUNT; lane++)
        close_queue(&lanes->queues[lane]);
    for (size_t lane = 0; lane < CW_LANE_COUNT; lane++) {
        for (size_t i = 0; i < WORKERS_A_LANE; i++) {
            if (lanes->workers[lane][i].running)
                pthread_join(lanes->workers[lane][i].thread, NULL);
            cw_bench_close(lanes->workers[lane][i].bench);
        }
        pthread_cond_destroy(&lanes->queues[lane].filled);
        pthread_mutex_destroy(&lanes->queues[lane].lock);
    }
    free(lanes);
}

void cw_lanes_add(cw_lanes *lanes, cw_lane lane, cw_work *work)
{
    queue *to = &lanes->queues[lane];
    work->next = NULL;
    pthread_mutex_lock(&to->lock);
    if (to->last != NULL)
        to->last->next = work;
    else
        to->first = work;
    to->last = work;
    pthread_cond_signal(&to->filled);
    pthread_mutex_unlock(&to->lock);
}
