/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What goes on paper about a job: the report that is handed on, and the sheets that lead the hands at the bench. The
 * caller fills plain structs, from the notebook (report/gather.h) or from anywhere; every text may be NULL or "", and
 * what is not there is left out or said to be missing, never invented. */
#ifndef CW_REPORT_REPORT_H
#define CW_REPORT_REPORT_H

#include <stddef.h>

#include "base/error.h"
#include "report/document.h"
#include "shutter/evaluate.h"
#include "worksheets/worksheet.h"

/* Evenness over the frame at one speed, as a drawing. */
typedef struct {
    const char *svg, *caption;
} cw_report_map;

/* A shutter test and its circumstances. */
typedef struct {
    const cw_shutter_test *test; /* NULL: not done */
    const char *tested_on;       /* day */
    const char *source;          /* "recording shots.wav", "read from a timer" */
    const char *notes;
    const char *trace_svg; /* what the sensors saw of one shot; "" or NULL: there is no recording */
    const char *trace_caption;
    const cw_report_map *maps; /* of photographs, one a speed */
    size_t map_count;
} cw_report_test;

/* A worksheet as it was run. */
typedef struct {
    const cw_worksheet *sheet;
    const cw_sheet_in *in;
    const cw_sheet_out *out;
    const char *title;  /* the person's own line */
    const char *remark; /* "computed again with version 0.2; saved with 0.1" */
    const char *when;   /* "before the work", "after the work"; "" it only works something out */
} cw_report_sheet;

typedef struct {
    long number; /* as in the notebook */
    const char *title;
    const char *came_off, *held_by;
    const char *thread;      /* "left-hand", "right-hand", "" */
    const char *orientation; /* which way round, scribed marks */
    const char *flies;       /* what may jump: a caution where the step is */
    const char *tool;
    const char *lubricant_found, *lubricant_to_use;
    const char *torque;
    const char *check_before_closing;
    const char *notes;
    double duration_s; /* NaN: not noted */
    bool done, back;   /* taken apart; checked off on the way together */
    const cw_doc_photo *photos;
    size_t photo_count;
} cw_report_step;

typedef struct {
    const char *kind; /* "screw" */
    long pieces;
    const char *size, *length, *sat, *orientation;
    const char *condition; /* in words */
    const char *state;     /* in words: "back", "replaced" ... */
    const char *reason;
    long tray_number; /* 0: none */
    long step_number; /* 0: none */
    bool out;         /* still unaccounted for */
} cw_report_part;

/* A test that this kind of camera owes: what is known of it, in words. */
typedef struct {
    const char *label, *why;
    const char *before, *after; /* "inside, 2026-11-25: 8 of 8 speeds inside"; "" not done */
    const char *film;           /* what the test film says about it */
    const char *left_out;       /* the reason; "" */
    bool outside;               /* after the work, or by the film */
} cw_report_proof;

/* A test other than the light through the shutter: by ear, from photographs. */
typedef struct {
    const char *title; /* "By ear, before the work" */
    cw_report_test test;
} cw_report_other;

typedef struct {
    const char *text, *remark; /* what was looked at; what was found */
    cw_doc_photo photo;        /* path NULL: none */
} cw_report_found;

typedef struct {
    const char *title, *when, *on;
    long items, open, done, not_applicable;
    const cw_report_found *found;
    size_t found_count;
} cw_report_list;

typedef struct {
    long frame;
    const char *film, *settings, *scene, *verdict, *seen;
    cw_doc_photo photo; /* path NULL: none */
} cw_report_frame;

typedef struct {
    const char *name, *kind, *sizes;
} cw_report_tool;

typedef struct {
    const char *on, *what, *time, *amount; /* "40 min", "12.50 EUR" */
} cw_report_cost;

typedef struct {
    const char *paper;   /* "A4", "Letter" */
    const char *made_on; /* day, for the foot of the page; the caller's clock */
    const char *job;     /* "Job 7" */
    const char *camera, *serial, *stage, *shutter;
    const char *taken_in_on, *handed_on_on;
    const char *complaint, *owner, *notes; /* owner: only where it is wanted on paper */
    const cw_doc_photo *cover;             /* NULL: none */
    cw_report_test before, after;
    const cw_report_sheet *sheets;
    size_t sheet_count;
    const cw_report_step *steps; /* in the order taken apart */
    size_t step_count;
    const cw_report_part *parts;
    size_t part_count;
    const char *const *cautions; /* sentences that concern the whole job */
    size_t caution_count;
    const cw_report_proof *proofs; /* those owed */
    size_t proof_count;
    const cw_report_other *others;
    size_t other_count;
    const cw_report_list *lists;
    size_t list_count;
    const cw_report_frame *frames; /* of the test film */
    size_t frame_count;
    const cw_report_tool *tools; /* made for this camera */
    size_t tool_count;
    const cw_report_cost *costs; /* only where they are wanted; the last one is the sum */
    size_t cost_count;
    const cw_doc_photo *more_photos; /* of the camera, shown by nothing above */
    size_t more_photo_count;
    const char *const *remaining; /* what is still to be done, a sentence each */
    size_t remaining_count;
} cw_report;

/* The report: camera and complaint, the shutter before and after with verdicts, plots, findings, method and uncertainty
 * in plain words, worksheets, work done, parts, what remains. The caller saves and frees *document. */
cw_status cw_report_make(const cw_report *report, cw_document **document, cw_error *err)
    __attribute__((warn_unused_result));

typedef enum { CW_SHEET_TEARDOWN, CW_SHEET_REASSEMBLY } cw_step_sheet_kind;

/* The steps with a box to tick, photos side by side, parts with their trays: forwards, or backwards for putting
 * together, with lubricants, torques and checks before a cover closes. Uses camera, steps, parts, paper, made_on. */
cw_status cw_step_sheet_make(const cw_report *report, cw_step_sheet_kind kind, cw_document **document, cw_error *err)
    __attribute__((warn_unused_result));

#endif
