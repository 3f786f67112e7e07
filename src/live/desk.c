/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The desk's life: begin, listen, rest, keep, and what it shows. */
#include "live/desk.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "live/desk_inside.h"
#include "shutter/inner.h"

static const double dark_s = 45; /* listening this long without a shot: said once */

double desk_now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

void desk_changed(cw_desk *desk)
{
    desk->number++;
    pthread_cond_broadcast(&desk->changed);
}

static void add_notice(cw_desk *desk, bool is_trouble, const char *text)
{
    size_t keep = desk->notice_count < CW_DESK_NOTICES ? desk->notice_count : CW_DESK_NOTICES - 1;
    memmove(desk->notices + 1, desk->notices, keep * sizeof *desk->notices);
    desk->notice_count = keep + 1;
    cw_desk_notice *notice = &desk->notices[0];
    *notice = (cw_desk_notice){.is_trouble = is_trouble, .shots = desk->shot_count, .number = desk->number + 1};
    snprintf(notice->text, sizeof notice->text, "%s", text);
    time_t now = time(NULL);
    struct tm parts;
    if (localtime_r(&now, &parts) != NULL)
        strftime(notice->at, sizeof notice->at, "%H:%M:%S", &parts);
    desk_changed(desk);
}

void desk_say_locked(cw_desk *desk, bool is_trouble, const char *format, ...)
{
    char text[CW_DESK_NOTICE_TEXT];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    add_notice(desk, is_trouble, text);
}

void desk_say(cw_desk *desk, bool is_trouble, const char *format, ...)
{
    char text[CW_DESK_NOTICE_TEXT];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    pthread_mutex_lock(&desk->lock);
    add_notice(desk, is_trouble, text);
    pthread_mutex_unlock(&desk->lock);
}

cw_status desk_note(cw_desk *desk, json_t *line, cw_error *err)
{
    if (desk->journal != NULL)
        return cw_journal_add(desk->journal, line, err);
    json_decref(line);
    return CW_OK;
}

void desk_watch_dark(cw_desk *desk, double now_s)
{
    pthread_mutex_lock(&desk->lock);
    if (isnan(desk->listening_since_s))
        desk->listening_since_s = now_s;
    if (!desk->dark_told && now_s - desk->listening_since_s > dark_s) {
        desk->dark_told = true;
        add_notice(desk, true,
                   "no shot was seen since listening began: is the lamp on, the lens uncapped and open, and does its "
                   "light reach the sensors?");
    }
    pthread_mutex_unlock(&desk->lock);
}

/* ---- shots ---- */

/* Locked. The mark a new shot is taken for: what is set now; when all is fired, what the last shot was. */
static double mark_for_new(const cw_desk *desk)
{
    bool is_chosen, is_complete;
    double next_s = desk_next(desk, &is_chosen, &is_complete);
    if (isnan(next_s) && desk->shot_count > 0)
        next_s = desk->shots[desk->shot_count - 1].show.shot.marked_s;
    if (isnan(next_s) && desk->setup.plan.marks.count > 0)
        next_s = desk->setup.plan.marks.marked_s[desk->setup.plan.marks.count - 1];
    return next_s;
}

static void count_choice(cw_desk *desk, const cw_shot *shot)
{
    if (desk->chosen_left > 0 && !shot->incomplete && cw_same_mark(shot->marked_s, desk->chosen_s))
        desk->chosen_left--;
}

void desk_put_shot(cw_desk *desk, size_t index, const cw_desk_shot *given, json_t *lines)
{
    cw_error err;
    bool is_new = index >= desk->shot_count;
    cw_desk_shot shot = *given;
    if (is_new && desk->shot_count == CW_DESK_SHOTS_MOST) {
        json_decref(lines);
        desk_say_locked(desk, true, "%d shots are in this test, the most it holds; keep it and begin another",
                        CW_DESK_SHOTS_MOST);
        return;
    }
    if (is_new) {
        index = desk->shot_count;
        shot.shot.marked_s = mark_for_new(desk);
    } else {
        const cw_shot *old = &desk->shots[index].show.shot;
        shot.shot.marked_s = old->marked_s;
        shot.shot.struck = old->struck;
        if (old->struck)
            memcpy(shot.shot.remark, old->remark, sizeof shot.shot.remark);
    }
    if (desk_note(desk, desk_shot_line(desk, index, &shot, lines), &err) != CW_OK) {
        json_decref(lines);
        desk_say_locked(desk, true, "a shot was seen but cannot be kept, so it is not shown: %.200s", err.text);
        return;
    }
    if (!is_new)
        json_decref(desk->shots[index].lines);
    desk->shots[index] = (desk_shot){shot, lines};
    desk->dark_told = true; /* light reaches the sensors */
    if (is_new) {
        desk->shot_count++;
        count_choice(desk, &shot.shot);
    }
    desk_changed(desk);
}

void desk_drop_shots(cw_desk *desk, size_t count)
{
    cw_error err;
    if (count >= desk->shot_count)
        return;
    if (desk_note(desk, json_pack("{s:s,s:I}", "kind", "only", "shots", (json_int_t)count), &err) != CW_OK) {
        desk_say_locked(desk, true, "%.300s", err.text);
        return;
    }
    while (desk->shot_count > count)
        json_decref(desk->shots[--desk->shot_count].lines);
    desk_changed(desk);
}

static cw_status find_shot(cw_desk *desk, size_t number, cw_desk_shot **shot, cw_error *err)
{
    if (number < 1 || number > desk->shot_count)
        return cw_fail(err, CW_NOT_FOUND, "there is no shot %zu; %zu were seen", number, desk->shot_count);
    *shot = &desk->shots[number - 1].show;
    return CW_OK;
}

static size_t struck_count(const cw_desk *desk)
{
    size_t count = 0;
    for (size_t i = 0; i < desk->shot_count; i++)
        count += desk->shots[i].show.shot.struck;
    return count;
}

static cw_status strike(cw_desk *desk, size_t number, bool out, const char *reason, cw_error *err)
{
    cw_desk_shot *shot = NULL;
    CW_TRY(find_shot(desk, number, &shot, err));
    if (out && !shot->shot.struck && struck_count(desk) >= CW_STRIKES_MOST)
        return cw_fail(err, CW_RANGE, "%d shots are struck out, the most a test keeps; begin another test",
                       CW_STRIKES_MOST);
    if (strlen(reason) >= sizeof shot->shot.remark)
        return cw_fail(err, CW_INPUT, "a reason of %zu letters is too long; %zu fit", strlen(reason),
                       sizeof shot->shot.remark - 1);
    CW_TRY(desk_note(
        desk,
        json_pack("{s:s,s:I,s:b,s:s}", "kind", "strike", "shot", (json_int_t)number, "out", (int)out, "reason", reason),
        err));
    shot->shot.struck = out;
    if (!shot->shot.incomplete)
        snprintf(shot->shot.remark, sizeof shot->shot.remark, "%s", reason);
    desk_changed(desk);
    return CW_OK;
}

cw_status cw_desk_strike(cw_desk *desk, size_t number, const char *reason, cw_error *err)
{
    pthread_mutex_lock(&desk->lock);
    cw_status status = strike(desk, number, true, reason != NULL ? reason : "", err);
    pthread_mutex_unlock(&desk->lock);
    return status;
}

cw_status cw_desk_unstrike(cw_desk *desk, size_t number, cw_error *err)
{
    pthread_mutex_lock(&desk->lock);
    cw_status status = strike(desk, number, false, "", err);
    pthread_mutex_unlock(&desk->lock);
    return status;
}

cw_status cw_desk_remark(cw_desk *desk, size_t number, double marked_s, cw_error *err)
{
    cw_desk_shot *shot = NULL;
    pthread_mutex_lock(&desk->lock);
    cw_status status = find_shot(desk, number, &shot, err);
    if (status == CW_OK && !(marked_s >= 1e-5 && marked_s <= 60))
        status = cw_fail(err, CW_RANGE, "a marked speed of %g s cannot be; 1/100000 to 60 s can", marked_s);
    if (status == CW_OK)
        status = desk_note(
            desk, json_pack("{s:s,s:I,s:f}", "kind", "mark", "shot", (json_int_t)number, "marked_s", marked_s), err);
    if (status == CW_OK) {
        shot->shot.marked_s = marked_s;
        desk_changed(desk);
    }
    pthread_mutex_unlock(&desk->lock);
    return status;
}

/* ---- life ---- */

static cw_status load(cw_desk *desk, cw_error *err)
{
    if (desk->folder[0] == '\0' || !cw_journal_there(desk->folder))
        return CW_OK;
    cw_error busy;
    cw_status status = cw_journal_open(desk->folder, &desk->journal, &busy);
    if (status == CW_CONFLICT)
        return CW_OK; /* another program measures now; beginning here will say so */
    if (status != CW_OK) {
        *err = busy;
        return status;
    }
    return desk_restore(desk, err);
}

cw_status cw_desk_new(const char *folder, cw_desk **desk, cw_error *err)
{
    cw_desk *made = calloc(1, sizeof *made);
    if (made != NULL)
        made->shots = calloc(CW_DESK_SHOTS_MOST, sizeof *made->shots);
    if (made == NULL || made->shots == NULL) {
        free(made);
        return cw_fail(err, CW_MEMORY, "no memory for the live desk");
    }
    pthread_mutex_init(&made->control, NULL);
    pthread_mutex_init(&made->lock, NULL);
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(&made->changed, &monotonic);
    pthread_condattr_destroy(&monotonic);
    made->number = 1000 * (uint64_t)time(NULL); /* a browser that listened before a restart has a smaller one */
    made->listening_since_s = NAN;
    cw_status status = CW_OK;
    if (folder != NULL && strlen(folder) >= sizeof made->folder)
        status = cw_fail(err, CW_INPUT, "the bench's path is too long");
    else if (folder != NULL)
        memcpy(made->folder, folder, strlen(folder) + 1);
    if (status == CW_OK)
        status = load(made, err);
    if (status != CW_OK) {
        cw_desk_free(made);
        return status;
    }
    *desk = made;
    return CW_OK;
}

static void forget(cw_desk *desk)
{
    for (size_t i = 0; i < desk->shot_count; i++)
        json_decref(desk->shots[i].lines);
    desk->shot_count = 0;
    desk->notice_count = 0;
    desk->chosen_left = 0;
    desk->samples = 0;
    desk->gap_count = 0;
    desk->state = CW_DESK_FREE;
    desk->found_unfinished = false;
    desk->level = (cw_desk_level){.number = desk->level.number};
}

static void *listen(void *argument)
{
    cw_desk *desk = argument;
    cw_error err = {0};
    cw_status status = desk->setup.source.kind == CW_DESK_GATE ? desk_run_gate(desk, &err) : desk_run_sound(desk, &err);
    pthread_mutex_lock(&desk->lock);
    desk->state = CW_DESK_RESTS;
    if (status != CW_OK)
        add_notice(desk, true, err.text);
    desk_changed(desk);
    pthread_mutex_unlock(&desk->lock);
    return NULL;
}

/* Control held. */
static void end_thread(cw_desk *desk)
{
    if (!desk->has_thread)
        return;
    atomic_store(&desk->stopping, true);
    pthread_join(desk->thread, NULL);
    desk->has_thread = false;
}

/* Control held, lock not. */
static cw_status start_thread(cw_desk *desk, cw_error *err)
{
    end_thread(desk);
    atomic_store(&desk->stopping, false);
    pthread_mutex_lock(&desk->lock);
    desk->state = CW_DESK_LISTENS;
    desk->found_unfinished = false;
    desk->listening_since_s = NAN;
    desk->dark_told = false;
    desk_changed(desk);
    pthread_mutex_unlock(&desk->lock);
    desk->has_thread = pthread_create(&desk->thread, NULL, listen, desk) == 0;
    if (desk->has_thread)
        return CW_OK;
    pthread_mutex_lock(&desk->lock);
    desk->state = CW_DESK_RESTS;
    desk_changed(desk);
    pthread_mutex_unlock(&desk->lock);
    return cw_fail(err, CW_MEMORY, "no thread could be started to listen");
}

void cw_desk_free(cw_desk *desk)
{
    if (desk == NULL)
        return;
    end_thread(desk);
    cw_journal_close(desk->journal);
    forget(desk);
    free(desk->shots);
    pthread_cond_destroy(&desk->changed);
    pthread_mutex_destroy(&desk->lock);
    pthread_mutex_destroy(&desk->control);
    free(desk);
}

static cw_status check_setup(const cw_desk_setup *setup, cw_error *err)
{
    const cw_desk_source *source = &setup->source;
    if (setup->plan.marks.count == 0)
        return cw_fail(err, CW_INPUT, "say which speeds will be fired: 1, 1/2, 1/4 ...");
    for (size_t i = 0; i < setup->plan.marks.count; i++)
        if (!(setup->plan.marks.marked_s[i] > 0))
            return cw_fail(err, CW_INPUT, "B and T are not timed by the shutter; leave them out of a live test");
    if (source->kind == CW_DESK_GATE && setup->plan.measure.sensor_count > CW_GATE_SENSORS)
        return cw_fail(err, CW_INPUT, "%zu places of sensors are given; the gate has %d",
                       setup->plan.measure.sensor_count, CW_GATE_SENSORS);
    if (source->kind != CW_DESK_SOUND)
        return CW_OK;
    if (source->channels < 1 || source->channels > CW_CHANNELS_MOST)
        return cw_fail(err, CW_INPUT, "%zu channels; 1 to %d can be listened to", source->channels, CW_CHANNELS_MOST);
    for (size_t i = 0; i < source->input_count; i++)
        if (source->inputs[i] < 1 || source->inputs[i] > source->channels)
            return cw_fail(err, CW_INPUT, "there is no input %zu among %zu", source->inputs[i], source->channels);
    size_t used = source->input_count > 0 ? source->input_count : source->channels;
    size_t lanes = setup->plan.measure.sensor_count + (setup->plan.measure.contact_channel > 0);
    if (setup->plan.measure.contact_channel > used || lanes > used)
        return cw_fail(err, CW_INPUT,
                       "%zu sensors%s need %zu inputs and %zu are listened to; choose more channels, or fewer places",
                       setup->plan.measure.sensor_count,
                       setup->plan.measure.contact_channel > 0 ? " and a flash contact" : "", lanes, used);
    return CW_OK;
}

/* Control held. */
static cw_status begin(cw_desk *desk, const cw_desk_setup *setup, cw_error *err)
{
    CW_TRY(check_setup(setup, err));
    if (desk->state != CW_DESK_FREE)
        return cw_fail(err, CW_CONFLICT, "a live test is there already; keep it or throw it away first");
    if (desk->folder[0] != '\0' && desk->journal == NULL)
        CW_TRY(cw_journal_open(desk->folder, &desk->journal, err));
    pthread_mutex_lock(&desk->lock);
    cw_status status = CW_OK;
    if (desk->journal != NULL) /* another program may have left one since this desk was made */
        status = desk_restore(desk, err);
    if (status == CW_OK && desk->state != CW_DESK_FREE)
        status = cw_fail(err, CW_CONFLICT, "an unfinished live test is on this bench; keep it or throw it away first");
    if (status == CW_OK) {
        forget(desk);
        desk->setup = *setup;
        time_t now = time(NULL);
        struct tm parts;
        if (gmtime_r(&now, &parts) != NULL)
            strftime(desk->began_at, sizeof desk->began_at, "%Y-%m-%dT%H:%M:%SZ", &parts);
        status = desk_note(desk, desk_begin_line(desk), err);
    }
    pthread_mutex_unlock(&desk->lock);
    return status == CW_OK ? start_thread(desk, err) : status;
}

cw_status cw_desk_begin(cw_desk *desk, const cw_desk_setup *setup, cw_error *err)
{
    pthread_mutex_lock(&desk->control);
    cw_status status = begin(desk, setup, err);
    pthread_mutex_unlock(&desk->control);
    return status;
}

/* Control held. */
static cw_status go_on(cw_desk *desk, const cw_desk_source *source, cw_error *err)
{
    if (desk->state == CW_DESK_FREE)
        return cw_fail(err, CW_CONFLICT, "no live test is there to go on with");
    end_thread(desk);
    if (source != NULL) {
        cw_desk_setup changed = desk->setup;
        changed.source = *source;
        CW_TRY(check_setup(&changed, err));
        if (changed.source.kind != desk->setup.source.kind && desk->shot_count > 0)
            return cw_fail(err, CW_CONFLICT,
                           "this test was begun with the %s; keep it, and begin another with the other source",
                           desk->setup.source.kind == CW_DESK_GATE ? "light gate" : "sound card");
        pthread_mutex_lock(&desk->lock);
        desk->setup = changed;
        cw_status status = desk_note(desk, desk_begin_line(desk), err);
        pthread_mutex_unlock(&desk->lock);
        if (status != CW_OK)
            return status;
    }
    return start_thread(desk, err);
}

cw_status cw_desk_go_on(cw_desk *desk, const cw_desk_source *source, cw_error *err)
{
    pthread_mutex_lock(&desk->control);
    cw_status status = go_on(desk, source, err);
    pthread_mutex_unlock(&desk->control);
    return status;
}

void cw_desk_rest(cw_desk *desk)
{
    pthread_mutex_lock(&desk->control);
    end_thread(desk);
    pthread_mutex_unlock(&desk->control);
}

cw_status cw_desk_clear(cw_desk *desk, cw_error *err)
{
    pthread_mutex_lock(&desk->control);
    end_thread(desk);
    pthread_mutex_lock(&desk->lock);
    cw_status status = desk->journal != NULL ? cw_journal_clear(desk->journal, err) : CW_OK;
    if (status == CW_OK) {
        cw_journal_close(desk->journal);
        desk->journal = NULL;
        forget(desk);
        desk_changed(desk);
    }
    pthread_mutex_unlock(&desk->lock);
    pthread_mutex_unlock(&desk->control);
    return status;
}

cw_status cw_desk_inputs(cw_desk *desk, cw_capture_device *devices, size_t most, size_t *count, cw_error *err)
{
    cw_status status = CW_OK;
    *count = 0;
    pthread_mutex_lock(&desk->control);
    bool listens = desk->state == CW_DESK_LISTENS && desk->setup.source.kind == CW_DESK_SOUND;
    if (!listens)
        status = cw_capture_devices(devices, most, count, err);
    pthread_mutex_unlock(&desk->control);
    return status;
}

/* ---- what is shown ---- */

bool cw_desk_wait(cw_desk *desk, uint64_t view_number, uint64_t level_number, double wait_s)
{
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += (time_t)wait_s;
    until.tv_nsec += (long)((wait_s - floor(wait_s)) * 1e9);
    if (until.tv_nsec >= 1000000000) {
        until.tv_sec++;
        until.tv_nsec -= 1000000000;
    }
    pthread_mutex_lock(&desk->lock);
    int late = 0;
    while (late == 0 && desk->number == view_number &&
           (level_number == CW_DESK_ANY_LEVEL || desk->level.number == level_number))
        late = pthread_cond_timedwait(&desk->changed, &desk->lock, &until);
    bool is_other =
        desk->number != view_number || (level_number != CW_DESK_ANY_LEVEL && desk->level.number != level_number);
    pthread_mutex_unlock(&desk->lock);
    return is_other;
}

uint64_t cw_desk_number(cw_desk *desk)
{
    pthread_mutex_lock(&desk->lock);
    uint64_t number = desk->number;
    pthread_mutex_unlock(&desk->lock);
    return number;
}

void cw_desk_levels(cw_desk *desk, cw_desk_level *level)
{
    pthread_mutex_lock(&desk->lock);
    *level = desk->level;
    pthread_mutex_unlock(&desk->lock);
}

void desk_level_column(cw_desk *desk, const cw_desk_level *now)
{
    pthread_mutex_lock(&desk->lock);
    cw_desk_level *level = &desk->level;
    if (level->lane_count != now->lane_count)
        level->column_count = 0;
    level->lane_count = now->lane_count;
    level->is_digital = now->is_digital;
    memcpy(level->lanes, now->lanes, sizeof level->lanes);
    level->rate_hz = now->rate_hz;
    size_t keep = level->column_count < CW_DESK_HISTORY ? level->column_count : CW_DESK_HISTORY - 1;
    for (size_t c = 0; c < level->lane_count; c++) {
        size_t from = level->column_count - keep;
        memmove(level->low[c], level->low[c] + from, keep * sizeof(float));
        memmove(level->high[c], level->high[c] + from, keep * sizeof(float));
        level->low[c][keep] = now->lanes[c].least;
        level->high[c][keep] = now->lanes[c].most;
    }
    level->column_count = keep + 1;
    level->number++;
    pthread_cond_broadcast(&desk->changed);
    pthread_mutex_unlock(&desk->lock);
}

/* The shots alone, as the evaluation wants them. The caller frees it. */
static cw_shot *plain_shots(const cw_desk_view *view)
{
    cw_shot *shots = malloc((view->shot_count > 0 ? view->shot_count : 1) * sizeof *shots);
    for (size_t i = 0; shots != NULL && i < view->shot_count; i++)
        shots[i] = view->shots[i].shot;
    return shots;
}

static bool any_counts(const cw_desk_view *view)
{
    for (size_t i = 0; i < view->shot_count; i++)
        if (cw_shot_counts(&view->shots[i].shot) &&
            isfinite(cw_desk_reading(&view->setup.plan, &view->shots[i].shot).value))
            return true;
    return false;
}

/* The figures so far, on the view's own copy: nothing waits for it. */
static void evaluate(cw_desk_view *view)
{
    cw_error err = {0};
    if (!any_counts(view))
        return;
    cw_shutter_plan plan = view->setup.plan;
    plan.marks.count = 0; /* every shot brings its own */
    plan.shots_per_speed = 0;
    plan.strike_count = 0;
    cw_plan_result result = {0};
    cw_shot *shots = plain_shots(view);
    cw_status status = shots != NULL ? cw_plan_run_shots(&plan, shots, view->shot_count, NULL, &result, &err)
                                     : cw_fail(&err, CW_MEMORY, "no memory for the figures");
    if (status == CW_OK) {
        view->test = result.test;
        result.test = NULL;
    } else {
        memcpy(view->told, err.text, sizeof view->told);
    }
    cw_plan_result_free(&result);
    free(shots);
}

/* Locked. */
static cw_status copy_view(cw_desk *desk, cw_desk_view *view, cw_error *err)
{
    size_t size = (desk->shot_count > 0 ? desk->shot_count : 1) * sizeof *view->shots;
    *view = (cw_desk_view){.number = desk->number,
                           .state = desk->state,
                           .found_unfinished = desk->found_unfinished,
                           .setup = desk->setup,
                           .shot_count = desk->shot_count,
                           .shots = malloc(size),
                           .notice_count = desk->notice_count};
    if (view->shots == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for %zu shots", desk->shot_count);
    for (size_t i = 0; i < desk->shot_count; i++)
        view->shots[i] = desk->shots[i].show;
    memcpy(view->began_at, desk->began_at, sizeof view->began_at);
    memcpy(view->listens_to, desk->listens_to, sizeof view->listens_to);
    memcpy(view->notices, desk->notices, sizeof view->notices);
    view->speed_count = desk_speeds(desk, view->speeds);
    view->next_s = desk_next(desk, &view->is_chosen, &view->is_complete);
    return CW_OK;
}

cw_status cw_desk_look(cw_desk *desk, cw_desk_view **view, cw_error *err)
{
    cw_desk_view *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory to show the live test");
    pthread_mutex_lock(&desk->lock);
    cw_status status = copy_view(desk, made, err);
    pthread_mutex_unlock(&desk->lock);
    if (status != CW_OK) {
        free(made);
        return status;
    }
    evaluate(made);
    *view = made;
    return CW_OK;
}

void cw_desk_view_free(cw_desk_view *view)
{
    if (view == NULL)
        return;
    cw_shutter_test_free(view->test);
    free(view->shots);
    free(view);
}
