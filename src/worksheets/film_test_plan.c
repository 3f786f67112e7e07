/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The roll of film that proves a mended camera. */
#include <math.h>
#include <stdio.h>

#include "exposure/film_plan.h"
#include "worksheets/fields.h"
#include "worksheets/film_need.h"

static const cw_choice yes_no[] = {{"yes", "Yes"}, {"no", "No"}, {NULL, NULL}};

enum { MARKS_MOST = CW_FILM_MARKS_MOST };

static const cw_field mark_columns[] = {
    CW_NEED("mark", "Speed", CW_TIME, "s", 1e-5, 60, "as engraved: 1/125"),
};

static const cw_field inputs[] = {
    CW_PICK("speeds", "Shutter was mended", yes_no, "yes", ""),
    CW_PICK("focus", "Focus or finder was mended", yes_no, "yes", ""),
    CW_PICK("optics", "Lens was cleaned or taken apart", yes_no, "yes", ""),
    CW_PICK("meter", "Meter was mended", yes_no, "no", ""),
    CW_PICK("diaphragm", "Aperture was mended", yes_no, "no", ""),
    CW_PICK("seals", "Seals or bellows were mended", yes_no, "yes", ""),
    CW_PICK("transport", "Film transport was mended", yes_no, "no", ""),
    CW_PICK("flash", "Flash contact was mended", yes_no, "no", ""),
    CW_USUAL_COUNT("frames", "Frames on the roll", "24", 4, CW_PLAN_FRAMES_MOST, ""),
    CW_USUAL("film-speed", "Film speed", CW_PLAIN, NULL, "100", 3, 6400, ""),
    CW_USUAL("light", "Light of the scene", CW_EXPOSURE_VALUE, "EV", "15 EV", 4, 17,
             "at ISO 100; 15 full sun, 13 bright overcast, 12 open shade: common practice"),
    CW_USUAL("wide", "Widest aperture", CW_PLAIN, NULL, "2.8", 0.9, 32, ""),
    CW_USUAL("small", "Smallest aperture", CW_PLAIN, NULL, "16", 1, 128, ""),
    CW_USUAL("focal", "Focal length", CW_LENGTH, "mm", "50 mm", 5e-3, 1, ""),
    CW_USUAL("nearest", "Nearest distance", CW_LENGTH, "m", "0.9 m", 0.05, 100, ""),
    CW_USUAL("blur", "Circle of confusion", CW_LENGTH, "mm", "0.03 mm", 2e-6, 0.5e-3, "0.03 for 24 x 36"),
    {.key = "marks",
     .label = "Marked speeds",
     .kind = CW_KIND_ROWS,
     .columns = mark_columns,
     .column_count = CW_COUNT(mark_columns),
     .rows_most = MARKS_MOST,
     .fallback = "1/30;1/60;1/125;1/250;1/500",
     .help = "one a row"},
};

static const cw_field frame_columns[] = {
    CW_SAY("frame", "Frame", ""),
    CW_SAY("settings", "Settings", ""),
    CW_MAY_SHOW("wants", "Light it wants", CW_EXPOSURE_VALUE, "EV", 3,
                "at ISO 100; other than the scene's: shade, a dull hour, a grey filter"),
    CW_MAY_SHOW("error", "In the scene's light", CW_EXPOSURE_STEP, "EV", 2, "+ = too much"),
    CW_SAY("proves", "What to photograph", ""),
    CW_SAY("look-for", "What to look for", ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("room", "Does the roll take it all?", ""),
    CW_TABLE("plan", "Frame by frame", frame_columns, "write down what was different"),
    CW_SAY("free", "Frames left over", ""),
};

static const struct {
    const char *key;
    int bit;
} mended_bits[] = {{"speeds", CW_MENDED_SPEEDS},       {"focus", CW_MENDED_FOCUS},        {"optics", CW_MENDED_OPTICS},
                   {"meter", CW_MENDED_METER},         {"diaphragm", CW_MENDED_APERTURE}, {"seals", CW_MENDED_SEALS},
                   {"transport", CW_MENDED_TRANSPORT}, {"flash", CW_MENDED_FLASH}};

const char *cw_film_need_key(int bit_value)
{
    for (size_t i = 0; i < CW_COUNT(mended_bits); i++)
        if (mended_bits[i].bit == bit_value)
            return mended_bits[i].key;
    return NULL;
}

static int read_mended(const cw_sheet_in *in)
{
    int mended = 0;
    for (size_t i = 0; i < CW_COUNT(mended_bits); i++)
        if (cw_in_is(in, mended_bits[i].key, "yes"))
            mended |= mended_bits[i].bit;
    return mended;
}

/* A mark as it is engraved: 1/60 and not 1/60.0. */
static void say_mark(double time_s, char *text, size_t size)
{
    double per_second = 1 / time_s;
    if (per_second >= 1.5 && fabs(per_second - round(per_second)) < 1e-6 * per_second)
        snprintf(text, size, "1/%.0f s", per_second);
    else
        cw_shutter_time_text(time_s, text, size);
}

static void say_settings(cw_sheet_out *out, size_t row, const cw_plan_frame *f)
{
    char time[32] = "", aperture[32] = "", distance[96] = "";
    if (!isnan(f->time_s))
        say_mark(f->time_s, time, sizeof time);
    if (!isnan(f->aperture))
        snprintf(aperture, sizeof aperture, "%sf/%.2g", time[0] != '\0' ? ", " : "", f->aperture);
    if (isinf(f->distance_m))
        snprintf(distance, sizeof distance, ", infinity (sharp from %.3g m)", f->near_m);
    else if (isinf(f->far_m))
        snprintf(distance, sizeof distance, ", %.3g m (sharp from %.3g m to infinity)", f->distance_m, f->near_m);
    else if (!isnan(f->distance_m))
        snprintf(distance, sizeof distance, ", %.3g m (sharp %.3g to %.3g m)", f->distance_m, f->near_m, f->far_m);
    if (time[0] == '\0' && aperture[0] == '\0')
        cw_out_cell_text(out, "plan", row, "settings", "as the words say");
    else
        cw_out_cell_text(out, "plan", row, "settings", "%s%s%s", time, aperture, distance);
}

cw_status cw_film_need_read(const cw_sheet_in *in, double marks[CW_FILM_MARKS_MOST], cw_plan_need *need, cw_error *err)
{
    size_t count = cw_in_rows(in, "marks");
    if (count > MARKS_MOST)
        return cw_fail(err, CW_RANGE, "%zu marked speeds; %d can be planned", count, MARKS_MOST);
    for (size_t i = 0; i < count; i++)
        marks[i] = cw_in_cell_number(in, "marks", i, "mark");
    *need = (cw_plan_need){.mended = read_mended(in),
                           .frames = (int)cw_in_number(in, "frames"),
                           .film_speed = cw_in_number(in, "film-speed"),
                           .light_ev = cw_in_number(in, "light"),
                           .f_number_wide = cw_in_number(in, "wide"),
                           .f_number_small = cw_in_number(in, "small"),
                           .focal_m = cw_in_number(in, "focal"),
                           .nearest_m = cw_in_number(in, "nearest"),
                           .blur_m = cw_in_number(in, "blur"),
                           .marks_s = marks,
                           .mark_count = count};
    return CW_OK;
}

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double marks[MARKS_MOST];
    cw_plan_need need;
    cw_plan plan;
    CW_TRY(cw_film_need_read(in, marks, &need, err));
    CW_TRY(cw_film_plan(&need, &plan, err));
    bool other_light = false;
    for (size_t i = 0; i < plan.frame_count; i++) {
        const cw_plan_frame *f = &plan.frames[i];
        size_t row = cw_out_row(out, "plan");
        cw_out_cell_text(out, "plan", row, "frame", "%d", f->number);
        say_settings(out, row, f);
        if (!isnan(f->error_ev)) {
            cw_out_cell_number(out, "plan", row, "wants", f->wants_ev);
            cw_out_cell_number(out, "plan", row, "error", f->error_ev);
            other_light = other_light || fabs(f->error_ev) > 0.6;
        }
        cw_out_cell_text(out, "plan", row, "proves", "%s", f->proves);
        cw_out_cell_text(out, "plan", row, "look-for", "%s", f->look_for);
    }
    if (plan.dropped > 0)
        cw_out_verdict(out, "room", CW_VERDICT_OUTSIDE,
                       "%zu frames do not fit; take a longer roll, or leave out what was proved on the bench",
                       plan.dropped);
    else
        cw_out_verdict(out, "room", CW_VERDICT_INSIDE, "%zu frames are used", plan.frame_count);
    cw_out_text(out, "free", "%zu", plan.left_over);
    if (other_light)
        cw_out_note(out, "Where the light it wants is not the scene's by more than half a stop, wait for it, go into "
                         "the shade or hold a grey filter before the lens.");
    return CW_OK;
}

static const char *const sources[] = {
    "exposure: ISO 2720 (N^2/t)",
    "depth of field: Smith, Modern Optical Engineering, eq. 9.9 and 9.10; here the exact thin-lens form",
    "which frame shows what: common practice, no source", NULL};
static const char *const example[] = {"frames", "24", "film-speed", "100", NULL};

extern const cw_worksheet cw_sheet_film_test_plan;
const cw_worksheet cw_sheet_film_test_plan = {
    .name = "film-test-plan",
    .title = "Test roll for a mended camera",
    .group = "Light",
    .purpose = "Which frames to shoot so that one roll shows each thing that was mended, with settings, and what to "
               "look for when the film is back.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
