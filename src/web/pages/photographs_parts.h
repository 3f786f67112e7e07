/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Photographs of a lit film gate, already compared: what the page works with, and its pictures. */
#ifndef CW_WEB_PHOTOGRAPHS_PARTS_H
#define CW_WEB_PHOTOGRAPHS_PARTS_H

#include "notebook/test.h"
#include "shutter/photo_pair.h"
#include "web/request.h"

typedef struct {
    size_t count;                                    /* of pairs */
    cw_photo_compared compared[CW_PHOTO_TESTS_MOST]; /* with the same reference */
    cw_photo_result results[CW_PHOTO_TESTS_MOST];    /* where `ran` */
    double marked_s[CW_PHOTO_TESTS_MOST];            /* NaN: not said yet */
    cw_photo_setup setup;
    cw_shutter_plan plan;
    bool ran;
} cw_photo_view;

/* Reads the compared photographs kept as that recording of the bench. */
cw_status cw_photo_view_load(cw_bench *bench, int64_t recording_id, cw_photo_view *view, cw_error *err)
    __attribute__((warn_unused_result));

/* Setup, plan and marks: of the test to be changed (NULL: none), with what the form says over it. */
cw_status cw_photo_view_setup(const cw_form *form, const cw_test *test, cw_photo_view *view, cw_error *err)
    __attribute__((warn_unused_result));
/* Works every pair out under the setup. */
cw_status cw_photo_view_judge(cw_photo_view *view, cw_error *err) __attribute__((warn_unused_result));

/* The setup as a test keeps it in trace_json. NULL without memory. */
char *cw_photo_setup_text(const cw_photo_view *view);

/* What EXIF says of each photograph, and how bright it is. */
void cw_photo_write_facts(cw_html *h, const cw_photo_view *view);
/* Every pair: its places along the travel, the map, and the map's means as a table. */
void cw_photo_write_maps(cw_html *h, const cw_photo_view *view);

#endif
