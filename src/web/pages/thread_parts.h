/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The thread on pages: the one next action, verdicts of what was proved, an item that is answered with one tap. */
#ifndef CW_WEB_THREAD_PARTS_H
#define CW_WEB_THREAD_PARTS_H

#include "notebook/rack.h"
#include "notebook/thread.h"
#include "web/request.h"

/* The panel "Next": why, the one main button, and the way past it. */
void cw_write_next(cw_request *request, cw_html *h, const cw_job *job, const cw_next *next);
/* An action as a button: a link, or a form where something is begun. main: the page's main one. */
void cw_write_action(cw_request *request, cw_html *h, const cw_job *job, const cw_next_action *action, bool main_one);
/* The same for a test of a kind, before or after the work. */
void cw_write_test_button(cw_request *request, cw_html *h, const cw_job *job, const cw_proof *proof, bool after,
                          bool main_one, const char *label);

/* A button that begins a guided list; kind "own:3" for one of the person's own, when "", "before" or "after". */
void cw_write_list_button(cw_request *request, cw_html *h, int64_t job_id, const char *list, const char *when,
                          const char *label, bool main_one);

/* "inside", "outside" ... with its class and shape. */
void cw_write_proof_verdict(cw_html *h, cw_proof_verdict verdict);
/* Verdict, day and words, leading to the test, worksheet, list or film behind it. */
void cw_write_evidence(cw_html *h, int64_t job_id, cw_proof_kind kind, const cw_evidence *evidence);

/* An item of a list, or a frame of a film, with its buttons. */
typedef struct {
    const char *address;      /* where its forms post to */
    int64_t id;               /* posted as "item" */
    const char *text;         /* for the buttons' accessible names */
    const char *good, *bad;   /* labels: "Done", "Found something" */
    const char *remark_label; /* "What was found" */
    const char *remark;
    cw_answer answer;
    bool is_next; /* the first open one: its good button is the page's main one */
} cw_answer_form;

void cw_write_answer_form(cw_request *request, cw_html *h, const cw_answer_form *form);
/* What such a form posted; a photo in "photo" is kept with the job. CW_INPUT: something is wrong and no line says what.
 * *photo_id 0 when none came. */
cw_status cw_read_answer(cw_request *request, int64_t job_id, cw_answer *answer, const char **remark, int64_t *photo_id,
                         cw_error *err) __attribute__((warn_unused_result));
/* The laptop, or the paired phone's name. */
void cw_who_answers(cw_request *request, char *who, size_t size);

#endif
