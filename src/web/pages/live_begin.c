/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Before a live test: where the light comes in, which speeds will be fired, for which camera. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/unit.h"
#include "notebook/job.h"
#include "web/page.h"
#include "web/pages/live_parts.h"
#include "web/pages/pages.h"
#include "web/pages/plan_form.h"

static const cw_option_item kinds[] = {{"gate", "Light gate"}, {"sound", "Sound card"}};

/* ---- the source ---- */

static void write_ports(cw_request *request, cw_html *h, const cw_desk_source *source)
{
    cw_serial_port ports[CW_PORTS_MOST];
    size_t count = cw_serial_ports(ports, CW_PORTS_MOST);
    char help[120];
    if (count == 0)
        snprintf(help, sizeof help, "no USB serial port is there now; plug the gate in, or name its port");
    else if (count == 1)
        snprintf(help, sizeof help, "empty: the only one there is");
    else
        snprintf(help, sizeof help, "%zu ports are there: say which one is the gate", count);
    cw_field_input(request, h,
                   &(cw_input){.name = "port",
                               .label = "Port of the gate",
                               .value = source->port,
                               .list = "ports",
                               .help = help,
                               .example = "/dev/ttyUSB0"});
    html_markup(h, "<datalist id='ports'>");
    for (size_t i = 0; i < count; i++) {
        html_markup(h, "<option");
        html_attr(h, "value", ports[i].path);
        html_markup(h, ">");
        html_said(h, ports[i].words);
        html_markup(h, "</option>");
    }
    html_markup(h, "</datalist>\n");
    char mask[32] = "";
    if (source->mask_mm > 0)
        snprintf(mask, sizeof mask, "%g", source->mask_mm);
    cw_field_input(request, h,
                   &(cw_input){.name = "mask-mm",
                               .label = "Slit before each sensor, along the travel",
                               .value = mask,
                               .unit = "mm",
                               .mode = "decimal",
                               .narrow = true,
                               .example = "0.3",
                               .help = "corrects the threshold where it can; may stay empty"});
    cw_field_tick(request, h, "calibrate", "First let the gate find the lag of its sensors (shutter open on B or T)",
                  source->calibrate);
}

static void write_device(cw_html *h, const cw_capture_device *device, const char *chosen)
{
    html_markup(h, "<option");
    html_attr(h, "value", device->name);
    html_flag(h, "selected", strcmp(device->name, chosen) == 0);
    html_markup(h, ">");
    html_textf(h, "%s: up to %zu %s, %.0f Hz%s", device->name, device->channels_most,
               device->channels_most == 1 ? "channel" : "channels", device->rate_hz,
               device->is_direct ? ", the hardware itself" : "");
    html_markup(h, "</option>");
}

static void write_devices(cw_request *request, cw_html *h, cw_desk *desk, const cw_desk_source *source)
{
    cw_capture_device devices[CW_CAPTURE_DEVICES_MOST];
    size_t count;
    cw_error err = {0};
    if (cw_desk_inputs(desk, devices, CW_COUNT(devices), &count, &err) != CW_OK)
        count = 0;
    html_markup(h, "<div class='field'><label for='in-device'>Sound input</label><select id='in-device' name='device' "
                   "aria-describedby='help-device'><option value=''>the usual one</option>");
    for (size_t i = 0; i < count; i++)
        write_device(h, &devices[i], cw_value(request, "device", source->device));
    html_markup(h, "</select><span class='help' id='help-device'>");
    if (err.status != CW_OK)
        html_sentence(h, err.text);
    else if (count == 0)
        html_text(h, "no sound input is there now; plug it in and load this page again");
    else
        html_text(h, "the hardware itself measures best: nothing between it and this program changes the samples");
    html_markup(h, "</span></div>\n");
    char channels[24], rate[24] = "", inputs[64] = "";
    snprintf(channels, sizeof channels, "%zu", source->channels);
    if (source->rate_hz > 0)
        snprintf(rate, sizeof rate, "%.0f", source->rate_hz);
    for (size_t i = 0, used = 0; i < source->input_count; i++)
        used += (size_t)snprintf(inputs + used, sizeof inputs - used, "%s%zu", i > 0 ? "," : "", source->inputs[i]);
    cw_field_input(request, h,
                   &(cw_input){.name = "channels",
                               .label = "Channels to listen to",
                               .value = channels,
                               .mode = "numeric",
                               .narrow = true,
                               .help = "1 to 8"});
    cw_field_input(request, h,
                   &(cw_input){.name = "rate",
                               .label = "Samples a second",
                               .value = rate,
                               .mode = "numeric",
                               .unit = "Hz",
                               .narrow = true,
                               .example = "192000",
                               .help = "empty: the input's own"});
    cw_field_input(request, h,
                   &(cw_input){.name = "inputs",
                               .label = "Which channel is which sensor",
                               .value = inputs,
                               .narrow = true,
                               .example = "1,2,3",
                               .help = "in the order of the sensor positions; empty: all in their order"});
}

static void write_source(cw_request *request, cw_html *h, cw_desk *desk, const cw_desk_source *source)
{
    cw_field_choice(request, h, "source", "The light comes in through",
                    source->kind == CW_DESK_SOUND ? "sound" : "gate", kinds, CW_COUNT(kinds), NULL);
    html_markup(h, "<div class='of-gate'>");
    write_ports(request, h, source);
    html_markup(h, "</div><div class='of-sound'>");
    write_devices(request, h, desk, source);
    html_markup(h, "</div>\n");
}

static cw_status take_source(cw_request *request, cw_desk_source *source, cw_error *err)
{
    const char *port = cw_posted(request, "port"), *device = cw_posted(request, "device");
    const char *mask = cw_posted(request, "mask-mm"), *kind = cw_posted(request, "source");
    long channels, rate;
    CW_TRY(cw_whole(request, "channels", 1, CW_CHANNELS_MOST, 1, &channels, err));
    CW_TRY(cw_whole(request, "rate", 8000, 1000000, 0, &rate, err));
    if (strlen(port) >= CW_PORT_NAME || strlen(device) >= CW_CAPTURE_NAME)
        return cw_fail(err, CW_INPUT, "the name of the port or of the sound input is too long");
    cw_desk_source made = {.kind = strcmp(kind, "sound") == 0 ? CW_DESK_SOUND : CW_DESK_GATE,
                           .mask_mm = NAN,
                           .calibrate = cw_form_get(&request->form, "calibrate") != NULL,
                           .rate_hz = (double)rate,
                           .channels = (size_t)channels};
    memcpy(made.port, port, strlen(port) + 1);
    memcpy(made.device, device, strlen(device) + 1);
    if (mask[strspn(mask, " ")] != '\0') {
        double mask_m;
        cw_status status = cw_parse_measure(mask, CW_LENGTH, "mm", &mask_m, err);
        if (status == CW_OK && !(mask_m > 0 && mask_m <= 0.01))
            status = cw_fail(err, CW_INPUT, "%g mm cannot be; above 0 to 10 mm can", mask_m * 1e3);
        if (status != CW_OK) {
            cw_context(err, "Slit before each sensor");
            return status;
        }
        made.mask_mm = mask_m * 1e3;
    }
    CW_TRY(cw_desk_inputs_parse(cw_posted(request, "inputs"), &made, err));
    *source = made;
    return CW_OK;
}

/* ---- beginning ---- */

static bool job_is_leaf(cw_request *request)
{
    cw_job job;
    cw_error ignored;
    int64_t id = cw_row_id(request, "job");
    if (id == 0 || cw_job_get(request->bench, id, &job, &ignored) != CW_OK)
        return false;
    bool is_leaf = job.shutter == CW_JOB_SHUTTER_LEAF;
    cw_job_free(&job);
    return is_leaf;
}

void cw_live_write_begin(cw_request *request, cw_html *h, cw_desk *desk)
{
    static const char *const first[] = {"marked-list", "shots-per-speed", "shutter", "sensors-mm", "frame-mm", NULL};
    static const char *const more[] = {"tolerance", "geometric", "beam",     "contact-channel",
                                       "coupling",  "clock-ppm", "place-mm", NULL};
    static const char usual[] =
        "1,1/2,1/4,1/8,1/15,1/30,1/60,1/125,1/250,1/500,1/1000"; /* common practice, no source */
    cw_shutter_plan plan = cw_plan_default();
    cw_error ignored;
    cw_desk_source source = {.mask_mm = NAN, .channels = 1};
    plan.shots_per_speed = 3;
    if (cw_marks_parse(usual, &plan.marks, &ignored) != CW_OK)
        plan.marks.count = 0;
    if (job_is_leaf(request))
        plan.measure.kind = CW_SHUTTER_LEAF;
    html_markup(h,
                "<h1>Measure live</h1><p class='lead'>Fire the shutter and read the number a moment later, beside the "
                "speed to set next. Shots are found by themselves; each is on the disk before it is shown.</p>\n");
    cw_form_begin(request, h, false, "/live/begin");
    if (cw_row_id(request, "job") > 0)
        cw_field_hidden(h, "job", cw_value(request, "job", ""));
    cw_field_hidden(h, "when", cw_value(request, "when", "before"));
    html_markup(h, "<div class='two'><section class='panel'><h2>The plan</h2>");
    cw_plan_write_fields(request, h, &plan, first);
    html_markup(h, "<details><summary>Tolerance, contact, input</summary>");
    cw_plan_write_fields(request, h, &plan, more);
    html_markup(h, "</details></section>\n<section class='panel'><h2>The light</h2>");
    write_source(request, h, desk, &source);
    html_markup(h,
                "<p class='caution'>A laser must be of class 2 or lower and never be looked into. A flash unit holds a "
                "charge that can kill: wire the bare contact only, with no unit attached.</p></section></div>\n");
    cw_submit(h, "Begin");
    cw_form_end(h);
}

cw_status post_live_begin(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    cw_desk_setup setup = {.plan = cw_plan_default(), .job_id = cw_row_id(request, "job")};
    const char *when = cw_value(request, "when", "before");
    CW_TRY(cw_live_of(request, &desk, err));
    CW_TRY(cw_plan_from_form(&request->form, &setup.plan, err));
    CW_TRY(take_source(request, &setup.source, err));
    snprintf(setup.when, sizeof setup.when, "%.7s", when);
    CW_TRY(cw_desk_begin(desk, &setup, err));
    cw_go(request, reply, NULL, "/live");
    return CW_OK;
}

void cw_live_write_go_on(cw_request *request, cw_html *h, cw_desk *desk, const cw_desk_source *source)
{
    html_markup(h, "<section class='panel'><h2>Go on with it</h2>");
    cw_form_begin(request, h, false, "/live/go-on");
    html_markup(h, "<div class='actions'><button class='button'>Listen again</button></div><details><summary>Through "
                   "another port or input</summary>");
    write_source(request, h, desk, source);
    cw_submit_other(h, "Listen there", "changed", "1");
    html_markup(h, "</details>");
    cw_form_end(h);
    html_markup(h, "</section>\n");
}

cw_status post_live_go_on(cw_request *request, cw_reply *reply, cw_error *err)
{
    cw_desk *desk;
    cw_desk_source source;
    bool changed = cw_posted(request, "changed")[0] != '\0';
    CW_TRY(cw_live_of(request, &desk, err));
    if (changed)
        CW_TRY(take_source(request, &source, err));
    CW_TRY(cw_desk_go_on(desk, changed ? &source : NULL, err));
    cw_go(request, reply, NULL, "/live");
    return CW_OK;
}
