/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/report_json.h"

#include <math.h>
#include <string.h>

static json_t *words(const char *text)
{
    return text != NULL && *text != '\0' ? json_string(text) : json_null();
}

static json_t *test_json(const cw_report_test *kept)
{
    if (kept->test == NULL)
        return json_null();
    return json_pack("{s:o,s:o,s:o,s:o}", "tested_on", words(kept->tested_on), "source", words(kept->source), "notes",
                     words(kept->notes), "result", cw_shutter_test_json(kept->test, NULL));
}

/* Their numbers in the bench, with what they show. */
static json_t *photos_json(const cw_doc_photo *photos, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        if (photos[i].id != 0)
            json_array_append_new(list, json_pack("{s:I,s:o,s:I}", "id", (json_int_t)photos[i].id, "caption",
                                                  words(photos[i].caption), "marks", (json_int_t)photos[i].mark_count));
    return list;
}

static json_t *proofs_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->proof_count; i++) {
        const cw_report_proof *one = &r->proofs[i];
        json_array_append_new(list, json_pack("{s:o,s:o,s:o,s:o,s:o,s:o,s:b}", "test", words(one->label), "why",
                                              words(one->why), "before", words(one->before), "after", words(one->after),
                                              "film", words(one->film), "left_out", words(one->left_out), "outside",
                                              (int)one->outside));
    }
    return list;
}

static json_t *lists_json(const cw_report *r)
{
    json_t *lists = json_array();
    for (size_t i = 0; i < r->list_count; i++) {
        const cw_report_list *one = &r->lists[i];
        json_t *found = json_array();
        for (size_t k = 0; k < one->found_count; k++)
            json_array_append_new(found, json_pack("{s:o,s:o,s:o}", "item", words(one->found[k].text), "remark",
                                                   words(one->found[k].remark), "photos",
                                                   photos_json(&one->found[k].photo, 1)));
        json_array_append_new(lists, json_pack("{s:o,s:o,s:o,s:I,s:I,s:I,s:I,s:o}", "title", words(one->title), "when",
                                               words(one->when), "on", words(one->on), "items", (json_int_t)one->items,
                                               "open", (json_int_t)one->open, "done", (json_int_t)one->done,
                                               "not_applicable", (json_int_t)one->not_applicable, "found", found));
    }
    return lists;
}

static json_t *steps_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->step_count; i++) {
        const cw_report_step *one = &r->steps[i];
        json_array_append_new(
            list, json_pack("{s:I,s:o,s:b,s:b,s:o,s:o,s:o,s:o,s:o,s:o,s:o}", "number", (json_int_t)one->number, "title",
                            words(one->title), "done", (int)one->done, "back", (int)one->back, "came_off",
                            words(one->came_off), "held_by", words(one->held_by), "lubricant_used",
                            words(one->lubricant_to_use), "torque", words(one->torque), "notes", words(one->notes),
                            "duration_s", isfinite(one->duration_s) ? json_real(one->duration_s) : json_null(),
                            "photos", photos_json(one->photos, one->photo_count)));
    }
    return list;
}

static json_t *parts_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->part_count; i++) {
        const cw_report_part *one = &r->parts[i];
        json_array_append_new(list, json_pack("{s:o,s:I,s:o,s:o,s:o,s:o,s:b}", "kind", words(one->kind), "pieces",
                                              (json_int_t)one->pieces, "size", words(one->size), "condition",
                                              words(one->condition), "state", words(one->state), "reason",
                                              words(one->reason), "out", (int)one->out));
    }
    return list;
}

static json_t *sheets_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->sheet_count; i++)
        json_array_append_new(list, json_pack("{s:o,s:o,s:o,s:o}", "title", words(r->sheets[i].title), "when",
                                              words(r->sheets[i].when), "remark", words(r->sheets[i].remark), "sheet",
                                              cw_sheet_json(r->sheets[i].sheet, r->sheets[i].in, r->sheets[i].out)));
    return list;
}

static json_t *frames_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->frame_count; i++) {
        const cw_report_frame *one = &r->frames[i];
        json_array_append_new(list, json_pack("{s:o,s:I,s:o,s:o,s:o,s:o,s:o}", "film", words(one->film), "frame",
                                              (json_int_t)one->frame, "settings", words(one->settings), "scene",
                                              words(one->scene), "verdict", words(one->verdict), "seen",
                                              words(one->seen), "photos", photos_json(&one->photo, 1)));
    }
    return list;
}

static json_t *others_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->other_count; i++)
        json_array_append_new(
            list, json_pack("{s:o,s:o}", "title", words(r->others[i].title), "test", test_json(&r->others[i].test)));
    return list;
}

static json_t *tools_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->tool_count; i++)
        json_array_append_new(list, json_pack("{s:o,s:o,s:o}", "name", words(r->tools[i].name), "kind",
                                              words(r->tools[i].kind), "sizes", words(r->tools[i].sizes)));
    return list;
}

static json_t *costs_json(const cw_report *r)
{
    json_t *list = json_array();
    for (size_t i = 0; i < r->cost_count; i++)
        json_array_append_new(list, json_pack("{s:o,s:o,s:o,s:o}", "on", words(r->costs[i].on), "what",
                                              words(r->costs[i].what), "time", words(r->costs[i].time), "cost",
                                              words(r->costs[i].amount)));
    return list;
}

static json_t *texts_json(const char *const *texts, size_t count)
{
    json_t *list = json_array();
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, words(texts[i]));
    return list;
}

json_t *cw_report_json(const cw_report *r)
{
    const struct {
        const char *key;
        json_t *value;
    } parts[] = {
        {"format", json_string("camerawright.report/1")},
        {"job", words(r->job)},
        {"made_on", words(r->made_on)},
        {"camera", words(r->camera)},
        {"serial", words(r->serial)},
        {"stage", words(r->stage)},
        {"shutter", words(r->shutter)},
        {"taken_in_on", words(r->taken_in_on)},
        {"handed_on_on", words(r->handed_on_on)},
        {"complaint", words(r->complaint)},
        {"owner", words(r->owner)},
        {"notes", words(r->notes)},
        {"before", test_json(&r->before)},
        {"after", test_json(&r->after)},
        {"others", others_json(r)},
        {"proved", proofs_json(r)},
        {"lists", lists_json(r)},
        {"steps", steps_json(r)},
        {"parts", parts_json(r)},
        {"tools", tools_json(r)},
        {"worksheets", sheets_json(r)},
        {"film", frames_json(r)},
        {"cover", r->cover != NULL ? photos_json(r->cover, 1) : json_array()},
        {"more_photos", photos_json(r->more_photos, r->more_photo_count)},
        {"costs", costs_json(r)},
        {"cautions", texts_json(r->cautions, r->caution_count)},
        {"remains", texts_json(r->remaining, r->remaining_count)},
    };
    json_t *object = json_object();
    bool whole = object != NULL;
    for (size_t i = 0; i < CW_COUNT(parts); i++) /* each value is taken over, also when there is no object */
        whole = json_object_set_new(object, parts[i].key, parts[i].value) == 0 && whole;
    if (!whole) {
        json_decref(object);
        return NULL;
    }
    return object;
}
