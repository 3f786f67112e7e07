/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shutter/plan.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"
#include "shutter/tolerance.h"

cw_shutter_plan cw_plan_default(void)
{
    return (cw_shutter_plan){.frame_mm = 36, .tolerance = cw_tolerance_common()};
}

/* ---- fields from text ---- */

typedef cw_status (*field_setter)(cw_shutter_plan *plan, const char *text, cw_error *err);

/* The index of `text` among words separated by '|'. */
static cw_status choose(const char *text, const char *words, size_t *index, cw_error *err)
{
    size_t length = strlen(text), at = 0;
    for (const char *word = words; *word != '\0'; at++) {
        size_t size = strcspn(word, "|");
        if (size == length && strncmp(word, text, size) == 0) {
            *index = at;
            return CW_OK;
        }
        word += size + (word[size] == '|');
    }
    return cw_fail(err, CW_INPUT, "\"%.40s\" is not one of %s", text, words);
}

static cw_status set_marked(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    double marked_s;
    CW_TRY(cw_mark_parse(text, &marked_s, err));
    plan->marks = (cw_mark_list){.count = 1};
    plan->marks.marked_s[0] = marked_s;
    return CW_OK;
}

static cw_status set_marked_list(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    return cw_marks_parse(text, &plan->marks, err);
}

static cw_status set_shots_per_speed(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    long count;
    CW_TRY(cw_parse_whole(text, 1, 100, &count, err));
    plan->shots_per_speed = (size_t)count;
    return CW_OK;
}

static cw_status set_shutter(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    size_t index;
    CW_TRY(choose(text, "focal-plane|leaf", &index, err));
    plan->measure.kind = index == 0 ? CW_SHUTTER_FOCAL_PLANE : CW_SHUTTER_LEAF;
    return CW_OK;
}

static cw_status set_beam(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    size_t index;
    CW_TRY(choose(text, "point|diffuse", &index, err));
    plan->measure.beam = index == 0 ? CW_BEAM_POINT : CW_BEAM_DIFFUSE;
    return CW_OK;
}

static cw_status set_coupling(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    static const cw_coupling couplings[] = {CW_COUPLING_AUTO, CW_COUPLING_DC, CW_COUPLING_AC};
    size_t index;
    CW_TRY(choose(text, "auto|dc|ac", &index, err));
    plan->measure.coupling = couplings[index];
    return CW_OK;
}

/* "4,18,32" or "4;18,5;32": a decimal comma needs semicolons between. */
static cw_status set_sensors(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    char copy[200];
    if (strlen(text) >= sizeof copy)
        return cw_fail(err, CW_INPUT, "more than %d positions", CW_SENSORS_MOST);
    memcpy(copy, text, strlen(text) + 1);
    const char *between = strchr(copy, ';') != NULL ? ";" : ",";
    double positions[CW_SENSORS_MOST];
    size_t count = 0;
    for (char *rest = copy, *item; (item = strsep(&rest, between)) != NULL; count++) {
        double position_m;
        if (count == CW_SENSORS_MOST)
            return cw_fail(err, CW_INPUT, "more than %d positions", CW_SENSORS_MOST);
        CW_TRY(cw_parse_measure(item, CW_LENGTH, "mm", &position_m, err));
        positions[count] = position_m * 1e3;
    }
    plan->measure.sensor_count = count;
    memcpy(plan->measure.sensors_mm, positions, count * sizeof *positions);
    return CW_OK;
}

static cw_status set_frame(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    double frame_m;
    CW_TRY(cw_parse_measure(text, CW_LENGTH, "mm", &frame_m, err));
    if (!(frame_m >= 0.005 && frame_m <= 0.3))
        return cw_fail(err, CW_INPUT, "a frame of %g mm cannot be used; 5 to 300 mm can", frame_m * 1e3);
    plan->frame_mm = frame_m * 1e3;
    return CW_OK;
}

static cw_status set_tolerance(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    return cw_tolerance_find(text, &plan->tolerance, err);
}

static cw_status set_contact(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    long channel;
    CW_TRY(cw_parse_whole(text, 1, CW_CHANNELS_MOST, &channel, err));
    plan->measure.contact_channel = (size_t)channel;
    return CW_OK;
}

static cw_status set_geometric(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    size_t index;
    CW_TRY(choose(text, "yes|no", &index, err));
    plan->geometric = index == 0;
    return CW_OK;
}

static cw_status set_strike(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    char copy[400];
    if (strlen(text) >= sizeof copy)
        return cw_fail(err, CW_INPUT, "more than %d shots struck out", CW_STRIKES_MOST);
    memcpy(copy, text, strlen(text) + 1);
    plan->strike_count = 0;
    for (char *rest = copy, *item; (item = strsep(&rest, ",;")) != NULL;) {
        long shot;
        if (plan->strike_count == CW_STRIKES_MOST)
            return cw_fail(err, CW_INPUT, "more than %d shots struck out", CW_STRIKES_MOST);
        CW_TRY(cw_parse_whole(item, 1, CW_SHOTS_MOST, &shot, err));
        plan->strikes[plan->strike_count++] = (size_t)shot;
    }
    return CW_OK;
}

static cw_status set_clock(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    double ppm;
    CW_TRY(cw_parse_measure(text, CW_PLAIN, NULL, &ppm, err));
    if (!(ppm > 0 && ppm <= 1e5))
        return cw_fail(err, CW_INPUT, "%g ppm cannot be used; above 0 to 100000 can", ppm);
    plan->u_clock_relative = ppm * 1e-6;
    return CW_OK;
}

static cw_status set_place(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    double u_m;
    CW_TRY(cw_parse_measure(text, CW_LENGTH, "mm", &u_m, err));
    if (!(u_m > 0 && u_m <= 0.01))
        return cw_fail(err, CW_INPUT, "%g mm cannot be used; above 0 to 10 mm can", u_m * 1e3);
    plan->u_positions_mm = u_m * 1e3;
    return CW_OK;
}

static cw_status set_separator(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    if (strcmp(text, "tab") == 0)
        plan->source.separator = '\t';
    else if (strlen(text) == 1 && strchr(",;\t ", *text) != NULL)
        plan->source.separator = *text;
    else
        return cw_fail(err, CW_INPUT, "\"%.20s\" is no separator; a comma, a semicolon, a blank or the word tab is",
                       text);
    return CW_OK;
}

static cw_status set_interval(cw_shutter_plan *plan, const char *text, cw_error *err)
{
    double interval_s;
    CW_TRY(cw_parse_measure(text, CW_TIME, "s", &interval_s, err));
    if (!(interval_s >= 1e-9 && interval_s <= 1))
        return cw_fail(err, CW_INPUT, "a sample interval of %g s cannot be used; 1 ns to 1 s can", interval_s);
    plan->source.sample_interval_s = interval_s;
    return CW_OK;
}

static const cw_plan_field fields[] = {
    {"marked", "Marked speed", "1/250", "", "the engraved speed, when every shot was fired at the same", false},
    {"marked-list", "Marked speeds, in the order fired", "1,1/2,1/4", "",
     "one for each shot, or for each group of shots; 1/125 x3 stands for three", false},
    {"shots-per-speed", "Shots at each speed", "3", "", "when the list names each speed once", false},
    {"shutter", "Kind of shutter", "focal-plane|leaf", "focal-plane",
     "curtains or blades before the film, or leaves in the lens", false},
    {"beam", "Light at the sensor", "point|diffuse", "point",
     "point: a narrow beam or a small sensor behind a slit; diffuse: a sensor that sees the whole opening", false},
    {"sensors-mm", "Sensor positions along the travel", "4,18,32", "",
     "mm from the edge of the frame that opens first, in the order of the channels; mm unless another unit is given",
     false},
    {"frame-mm", "Length of the frame along the travel", "36", "36", "36 or 24 for 24x36, 56 for 6x6", false},
    {"coupling", "Input coupling", "auto|dc|ac", "auto", "ac: a microphone or line socket, which forgets slow changes",
     false},
    {"contact-channel", "Channel of the flash contact", "4", "", "counted from 1; none unless given", false},
    {"tolerance", "Tolerance", "common", "common",
     "how far off a speed may be: a table's name, or a file on the command line", false},
    {"geometric", "Compare with the geometric series", "yes|no", "no", "1/128 behind 1/125, 1/1024 behind 1/1000",
     true},
    {"strike", "Shots to leave out", "3,7", "", "counted from 1; they stay in the record", false},
    {"clock-ppm", "Standard uncertainty of the recorder's clock, ppm", "100", "", "100 is taken unless stated", false},
    {"place-mm", "Standard uncertainty of the sensor places, mm", "0.2", "", "0.2 is taken unless stated", false},
    {"separator", "CSV: separator", ";", "", "found out unless given; the word tab for a tab", false},
    {"sample-interval", "CSV without a time column: sample interval", "10 us", "", "found in the file unless given",
     false},
};

static const field_setter setters[] = {
    set_marked,  set_marked_list, set_shots_per_speed, set_shutter, set_beam,  set_sensors, set_frame,     set_coupling,
    set_contact, set_tolerance,   set_geometric,       set_strike,  set_clock, set_place,   set_separator, set_interval,
};
_Static_assert(CW_COUNT(fields) == CW_COUNT(setters), "a setter for each field");

const cw_plan_field *cw_plan_fields(size_t *count)
{
    *count = CW_COUNT(fields);
    return fields;
}

cw_status cw_plan_set(cw_shutter_plan *plan, const char *key, const char *text, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(fields); i++) {
        if (strcmp(fields[i].key, key) != 0)
            continue;
        if (text[strspn(text, " \t\r\n")] == '\0')
            return CW_OK;
        cw_status status = setters[i](plan, text, err);
        if (status != CW_OK)
            cw_context(err, "%s", fields[i].label);
        return status;
    }
    return cw_fail(err, CW_INPUT, "the plan of a shutter test has no \"%.40s\"", key);
}

/* ---- JSON ---- */

static void list_text(const double *values, size_t count, void (*write)(double, char *, size_t), char *out, size_t size)
{
    size_t used = 0;
    out[0] = '\0';
    for (size_t i = 0; i < count && used + CW_MARK_TEXT + 2 < size; i++) {
        char item[CW_MARK_TEXT];
        if (isnan(values[i]))
            snprintf(item, sizeof item, "B");
        else
            write(values[i], item, sizeof item);
        used += (size_t)snprintf(out + used, size - used, "%s%s", used > 0 ? ";" : "", item);
    }
}

static void position_text(double position_mm, char *out, size_t size)
{
    snprintf(out, size, "%.6g", position_mm);
}

/* As typed; 12 digits bring any value back that a person typed. */
static void set_number(json_t *object, const char *key, bool given, double value)
{
    char text[40];
    snprintf(text, sizeof text, "%.12g", value);
    if (given)
        json_object_set_new(object, key, json_string(text));
}

json_t *cw_plan_json(const cw_shutter_plan *plan)
{
    static const char *const couplings[] = {
        [CW_COUPLING_AUTO] = "auto", [CW_COUPLING_DC] = "dc", [CW_COUPLING_AC] = "ac"};
    enum { LIST_TEXT = CW_MARKS_MOST * (CW_MARK_TEXT + 1) };
    char *list = malloc(LIST_TEXT);
    json_t *object = json_pack("{s:s,s:s,s:s,s:s,s:s}", "format", "camerawright.shutter-plan/1", "shutter",
                               plan->measure.kind == CW_SHUTTER_LEAF ? "leaf" : "focal-plane", "beam",
                               plan->measure.beam == CW_BEAM_DIFFUSE ? "diffuse" : "point", "coupling",
                               couplings[plan->measure.coupling], "geometric", plan->geometric ? "yes" : "no");
    if (list == NULL || object == NULL) {
        free(list);
        json_decref(object);
        return NULL;
    }
    if (plan->marks.count > 0) {
        list_text(plan->marks.marked_s, plan->marks.count, cw_mark_text, list, LIST_TEXT);
        json_object_set_new(object, "marked-list", json_string(list));
    }
    if (plan->measure.sensor_count > 0) {
        list_text(plan->measure.sensors_mm, plan->measure.sensor_count, position_text, list, LIST_TEXT);
        json_object_set_new(object, "sensors-mm", json_string(list));
    }
    double strikes[CW_STRIKES_MOST];
    for (size_t i = 0; i < plan->strike_count; i++)
        strikes[i] = (double)plan->strikes[i];
    if (plan->strike_count > 0) {
        list_text(strikes, plan->strike_count, position_text, list, LIST_TEXT);
        json_object_set_new(object, "strike", json_string(list));
    }
    free(list);
    set_number(object, "frame-mm", true, plan->frame_mm);
    set_number(object, "shots-per-speed", plan->shots_per_speed > 0, (double)plan->shots_per_speed);
    set_number(object, "contact-channel", plan->measure.contact_channel > 0, (double)plan->measure.contact_channel);
    set_number(object, "clock-ppm", plan->u_clock_relative > 0, plan->u_clock_relative * 1e6);
    set_number(object, "place-mm", plan->u_positions_mm > 0, plan->u_positions_mm);
    set_number(object, "sample-interval", plan->source.sample_interval_s > 0, plan->source.sample_interval_s);
    if (plan->source.separator != 0) {
        char separator[4] = {plan->source.separator, '\0'};
        json_object_set_new(object, "separator", json_string(plan->source.separator == '\t' ? "tab" : separator));
    }
    json_object_set_new(object, "tolerance", cw_tolerance_json(&plan->tolerance));
    return object;
}

cw_status cw_plan_from_json(const json_t *object, cw_shutter_plan *plan, cw_error *err)
{
    cw_shutter_plan made = cw_plan_default();
    const char *key;
    json_t *value;
    if (!json_is_object(object))
        return cw_fail(err, CW_INPUT, "the stored plan of the test is not a JSON object");
    json_object_foreach((json_t *)object, key, value)
    {
        if (strcmp(key, "format") == 0)
            continue;
        if (strcmp(key, "tolerance") == 0 && json_is_object(value))
            CW_TRY(cw_tolerance_from_json(value, &made.tolerance, err));
        else if (json_is_string(value))
            CW_TRY(cw_plan_set(&made, key, json_string_value(value), err));
        else
            return cw_fail(err, CW_INPUT, "the stored plan's \"%.40s\" is not a text", key);
    }
    *plan = made;
    return CW_OK;
}

/* ---- running ---- */

cw_test_setup cw_plan_setup(const cw_shutter_plan *plan)
{
    cw_test_setup setup = {
        .kind = plan->measure.kind,
        .beam = plan->measure.beam,
        .frame_mm = plan->frame_mm,
        .sensor_count = plan->measure.sensor_count,
        .geometric = plan->geometric,
        .u_clock_relative = plan->u_clock_relative,
        .u_positions_mm = plan->u_positions_mm,
        .tolerance = plan->tolerance,
    };
    memcpy(setup.sensors_mm, plan->measure.sensors_mm, sizeof setup.sensors_mm);
    return setup;
}

static json_t *number_or_null(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* What each channel was found to be, so that its trace can be drawn with its levels later. */
static json_t *levels_json(const cw_measurement *measured)
{
    json_t *levels = json_array();
    for (size_t i = 0; i < measured->channel_count; i++) {
        const cw_channel_found *found = &measured->channels[i];
        json_array_append_new(levels, json_pack("{s:o,s:o,s:b,s:b,s:b}", "rest", number_or_null(found->rest), "full",
                                                number_or_null(found->full.value), "inverted", (int)found->is_inverted,
                                                "contact", (int)found->is_contact, "idle", (int)found->is_idle));
    }
    return levels;
}

static json_t *recording_json(const cw_source_info *about, const cw_measurement *measured)
{
    json_t *warnings = json_array();
    for (size_t i = 0; i < about->warning_count; i++)
        json_array_append_new(warnings, json_string(about->warnings[i]));
    for (size_t i = 0; i < measured->warning_count; i++)
        json_array_append_new(warnings, json_string(measured->warnings[i]));
    return json_pack("{s:I,s:f,s:f,s:o,s:o}", "channels", (json_int_t)about->channels, "rate_hz", about->rate_hz,
                     "length_s", about->length_s, "warnings", warnings, "levels", levels_json(measured));
}

static cw_status strike_out(const cw_shutter_plan *plan, cw_shot *shots, size_t count, cw_error *err)
{
    for (size_t i = 0; i < plan->strike_count; i++) {
        size_t shot = plan->strikes[i];
        if (shot > count)
            return cw_fail(err, CW_INPUT, "shot %zu cannot be left out: there are %zu", shot, count);
        shots[shot - 1].struck = true;
        if (shots[shot - 1].remark[0] == '\0')
            snprintf(shots[shot - 1].remark, sizeof shots->remark, "left out by the person");
    }
    return CW_OK;
}

/* On a copy of the shots that it may mark. */
static cw_status assign_and_evaluate(const cw_shutter_plan *plan, cw_shot *shots, size_t count, cw_plan_result *result,
                                     cw_error *err)
{
    CW_TRY(strike_out(plan, shots, count, err));
    bool known = true;
    for (size_t i = 0; i < count; i++)
        known = known && !isnan(shots[i].marked_s);
    if (plan->marks.count > 0) {
        CW_TRY(cw_marks_assign(&plan->marks, plan->shots_per_speed, shots, count, err));
    } else if (!known) {
        CW_TRY(cw_marks_propose(NULL, shots, count, &result->proposal, err));
        result->proposed = true;
    }
    cw_test_setup setup = cw_plan_setup(plan);
    return cw_shutter_evaluate(&setup, shots, count, &result->test, err);
}

cw_status cw_plan_run_shots(const cw_shutter_plan *plan, const cw_shot *shots, size_t shot_count, json_t *recording,
                            cw_plan_result *result, cw_error *err)
{
    cw_plan_result made = {.recording = recording};
    if (shot_count > CW_SHOTS_MOST) {
        json_decref(recording);
        return cw_fail(err, CW_RANGE, "%zu shots; %d can be evaluated together", shot_count, CW_SHOTS_MOST);
    }
    cw_shot *copy = malloc((shot_count > 0 ? shot_count : 1) * sizeof *copy);
    cw_status status = CW_OK;
    if (copy == NULL) {
        status = cw_fail(err, CW_MEMORY, "no memory for %zu shots", shot_count);
    } else {
        memcpy(copy, shots, shot_count * sizeof *copy);
        status = assign_and_evaluate(plan, copy, shot_count, &made, err);
    }
    free(copy);
    if (status != CW_OK) {
        cw_plan_result_free(&made);
        return status;
    }
    *result = made;
    return CW_OK;
}

cw_status cw_plan_run(const cw_shutter_plan *plan, cw_source *source, cw_plan_result *result, cw_error *err)
{
    cw_measurement *measured;
    CW_TRY(cw_measure(source, &plan->measure, &measured, err));
    json_t *recording = recording_json(cw_source_about(source), measured);
    cw_status status = recording != NULL
                           ? cw_plan_run_shots(plan, measured->shots, measured->shot_count, recording, result, err)
                           : cw_fail(err, CW_MEMORY, "no memory for the result");
    cw_measurement_free(measured);
    return status;
}

void cw_plan_result_free(cw_plan_result *result)
{
    if (result == NULL)
        return;
    cw_shutter_test_free(result->test);
    json_decref(result->recording);
    *result = (cw_plan_result){0};
}

json_t *cw_plan_result_json(const cw_plan_result *result)
{
    json_t *object = cw_shutter_test_json(result->test, result->recording);
    if (object != NULL && result->proposed)
        json_object_set_new(object, "proposal",
                            json_pack("{s:b,s:s}", "certain", result->proposal.certain, "text", result->proposal.text));
    return object;
}
