/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The desk: simulated light into its ear and a pseudo terminal for the gate's port; the truth is the simulator's. */
#include "live/desk.h"

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "live/desk_inside.h"
#include "sim/sim.h"
#include "support/check.h"

enum { BLOCK = 480 };

typedef struct {
    char folder[64], path[160];
    cw_error err;
} box;

static int set_up(void **state)
{
    box *b = calloc(1, sizeof *b);
    snprintf(b->folder, sizeof b->folder, "/tmp/cw-desk-XXXXXX");
    *state = b;
    return mkdtemp(b->folder) != NULL ? 0 : -1;
}

static int tear_down(void **state)
{
    static const char *const names[] = {
        "live/test.jsonl", "live/samples.f32", "live/lock", "live", "kept.wav", "port", ""};
    box *b = *state;
    for (size_t i = 0; i < CW_COUNT(names); i++) {
        snprintf(b->path, sizeof b->path, "%s/%s", b->folder, names[i]);
        remove(b->path);
    }
    free(b);
    return 0;
}

static cw_desk_setup setup_of(cw_desk_source_kind kind, const char *marks, size_t each)
{
    cw_error err;
    cw_desk_setup setup = {.source = {.kind = kind, .mask_mm = NAN, .channels = 3, .rate_hz = 96000},
                           .plan = cw_plan_default(),
                           .when = "before"};
    assert_ok(cw_marks_parse(marks, &setup.plan.marks, &err), &err);
    setup.plan.shots_per_speed = each;
    assert_ok(cw_plan_set(&setup.plan, "sensors-mm", "4,18,32", &err), &err);
    return setup;
}

static cw_desk_view *look(cw_desk *desk)
{
    cw_error err;
    cw_desk_view *view;
    assert_ok(cw_desk_look(desk, &view, &err), &err);
    return view;
}

/* A test as if begun, with nothing that listens: the ear is fed by hand. */
static cw_desk *quiet_desk(box *b, const cw_desk_setup *setup)
{
    cw_desk *desk;
    assert_ok(cw_desk_new(b->folder, &desk, &b->err), &b->err);
    desk->setup = *setup;
    desk->state = CW_DESK_RESTS;
    assert_ok(cw_journal_open(b->folder, &desk->journal, &b->err), &b->err);
    assert_ok(desk_note(desk, desk_begin_line(desk), &b->err), &b->err);
    return desk;
}

static void feed_all(desk_ear *ear, cw_sim *sim)
{
    cw_error err;
    float frames[BLOCK * 8];
    for (size_t got; (got = cw_sim_read(sim, BLOCK, frames)) > 0;)
        assert_ok(desk_ear_feed(ear, frames, got, 0, &err), &err);
}

static cw_sim *evening(cw_sim_scenario *scenario, size_t shots)
{
    cw_error err;
    cw_sim *sim;
    cw_sim_focal_plane(scenario);
    scenario->speed_count = 2;
    scenario->speeds[0] = (cw_sim_speed){1 / 30.0, shots, 0};
    scenario->speeds[1] = (cw_sim_speed){1 / 250.0, shots, 0};
    scenario->recorder.rate_hz = 96000;
    assert_ok(cw_sim_new(scenario, &sim, &err), &err);
    return sim;
}

static void compare_with_truth(const cw_sim *sim, const cw_shot *shot, size_t index)
{
    for (size_t s = 0; s < 3; s++) {
        double truth_s = cw_sim_truth(sim, index)->sensors[s].exposure_s;
        assert_near(shot->sensors[s].exposure_s.value, truth_s, 0.02 * truth_s);
    }
}

static void sound_becomes_shots_that_survive(void **state)
{
    box *b = *state;
    cw_sim_scenario scenario;
    cw_sim *sim = evening(&scenario, 2);
    cw_desk_setup setup = setup_of(CW_DESK_SOUND, "1/30,1/250", 2);
    cw_desk *desk = quiet_desk(b, &setup), *again;
    desk_ear *ear;
    assert_ok(desk_ear_new(desk, 3, 96000, &ear, &b->err), &b->err);
    feed_all(ear, sim);
    cw_desk_view *view = look(desk);
    assert_int_equal(view->shot_count, 4);
    for (size_t i = 0; i < 4; i++) {
        compare_with_truth(sim, &view->shots[i].shot, i);
        assert_near(view->shots[i].shot.marked_s, i < 2 ? 1 / 30.0 : 1 / 250.0, 1e-12);
        assert_int_equal(view->shots[i].trace_count, 3);
    }
    assert_true(view->is_complete && isnan(view->next_s) && view->test != NULL);
    assert_int_equal(view->test->speed_count, 2);
    cw_desk_view_free(view);

    /* struck out: its speed is wanted again, the reason stays, and the figures leave it out */
    assert_ok(cw_desk_strike(desk, 2, "wound only half", &b->err), &b->err);
    assert_fails(cw_desk_strike(desk, 9, "", &b->err), CW_NOT_FOUND, &b->err, "no shot 9");
    view = look(desk);
    assert_near(view->next_s, 1 / 30.0, 1e-12);
    assert_string_equal(view->shots[1].shot.remark, "wound only half");
    assert_int_equal(view->test->speeds[0].shots, 1);
    cw_desk_view_free(view);

    /* the program dies here: nothing more is said to the journal */
    desk_ear_free(ear);
    cw_desk_free(desk);
    assert_ok(cw_desk_new(b->folder, &again, &b->err), &b->err);
    view = look(again);
    assert_true(view->found_unfinished && view->state == CW_DESK_RESTS);
    assert_int_equal(view->shot_count, 4);
    assert_true(view->shots[1].shot.struck);
    for (size_t i = 0; i < 4; i++)
        compare_with_truth(sim, &view->shots[i].shot, i);
    cw_desk_view_free(view);
    assert_fails(cw_desk_begin(again, &setup, &b->err), CW_CONFLICT, &b->err, "keep it or throw it away");

    /* kept: the WAV gives the same numbers by the way of any recording */
    cw_shutter_plan plan;
    cw_plan_result kept, worked_out_again;
    bool has_wav;
    json_t *trace;
    cw_source *source;
    snprintf(b->path, sizeof b->path, "%s/kept.wav", b->folder);
    assert_ok(cw_desk_outcome(again, b->path, &plan, &kept, &has_wav, &trace, &b->err), &b->err);
    assert_true(has_wav && trace == NULL && kept.recording != NULL);
    assert_ok(cw_source_open(b->path, NULL, &source, &b->err), &b->err);
    assert_ok(cw_plan_run(&plan, source, &worked_out_again, &b->err), &b->err);
    for (size_t i = 0; i < 2; i++)
        assert_near(worked_out_again.test->speeds[i].error_ev.value, kept.test->speeds[i].error_ev.value, 1e-6);
    assert_true(worked_out_again.test->shots[1].struck);
    cw_source_close(source);
    cw_plan_result_free(&kept);
    cw_plan_result_free(&worked_out_again);
    assert_ok(cw_desk_clear(again, &b->err), &b->err);
    assert_false(cw_journal_there(b->folder));
    cw_desk_free(again);
    cw_sim_free(sim);
}

static void gone_on_with_after_a_crash_it_is_one_test(void **state)
{
    box *b = *state;
    cw_sim_scenario scenario;
    cw_sim *sim = evening(&scenario, 1);
    cw_desk_setup setup = setup_of(CW_DESK_SOUND, "1/30,1/250", 2);
    for (int turn = 0; turn < 2; turn++) {
        cw_desk *desk;
        desk_ear *ear;
        if (turn == 0)
            desk = quiet_desk(b, &setup);
        else
            assert_ok(cw_desk_new(b->folder, &desk, &b->err), &b->err);
        assert_ok(desk_ear_new(desk, 3, 96000, &ear, &b->err), &b->err);
        feed_all(ear, sim);
        cw_sim_free(sim);
        sim = evening(&scenario, 1);
        cw_desk_view *view = look(desk);
        assert_int_equal(view->shot_count, 2 * (size_t)(turn + 1));
        for (size_t i = 0; i < view->shot_count; i++)
            compare_with_truth(sim, &view->shots[i].shot, i % 2);
        cw_desk_view_free(view);
        desk_ear_free(ear);
        cw_desk_free(desk);
    }
    cw_sim_free(sim);
}

static bool was_said(cw_desk *desk, const char *words)
{
    cw_desk_view *view = look(desk);
    bool found = false;
    for (size_t i = 0; i < view->notice_count; i++)
        found = found || strstr(view->notices[i].text, words) != NULL;
    cw_desk_view_free(view);
    return found;
}

static void dropped_samples_spoil_their_shot_and_no_other(void **state)
{
    box *b = *state;
    cw_sim_scenario scenario;
    cw_sim *sim = evening(&scenario, 2);
    cw_desk_setup setup = setup_of(CW_DESK_SOUND, "1/30,1/250", 2);
    cw_desk *desk = quiet_desk(b, &setup);
    desk_ear *ear;
    float frames[BLOCK * 8];
    assert_ok(desk_ear_new(desk, 3, 96000, &ear, &b->err), &b->err);
    double gap_s = cw_sim_truth(sim, 1)->sensors[1].open_s + 0.01, at_s = 0;
    bool dropped = false;
    for (size_t got; (got = cw_sim_read(sim, BLOCK, frames)) > 0; at_s += (double)got / 96000) {
        bool now = !dropped && at_s >= gap_s;
        dropped = dropped || now;
        if (!now) /* one block is lost in the middle of the second shot */
            assert_ok(desk_ear_feed(ear, frames, got, dropped && at_s < gap_s + 0.006 ? BLOCK : 0, &b->err), &b->err);
    }
    assert_true(was_said(desk, "the system dropped"));
    cw_desk_view *view = look(desk);
    size_t incomplete = 0;
    for (size_t i = 0; i < view->shot_count; i++)
        incomplete += view->shots[i].shot.incomplete;
    assert_true(incomplete >= 1 && incomplete <= 2); /* both halves, where both look like one */
    assert_false(view->shots[0].shot.incomplete);
    assert_false(view->shots[view->shot_count - 1].shot.incomplete);
    compare_with_truth(sim, &view->shots[view->shot_count - 1].shot, 3);
    cw_desk_view_free(view);
    desk_ear_free(ear);
    cw_desk_free(desk);
    cw_sim_free(sim);
}

static void too_much_light_has_a_sentence(void **state)
{
    box *b = *state;
    cw_desk_setup setup = setup_of(CW_DESK_SOUND, "1/30", 1);
    cw_desk *desk = quiet_desk(b, &setup);
    desk_ear *ear;
    float frames[BLOCK * 3];
    assert_ok(desk_ear_new(desk, 3, 96000, &ear, &b->err), &b->err);
    for (size_t i = 0; i < CW_COUNT(frames); i++)
        frames[i] = i % 3 == 1 ? 1.0f : 0.001f;
    for (int i = 0; i < 100; i++) /* half a second is no complaint yet */
        assert_ok(desk_ear_feed(ear, frames, BLOCK, 0, &b->err), &b->err);
    assert_false(was_said(desk, "at its limit"));
    for (int i = 0; i < 200; i++)
        assert_ok(desk_ear_feed(ear, frames, BLOCK, 0, &b->err), &b->err);
    assert_true(was_said(desk, "input 2 has been at its limit"));
    cw_desk_level level;
    cw_desk_levels(desk, &level);
    assert_true(level.lane_count == 3 && level.lanes[1].clipped && !level.lanes[0].clipped);
    desk_ear_free(ear);
    cw_desk_free(desk);
}

static void lit_and_dark_have_their_sentences(void **state)
{
    box *b = *state;
    cw_desk_setup setup = setup_of(CW_DESK_GATE, "1/30", 1);
    cw_desk *desk = quiet_desk(b, &setup);
    desk_lit_watch watch = {.lit_since_s = {NAN, NAN, NAN}};
    desk_watch_lit(desk, &watch, 2, 100);
    desk_watch_lit(desk, &watch, 2, 107);
    assert_false(was_said(desk, "has been lit"));
    desk_watch_lit(desk, &watch, 2, 109);
    assert_true(was_said(desk, "sensor B has been lit"));
    desk_watch_lit(desk, &watch, 0, 110);
    desk_watch_lit(desk, &watch, 7, 111);
    desk_watch_lit(desk, &watch, 7, 121);
    assert_true(was_said(desk, "every sensor has been lit"));
    desk_watch_dark(desk, 200);
    desk_watch_dark(desk, 240);
    assert_false(was_said(desk, "is the lamp on"));
    desk_watch_dark(desk, 246);
    assert_true(was_said(desk, "is the lamp on"));
    cw_desk_free(desk);
}

static void the_plan_leads_and_the_person_may_leave_it(void **state)
{
    box *b = *state;
    cw_desk_setup setup = setup_of(CW_DESK_GATE, "1,1/2,1/125", 2);
    cw_desk *desk = quiet_desk(b, &setup);
    cw_desk_shot shot = {.shot = {.sensor_count = 1, .sensors = {cw_sensor_shot_unknown(18)}}};
    shot.shot.sensors[0].seen = true;
    shot.shot.sensors[0].exposure_s = (cw_quantity){1.1, 1e-6};
    static const double expected[] = {1, 1, 0.5, 1 / 125.0, 1 / 125.0, 0.5, 1, 0.5};
    bool is_chosen, is_complete;
    for (size_t i = 0; i < CW_COUNT(expected); i++) {
        if (i == 3) /* the third speed before its turn: it holds until it has both shots, then the plan goes on */
            assert_ok(cw_desk_step(desk, 1, &b->err), &b->err);
        if (i == 6) { /* all is fired: one more of the first */
            assert_true(isnan(desk_next(desk, &is_chosen, &is_complete)) && is_complete);
            assert_ok(cw_desk_choose(desk, 1, &b->err), &b->err);
        }
        if (i == 7) { /* a struck one is wanted again by itself */
            assert_true(isnan(desk_next(desk, &is_chosen, &is_complete)));
            assert_ok(cw_desk_strike(desk, 6, "", &b->err), &b->err);
        }
        assert_near(desk_next(desk, &is_chosen, &is_complete), expected[i], 1e-12);
        pthread_mutex_lock(&desk->lock);
        desk_put_shot(desk, SIZE_MAX, &shot, NULL);
        pthread_mutex_unlock(&desk->lock);
        assert_near(desk->shots[i].show.shot.marked_s, expected[i], 1e-12);
    }
    assert_fails(cw_desk_choose(desk, 99, &b->err), CW_RANGE, &b->err, "99 s");
    cw_desk_free(desk);
    assert_ok(cw_desk_new(b->folder, &desk, &b->err), &b->err);
    assert_int_equal(desk->shot_count, CW_COUNT(expected));
    assert_true(isnan(desk_next(desk, &is_chosen, &is_complete)));
    cw_desk_free(desk);
}

static void errors_are_said_in_stops(void **state)
{
    (void)state;
    static const struct {
        double ev;
        const char *words;
    } said[] = {{0.147, "slow by a sixth of a stop"}, {-0.33, "fast by a third of a stop"}, {0.02, "as marked"},
                {-1.05, "fast by one stop"},          {3.1, "slow by 3.1 stops"},           {NAN, "not known"}};
    for (size_t i = 0; i < CW_COUNT(said); i++) {
        char words[80];
        cw_error_words(said[i].ev, words, sizeof words);
        assert_string_equal(words, said[i].words);
    }
}

/* ---- the gate, through a port ---- */

static void send_line(int fd, const char *body)
{
    char line[120];
    snprintf(line, sizeof line, "%s *", body);
    snprintf(line + strlen(line), sizeof line - strlen(line), "%04x\r\n", cw_gate_crc(line, strlen(line) - 1));
    assert_int_equal(write(fd, line, strlen(line)), strlen(line));
}

static int new_terminal(const char *link)
{
    int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    unlink(link);
    assert_int_equal(symlink(ptsname(master), link), 0);
    return master;
}

static bool wait_for(cw_desk *desk, size_t shots, const char *words)
{
    for (int i = 0; i < 500; i++) {
        cw_desk_view *view = look(desk);
        size_t count = view->shot_count;
        cw_desk_view_free(view);
        if (count >= shots && (words[0] == '\0' || was_said(desk, words)))
            return true;
        usleep(10000);
    }
    return false;
}

static void a_gate_through_its_port(void **state)
{
    box *b = *state;
    cw_desk *desk;
    cw_desk_setup setup = setup_of(CW_DESK_GATE, "1/250", 3);
    snprintf(b->path, sizeof b->path, "%s/port", b->folder);
    memcpy(setup.source.port, b->path, strlen(b->path) + 1);
    assert_ok(cw_desk_new(b->folder, &desk, &b->err), &b->err);
    assert_ok(cw_desk_begin(desk, &setup, &b->err), &b->err);
    assert_true(wait_for(desk, 0, "plug the gate in"));
    int gate = new_terminal(b->path);
    usleep(300000);
    send_line(gate, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=8 n=0000");
    send_line(gate, "E 0000 0123a000 9 1");
    send_line(gate, "E 0001 0124a000 8 1");
    assert_true(wait_for(desk, 1, ""));
    /* the cable goes in the middle of a line, with the shutter open */
    send_line(gate, "E 0002 0223a000 9 1");
    assert_int_equal(write(gate, "E 0003 0224", 11), 11);
    usleep(100000);
    close(gate);
    assert_true(wait_for(desk, 2, "unplugged"));
    gate = new_terminal(b->path);
    usleep(800000);
    send_line(gate, "H clg/1 fw=0.1 hz=16000000 ch=ABCX pol=1 st=8 n=0000");
    char noise[4000];
    memset(noise, 0x95, sizeof noise); /* what another speed looks like */
    assert_int_equal(write(gate, noise, sizeof noise), sizeof noise);
    assert_true(wait_for(desk, 2, ""));
    send_line(gate, "");
    send_line(gate, "E 0000 0323a000 9 1");
    send_line(gate, "E 0001 0324a000 8 1");
    assert_true(wait_for(desk, 3, ""));

    cw_error second_err;
    cw_desk *second;
    assert_ok(cw_desk_new(b->folder, &second, &second_err), &second_err);
    assert_fails(cw_desk_begin(second, &setup, &second_err), CW_CONFLICT, &second_err, "another program");
    cw_desk_free(second);

    cw_desk_rest(desk);
    cw_desk_view *view = look(desk);
    assert_int_equal(view->state, CW_DESK_RESTS);
    assert_near(view->shots[0].shot.sensors[0].exposure_s.value, 0x10000 / 16e6, 1e-12);
    assert_false(view->shots[0].shot.incomplete);
    assert_true(view->shots[1].shot.incomplete);
    assert_near(view->shots[2].shot.sensors[0].exposure_s.value, 0x10000 / 16e6, 1e-12);
    json_t *json = cw_desk_view_json(view), *trace;
    assert_int_equal(json_array_size(json_object_get(json, "shots")), 3);
    json_decref(json);
    cw_desk_view_free(view);
    cw_shutter_plan plan;
    cw_plan_result result;
    bool has_wav;
    assert_ok(cw_desk_outcome(desk, NULL, &plan, &result, &has_wav, &trace, &b->err), &b->err);
    assert_int_equal(plan.marks.count, 3);
    assert_int_equal(result.test->speeds[0].shots, 2);
    json_t *lines = json_array_get(json_object_get(trace, "shots"), 0);
    assert_string_equal(json_string_value(json_array_get(lines, 1)), "E 0001 0124a000 8 1");
    json_decref(trace);
    cw_plan_result_free(&result);
    cw_desk_free(desk);
    close(gate);
}

#define DESK_TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
CHECK_MAIN(DESK_TEST(sound_becomes_shots_that_survive), DESK_TEST(gone_on_with_after_a_crash_it_is_one_test),
           DESK_TEST(dropped_samples_spoil_their_shot_and_no_other), DESK_TEST(too_much_light_has_a_sentence),
           DESK_TEST(lit_and_dark_have_their_sentences), DESK_TEST(the_plan_leads_and_the_person_may_leave_it),
           DESK_TEST(errors_are_said_in_stops), DESK_TEST(a_gate_through_its_port))
