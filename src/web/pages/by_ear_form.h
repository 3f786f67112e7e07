/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sound being listened to on the page: everything that is known of it stands in the address, so that the page works
 * without scripts, can be marked, and has the same twin. */
#ifndef CW_WEB_BY_EAR_FORM_H
#define CW_WEB_BY_EAR_FORM_H

#include "draw/trace.h"
#include "notebook/test.h"
#include "shutter/by_ear.h"
#include "web/request.h"

typedef enum { CW_EAR_OPENING, CW_EAR_CLOSING } cw_ear_side;

typedef struct {
    int64_t recording_id;
    cw_sound sound;
    cw_click_list clicks;
    cw_shutter_plan plan;
    cw_by_ear_proposal proposal; /* pair_count 0 where the rows came from the form */
    size_t count;
    cw_heard_shot shots[CW_BY_EAR_SHOTS_MOST];
    size_t look;   /* the shot looked at closely, from 1; 0: none */
    double span_s; /* of the close-ups */
} cw_listening;

enum { CW_EAR_PICTURE_PX = 330 };

/* Loads the sound, finds its clicks, and sets the shots: from the form's rows (open.N, close.N, mark.N, strike.N of
 * `count`), else from the test to be changed, else by proposal for the marks. Then what was pressed: set=open.3=0.4065,
 * or a place on a close-up. On failure *one still holds what could be read. The caller frees it. */
cw_status cw_listening_begin(cw_request *request, const cw_form *form, int64_t recording_id, cw_listening *one,
                             cw_error *err) __attribute__((warn_unused_result));
void cw_listening_free(cw_listening *one);

/* The instant of a shot; NaN: not set. */
double *cw_ear_instant(cw_listening *one, size_t shot, cw_ear_side side);
/* The part of the sound a close-up shows: span_s around the instant, or all that lies between the neighbours of an
 * instant that is not set yet. */
void cw_ear_window(const cw_listening *one, size_t shot, cw_ear_side side, double *from_s, double *to_s);
/* The nearest click before (-1) or after (+1) an instant that is no tick; NaN: none. */
double cw_ear_next_click(const cw_listening *one, double at_s, int direction);

/* "Look": a button that leads to the close-ups of a shot, from 1. spoken: NULL when the label says enough. */
void cw_ear_look_button(cw_html *h, const cw_listening *one, size_t shot, const char *label, const char *spoken);
/* The close-up of the shot looked at, and the whole sound: by_ear_look.c. */
cw_status cw_ear_write_look(cw_html *h, const cw_listening *one, cw_error *err) __attribute__((warn_unused_result));
cw_status cw_ear_write_whole(cw_html *h, const cw_listening *one, cw_error *err) __attribute__((warn_unused_result));

#endif
