/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "notebook/thread_json.h"

#include "notebook/tables.h"

static json_t *id_or_null(int64_t id)
{
    return id != 0 ? json_integer(id) : json_null();
}

static json_t *evidence_json(const cw_evidence *evidence)
{
    if (evidence->verdict == CW_PROVED_NOT)
        return json_null();
    return json_pack("{s:s,s:s,s:s,s:o,s:o,s:o}", "verdict", cw_proof_verdict_name(evidence->verdict), "on",
                     evidence->on, "text", evidence->text, "test", id_or_null(evidence->test_id), "worksheet",
                     id_or_null(evidence->sheet_id), "checklist", id_or_null(evidence->checklist_id));
}

static json_t *text_or_null(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

json_t *cw_proving_json(int64_t job_id, const cw_proving *proving)
{
    json_t *list = json_array();
    for (size_t k = 0; k < CW_PROOF_COUNT; k++) {
        const cw_proof *one = &proving->items[k];
        json_array_append_new(
            list, json_pack("{s:s,s:s,s:b,s:b,s:s,s:o,s:o,s:o,s:b,s:o,s:b}", "test", cw_proof_name(one->kind), "label",
                            cw_proof_label(one->kind), "owed", (int)one->owed, "wanted_before", (int)one->wanted_before,
                            "why", one->why, "before", evidence_json(&one->before), "after", evidence_json(&one->after),
                            "film", text_or_null(one->film), "film_objects", (int)one->film_objects, "left_out",
                            text_or_null(one->left_out), "settled", (int)one->settled));
    }
    return json_pack("{s:s,s:I,s:b,s:I,s:I,s:I,s:I,s:o}", "format", "camerawright.proving/1", "job", (json_int_t)job_id,
                     "kind_known", (int)proving->kind_known, "owed", (json_int_t)proving->owed, "settled",
                     (json_int_t)proving->settled, "before_wanted", (json_int_t)proving->before_wanted, "before_done",
                     (json_int_t)proving->before_done, "tests", list);
}

static json_t *action_json(const cw_next_action *action)
{
    if (action->kind == CW_NEXT_NONE)
        return json_null();
    bool test = action->kind == CW_NEXT_TEST_BEFORE || action->kind == CW_NEXT_TEST_AFTER;
    return json_pack("{s:s,s:s,s:s,s:o,s:o,s:o,s:o,s:o}", "kind", cw_next_kind_name(action->kind), "label",
                     action->label, "why", action->why, "to",
                     text_or_null(action->kind == CW_NEXT_MOVE ? cw_stage_name(action->to) : ""), "test",
                     text_or_null(test ? cw_proof_name(action->proof) : ""), "list", text_or_null(action->list), "step",
                     id_or_null(action->step_id), "checklist", id_or_null(action->checklist_id));
}

cw_status cw_next_json(cw_bench *bench, const cw_next *next, json_t **json, cw_error *err)
{
    json_t *missing = json_array();
    cw_stage to = next->stage + 1 < CW_STAGE_COUNT ? next->stage + 1 : next->stage;
    if (to != next->stage) {
        cw_missing_list list;
        cw_status status = cw_job_missing(bench, next->job_id, to, &list, err);
        if (status != CW_OK) {
            json_decref(missing);
            return status;
        }
        for (size_t i = 0; i < list.count; i++)
            json_array_append_new(
                missing, json_pack("{s:s,s:b}", "text", list.items[i].text, "refused", (int)list.items[i].refused));
        cw_missing_list_free(&list);
    }
    *json = json_pack("{s:s,s:I,s:s,s:o,s:o,s:o,s:o,s:I,s:I}", "format", "camerawright.next/1", "job",
                      (json_int_t)next->job_id, "stage", cw_stage_name(next->stage), "next_stage",
                      text_or_null(to != next->stage ? cw_stage_name(to) : ""), "action", action_json(&next->action),
                      "other", action_json(&next->other), "missing", missing, "pieces_out",
                      (json_int_t)next->pieces_out, "steps", (json_int_t)next->step_count);
    return *json != NULL ? CW_OK : cw_fail(err, CW_MEMORY, "no memory for the next thing to do");
}

/* ---- lists and film ---- */

json_t *cw_checklist_json(const cw_checklist *list, const cw_checklist_item_list *items)
{
    json_t *rows = json_array();
    for (size_t i = 0; i < items->count; i++) {
        const cw_checklist_item *item = &items->items[i];
        json_array_append_new(rows, json_pack("{s:I,s:s,s:s,s:s,s:s,s:o,s:s,s:s}", "id", (json_int_t)item->id, "key",
                                              item->key, "text", item->text, "answer", cw_answer_word(item->answer),
                                              "remark", item->remark, "photo", id_or_null(item->photo_id), "by",
                                              item->answered_by, "at", item->answered_at));
    }
    return json_pack("{s:s,s:I,s:I,s:s,s:s,s:s,s:s,s:I,s:I,s:o}", "format", "camerawright.checklist/1", "id",
                     (json_int_t)list->id, "job", (json_int_t)list->job_id, "kind", list->kind, "title", list->title,
                     "when", cw_moment_name(list->moment), "created_at", list->created_at, "items",
                     (json_int_t)list->item_count, "answered", (json_int_t)list->answered, "list", rows);
}

static json_t *number_or_null(double value)
{
    return value == value && value - value == 0 ? json_real(value) : json_null(); /* neither NaN nor infinite */
}

json_t *cw_film_json(int64_t job_id, const cw_film_frame_list *frames)
{
    static const char *const verdicts[CW_ANSWER_COUNT] = {"open", "right", "wrong", "not-applicable"};
    json_t *rows = json_array();
    for (size_t i = 0; i < frames->count; i++) {
        const cw_film_frame *frame = &frames->items[i];
        json_array_append_new(
            rows,
            json_pack("{s:I,s:I,s:s,s:o,s:o,s:o,s:b,s:s,s:s,s:s,s:s,s:s,s:o}", "id", (json_int_t)frame->id, "frame",
                      (json_int_t)frame->frame, "film", frame->film, "marked_s", number_or_null(frame->marked_s),
                      "f_number", number_or_null(frame->f_number), "distance_mm", number_or_null(frame->distance_mm),
                      "at_infinity", frame->distance_mm > 0 && frame->distance_mm - frame->distance_mm != 0, "proves",
                      frame->proves, "scene", frame->scene, "look_for", frame->expected, "seen", frame->seen, "verdict",
                      verdicts[frame->right], "photo", id_or_null(frame->photo_id)));
    }
    return json_pack("{s:s,s:I,s:o}", "format", "camerawright.film/1", "job", (json_int_t)job_id, "frames", rows);
}
