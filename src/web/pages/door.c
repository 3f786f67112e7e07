/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The phone's door: pairing by code, the paired devices, what was refused. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "web/house.h"
#include "web/page.h"
#include "web/pages/pages.h"
#include "web/qr.h"

enum { ADDRESSES_MOST = 8 };

static void write_closed(cw_html *h)
{
    html_markup(h,
                "<section class='panel'><h2>Only this laptop can see the bench</h2><p>To add photos and steps with the "
                "phone in your hand, end the program and start it with <code>--lan</code>:</p>"
                "<p><code>camerawright serve --bench FOLDER --lan</code></p><p class='soft'>This page then shows a "
                "code to scan. The phone and the laptop have to be on the same network.</p></section>\n");
}

static void write_risk(cw_html *h, bool tls)
{
    if (tls) {
        html_markup(h,
                    "<p class='notice good'>Connections are encrypted with your own certificate. A phone that does not "
                    "know the certificate warns once; compare its fingerprint before you accept it.</p>\n");
        return;
    }
    html_markup(h,
                "<p class='notice close'><strong>Plain HTTP.</strong> Anyone on this network who listens can read and "
                "change what goes between phone and laptop: photos, notes and the session itself. Use it on a network "
                "you trust. With a certificate of your own it is encrypted: <code>--tls-cert cert.pem --tls-key "
                "key.pem</code>.</p>\n");
}

static void write_code(cw_request *request, cw_html *h)
{
    const cw_house *house = request->house;
    char code[CW_PAIR_CODE_TEXT], addresses[ADDRESSES_MOST][CW_ADDRESS_TEXT], link[CW_ADDRESS_TEXT + 32];
    int64_t left_s;
    if (!cw_door_code(house->door, code, &left_s))
        return;
    size_t count = cw_house_addresses(house, addresses, ADDRESSES_MOST);
    html_markup(h, "<section class='panel'><h2>Pair a phone</h2>\n");
    if (count == 0) {
        html_markup(h, "<p>This laptop is on no network, so a phone cannot reach it. Join one and look here again.</p>"
                       "</section>\n");
        return;
    }
    snprintf(link, sizeof link, "%s/pair?code=%s", addresses[0], code);
    html_markup(h, "<p>Scan this with the phone's camera:</p>");
    cw_qr_svg(h, link, "QR code that opens the pairing page on the phone");
    html_markup(h, "<p>or open the address and type the code:</p>");
    for (size_t i = 0; i < count; i++) {
        html_markup(h, "<p class='soft'>");
        html_textf(h, "%s/pair", addresses[i]);
        html_markup(h, "</p>");
    }
    html_markup(h, "<p class='code'>");
    html_text(h, code);
    html_markup(h, "</p><p class='soft'>");
    html_textf(h, "It works once, for another %" PRId64 " minutes.", (left_s + 59) / 60);
    html_markup(h, "</p>");
    cw_button_form(request, h, true, "New code", "/door/code");
    html_markup(h, "</section>\n");
    write_risk(h, house->tls);
}

static void write_devices(cw_request *request, cw_html *h)
{
    cw_device devices[CW_DEVICES_MOST];
    size_t count = cw_door_devices(request->house->door, &request->pass, devices);
    html_markup(h, "<section class='panel'><h2>Paired devices</h2>\n");
    if (count == 0) {
        html_markup(h, "<p class='soft'>None. Only this laptop can open the bench.</p></section>\n");
        return;
    }
    html_markup(h, "<div class='scroll'><table><thead><tr><th scope='col'>Device</th><th scope='col'>Paired</th>"
                   "<th scope='col'>Last seen</th><th scope='col'>End it</th></tr></thead><tbody>");
    for (size_t i = 0; i < count; i++) {
        html_markup(h, "<tr><th scope='row'>");
        html_text(h, devices[i].name);
        if (devices[i].current)
            html_markup(h, " (this one)");
        html_markup(h, "</th><td>");
        html_text(h, devices[i].paired_at);
        html_markup(h, "</td><td>");
        html_text(h, devices[i].seen_at);
        html_markup(h, "</td><td>");
        char label[CW_DEVICE_NAME + 16];
        snprintf(label, sizeof label, "End %s", devices[i].name);
        cw_button_form(request, h, true, label, "/door/devices/%" PRId64 "/end", devices[i].id);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></div></section>\n");
}

static void write_refused(cw_request *request, cw_html *h)
{
    uint64_t counts[CW_DOOR_REASONS], total = 0;
    cw_door_counts(request->house->door, counts);
    for (size_t i = 0; i < CW_DOOR_REASONS; i++)
        total += counts[i];
    html_markup(h, "<section class='panel'><h2>Refused since the start</h2>\n");
    if (total == 0) {
        html_markup(h, "<p class='soft'>Nothing.</p></section>\n");
        return;
    }
    html_markup(
        h, "<table><thead><tr><th scope='col'>Why</th><th scope='col' class='n'>Requests</th></tr></thead><tbody>");
    for (size_t i = 0; i < CW_DOOR_REASONS; i++) {
        if (counts[i] == 0)
            continue;
        html_markup(h, "<tr><th scope='row'>");
        html_text(h, cw_door_reason_text((cw_door_reason)i));
        html_markup(h, "</th><td class='n'>");
        html_textf(h, "%" PRIu64, counts[i]);
        html_markup(h, "</td></tr>\n");
    }
    html_markup(h, "</tbody></table></section>\n");
}

cw_status page_door(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_DOOR, "Phone");
    html_markup(h, "<h1>The phone at the bench</h1>\n");
    if (!request->house->lan)
        write_closed(h);
    else if (request->pass.laptop)
        write_code(request, h);
    else
        html_markup(h, "<p class='lead'>This device is paired. Another one is paired from the laptop's page.</p>\n");
    html_markup(h, "<div class='two'>\n");
    write_devices(request, h);
    write_refused(request, h);
    html_markup(h, "</div>\n");
    cw_page_end(reply);
    return CW_OK;
}

/* Without the code: a page's JSON may end up in a file. */
cw_status twin_door(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_device devices[CW_DEVICES_MOST];
    size_t count = cw_door_devices(request->house->door, &request->pass, devices);
    json_t *list = json_array(), *refused = json_object();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, json_pack("{s:I,s:s,s:s,s:s,s:b}", "id", (json_int_t)devices[i].id, "name",
                                              devices[i].name, "paired_at", devices[i].paired_at, "seen_at",
                                              devices[i].seen_at, "this_one", (int)devices[i].current));
    uint64_t counts[CW_DOOR_REASONS];
    cw_door_counts(request->house->door, counts);
    for (size_t i = 0; i < CW_DOOR_REASONS; i++)
        json_object_set_new(refused, cw_door_reason_key((cw_door_reason)i), json_integer((json_int_t)counts[i]));
    reply->json =
        json_pack("{s:s,s:b,s:b,s:o,s:o}", "format", "camerawright.door-page/1", "lan", (int)request->house->lan,
                  "https", (int)request->house->tls, "devices", list, "refused", refused);
    return reply->json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the list of devices");
}

cw_status post_door_code(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_door_new_code(request->house->door, err));
    cw_go(request, reply, "The old code no longer works; this is the new one.", "/door");
    return CW_OK;
}

cw_status post_door_end(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_door_end(request->house->door, request->match.ids[0], err));
    cw_go(request, reply, "That device has to pair again before it can open the bench.", "/door");
    return CW_OK;
}

cw_status page_pair(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)err;
    cw_html *h = &reply->html;
    cw_page_begin(request, reply, CW_PLACE_NONE, "Pair this phone");
    html_markup(h, "<h1>Pair this phone with the bench</h1>\n<p class='lead'>The laptop shows a code on its page under "
                   "Phone.</p>\n");
    cw_form_begin(request, h, false, "/pair");
    cw_field_input(request, h,
                   &(cw_input){.name = "code",
                               .label = "Code",
                               .required = true,
                               .narrow = true,
                               .focus = cw_value(request, "code", "")[0] == '\0',
                               .example = "K7PM-3XQD"});
    cw_field_input(request, h,
                   &(cw_input){.name = "name",
                               .label = "Name of this device",
                               .value = "phone",
                               .narrow = true,
                               .help = "so that you know it in the laptop's list"});
    cw_submit(h, "Pair");
    cw_form_end(h);
    cw_page_end(reply);
    return CW_OK;
}

cw_status post_pair(cw_request *request, cw_reply *reply, cw_error *err)
{
    CW_TRY(cw_door_pair(request->house->door, cw_posted(request, "code"), cw_posted(request, "name"), &request->pass,
                        err));
    reply->set_cookie = true;
    cw_go(request, reply, "Paired. This phone can now add photos and steps.", "/");
    return CW_OK;
}
