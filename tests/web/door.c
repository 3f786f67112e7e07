/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/check.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "web/door.h"

static int64_t now_s; /* the door's clock in these tests */

static int64_t clock_s(void)
{
    return now_s;
}

static cw_door *door_of(bool lan, const char *keep)
{
    cw_door_options options = {.lan = lan, .port = 8017, .keep = keep, .clock_s = clock_s};
    cw_door *door = NULL;
    cw_error err = {0};
    now_s = 1000;
    assert_ok(cw_door_new(&options, &door, &err), &err);
    return door;
}

static cw_visit laptop(void)
{
    return (cw_visit){.peer_loopback = true, .local = "127.0.0.1", .host = "127.0.0.1:8017"};
}

static cw_visit phone(void)
{
    return (cw_visit){.local = "192.168.1.5", .host = "192.168.1.5:8017"};
}

static void refused(cw_door *door, cw_visit visit, cw_door_reason reason, const char *words)
{
    cw_pass pass;
    cw_error err = {0};
    cw_door_reason got = CW_DOOR_REASONS;
    uint64_t before[CW_DOOR_REASONS], after[CW_DOOR_REASONS];
    cw_door_counts(door, before);
    assert_fails(cw_door_enter(door, &visit, &pass, &got, &err), CW_REFUSED, &err, words);
    cw_door_counts(door, after);
    assert_int_equal(got, reason);
    assert_int_equal(after[reason], before[reason] + 1);
}

static cw_pass admitted(cw_door *door, cw_visit visit)
{
    cw_pass pass;
    cw_error err = {0};
    cw_door_reason reason;
    assert_ok(cw_door_enter(door, &visit, &pass, &reason, &err), &err);
    return pass;
}

static void the_host_has_to_be_ours(void **state)
{
    (void)state;
    static const char *const others[] = {
        "evil.example:8017", "127.0.0.1",        "127.0.0.1:8018",  "127.0.0.1:8017.evil.example",
        "localhost",         "192.168.1.5:8017", "127.0.0.10:8017", ""};
    cw_door *door = door_of(true, NULL);
    cw_visit visit = laptop();
    for (size_t i = 0; i < CW_COUNT(others); i++) {
        visit.host = others[i];
        refused(door, visit, CW_DOOR_HOST, "does not belong");
    }
    visit.host = NULL;
    refused(door, visit, CW_DOOR_HOST, "does not belong");
    visit.host = "LocalHost:8017";
    assert_true(admitted(door, visit).laptop);
    visit = phone();
    visit.open = true;
    admitted(door, visit);
    visit.host = "127.0.0.1:8017"; /* a name of the laptop itself, from the network */
    refused(door, visit, CW_DOOR_HOST, "does not belong");
    cw_door_free(door);
}

static void other_sites_may_link_but_not_write_or_embed(void **state)
{
    (void)state;
    cw_door *door = door_of(false, NULL);
    cw_visit visit = laptop();
    visit.writes = true;
    visit.origin = "http://evil.example";
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.origin = "null";
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.origin = "https://127.0.0.1:8017"; /* the right name, another scheme */
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.origin = "http://127.0.0.1:8017";
    admitted(door, visit);
    visit.fetch_site = "cross-site";
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.fetch_site = "same-site"; /* another port of this machine */
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.writes = false;
    visit.origin = NULL;
    visit.fetch_mode = "no-cors";
    refused(door, visit, CW_DOOR_ORIGIN, "another site");
    visit.fetch_mode = "navigate";
    visit.fetch_site = "cross-site";
    assert_true(admitted(door, visit).bounce);
    visit.fetch_site = "same-origin";
    assert_false(admitted(door, visit).bounce);
    cw_door_free(door);
}

static void a_session_keeps_its_token_and_no_other(void **state)
{
    (void)state;
    cw_door *door = door_of(false, NULL);
    cw_error err = {0};
    cw_pass first = admitted(door, laptop()), second = admitted(door, laptop());
    assert_true(first.fresh);
    assert_string_not_equal(first.session, second.session);
    assert_string_not_equal(first.token, second.token);
    char cookie[256];
    snprintf(cookie, sizeof cookie, "other=1; cw_session=%s; more=2", first.session);
    cw_visit visit = laptop();
    visit.cookie = cookie;
    cw_pass again = admitted(door, visit);
    assert_false(again.fresh);
    assert_string_equal(again.token, first.token);
    assert_ok(cw_door_token(door, &again, first.token, &err), &err);
    assert_fails(cw_door_token(door, &again, second.token, &err), CW_REFUSED, &err, "still here");
    assert_fails(cw_door_token(door, &again, "", &err), CW_REFUSED, &err, "still here");
    assert_fails(cw_door_token(door, &again, NULL, &err), CW_REFUSED, &err, "still here");
    visit.cookie = "cw_session=zz"; /* not one of ours: a new one is given */
    assert_true(admitted(door, visit).fresh);
    char header[256];
    cw_door_cookie(door, &first, header, sizeof header);
    assert_contains(header, "HttpOnly; SameSite=Strict");
    cw_door_free(door);
}

static cw_pass pair(cw_door *door, const char *name)
{
    char code[CW_PAIR_CODE_TEXT];
    int64_t left_s;
    cw_error err = {0};
    cw_visit visit = phone();
    visit.open = true;
    cw_pass pass = admitted(door, visit);
    assert_true(cw_door_code(door, code, &left_s));
    assert_ok(cw_door_pair(door, code, name, &pass, &err), &err);
    assert_true(pass.paired && pass.fresh);
    return pass;
}

static cw_visit with_session(const cw_pass *pass, char *cookie, size_t size)
{
    snprintf(cookie, size, "cw_session=%s", pass->session);
    cw_visit visit = phone();
    visit.cookie = cookie;
    return visit;
}

static void the_network_needs_a_pairing(void **state)
{
    (void)state;
    cw_door *door = door_of(true, NULL);
    cw_error err = {0};
    refused(door, phone(), CW_DOOR_UNPAIRED, "not paired");
    cw_pass pass = pair(door, "green phone");
    char cookie[128];
    cw_visit visit = with_session(&pass, cookie, sizeof cookie);
    assert_true(admitted(door, visit).paired);
    visit.laptop_only = true;
    refused(door, visit, CW_DOOR_LAPTOP, "laptop itself");
    visit.laptop_only = false;
    cw_device devices[CW_DEVICES_MOST];
    assert_int_equal(cw_door_devices(door, &pass, devices), 1);
    assert_string_equal(devices[0].name, "green phone");
    assert_true(devices[0].current);
    assert_fails(cw_door_end(door, devices[0].id + 1, &err), CW_NOT_FOUND, &err, "no paired device");
    assert_ok(cw_door_end(door, devices[0].id, &err), &err);
    refused(door, visit, CW_DOOR_UNPAIRED, "not paired");
    cw_door_free(door);
}

static void a_code_works_once_and_not_for_ever(void **state)
{
    (void)state;
    cw_door *door = door_of(true, NULL);
    cw_error err = {0};
    char code[CW_PAIR_CODE_TEXT], typed[32];
    int64_t left_s;
    cw_pass pass = {0};
    assert_true(cw_door_code(door, code, &left_s));
    assert_int_equal(left_s, CW_PAIR_CODE_LIFE_S);
    /* as a person types it on a phone: small letters, a space for the dash */
    snprintf(typed, sizeof typed, " %.4s %.4s ", code, code + 5);
    for (char *c = typed; *c != '\0'; c++)
        if (*c >= 'A' && *c <= 'Z')
            *c = (char)(*c + 32);
    assert_ok(cw_door_pair(door, typed, "", &pass, &err), &err);
    assert_fails(cw_door_pair(door, code, "", &pass, &err), CW_REFUSED, &err, "not the code");
    assert_true(cw_door_code(door, code, &left_s));
    now_s += CW_PAIR_CODE_LIFE_S;
    assert_fails(cw_door_pair(door, code, "", &pass, &err), CW_REFUSED, &err, "not the code");
    cw_door_free(door);
}

static void guessing_is_slowed_and_then_pointless(void **state)
{
    (void)state;
    cw_door *door = door_of(true, NULL);
    cw_error err = {0};
    char first[CW_PAIR_CODE_TEXT], later[CW_PAIR_CODE_TEXT];
    int64_t left_s;
    cw_pass pass = {0};
    assert_true(cw_door_code(door, first, &left_s));
    for (int i = 0; i < CW_PAIR_TRIES; i++)
        assert_fails(cw_door_pair(door, "AAAA-AAAA", "", &pass, &err), CW_REFUSED, &err, "not the code");
    assert_fails(cw_door_pair(door, first, "", &pass, &err), CW_REFUSED, &err, "too many tries");
    for (int i = CW_PAIR_TRIES; i < CW_PAIR_WRONG_MOST; i++) {
        now_s += CW_PAIR_REFILL_S;
        assert_fails(cw_door_pair(door, "AAAA-AAAA", "", &pass, &err), CW_REFUSED, &err, "not the code");
    }
    assert_true(cw_door_code(door, later, &left_s));
    assert_string_not_equal(first, later);
    uint64_t counts[CW_DOOR_REASONS];
    cw_door_counts(door, counts);
    assert_int_equal(counts[CW_DOOR_CODE], CW_PAIR_WRONG_MOST);
    assert_int_equal(counts[CW_DOOR_RATE], 1);
    cw_door_free(door);
}

static void without_lan_there_is_no_pairing(void **state)
{
    (void)state;
    cw_door *door = door_of(false, NULL);
    cw_error err = {0};
    char code[CW_PAIR_CODE_TEXT];
    int64_t left_s;
    cw_pass pass = {0};
    assert_false(cw_door_code(door, code, &left_s));
    assert_fails(cw_door_pair(door, "", "", &pass, &err), CW_REFUSED, &err, "--lan");
    refused(door, phone(), CW_DOOR_UNPAIRED, "not paired");
    cw_door_free(door);
}

static void a_paired_phone_stays_paired_over_a_restart(void **state)
{
    (void)state;
    char folder[512], keep[600], cookie[128];
    check_folder("door", folder, sizeof folder);
    snprintf(keep, sizeof keep, "%s/door.json", folder);
    cw_door *door = door_of(true, keep);
    cw_pass pass = pair(door, "phone");
    cw_door_free(door);
    door = door_of(true, keep);
    assert_true(admitted(door, with_session(&pass, cookie, sizeof cookie)).paired);
    cw_error err = {0};
    assert_ok(cw_door_end(door, 1, &err), &err);
    cw_door_free(door);
    door = door_of(true, keep);
    refused(door, with_session(&pass, cookie, sizeof cookie), CW_DOOR_UNPAIRED, "not paired");
    cw_door_free(door);
}

static void a_damaged_file_of_devices_is_named(void **state)
{
    (void)state;
    char folder[512], keep[600];
    check_folder("door-damaged", folder, sizeof folder);
    snprintf(keep, sizeof keep, "%s/door.json", folder);
    FILE *file = fopen(keep, "w");
    assert_non_null(file);
    fputs("{\"format\":\"camerawright.door/1\",\"last_id\":1,\"devices\":[{\"id\":1}]}", file);
    fclose(file);
    cw_door_options options = {.lan = true, .port = 1, .keep = keep};
    cw_door *door = NULL;
    cw_error err = {0};
    assert_fails(cw_door_new(&options, &door, &err), CW_INPUT, &err, "door.json\" is damaged");
    assert_null(door);
}

CHECK_MAIN(cmocka_unit_test(the_host_has_to_be_ours), cmocka_unit_test(other_sites_may_link_but_not_write_or_embed),
           cmocka_unit_test(a_session_keeps_its_token_and_no_other), cmocka_unit_test(the_network_needs_a_pairing),
           cmocka_unit_test(a_code_works_once_and_not_for_ever),
           cmocka_unit_test(guessing_is_slowed_and_then_pointless), cmocka_unit_test(without_lan_there_is_no_pairing),
           cmocka_unit_test(a_paired_phone_stays_paired_over_a_restart),
           cmocka_unit_test(a_damaged_file_of_devices_is_named))
