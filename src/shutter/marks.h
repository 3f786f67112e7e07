/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Marked speeds: what people type, the exact times behind the marks, and which shot was fired at which mark. */
#ifndef CW_SHUTTER_MARKS_H
#define CW_SHUTTER_MARKS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "shutter/shot.h"

enum { CW_MARKS_MOST = 512, CW_MARK_TEXT = 24, CW_PROPOSAL_TEXT = 640 };

/* Marks in the order given. A shot on B or T is not timed by the shutter: its item is NaN. */
typedef struct {
    size_t count;
    double marked_s[CW_MARKS_MOST];
} cw_mark_list;

/* One mark: "1/250", "1/250 s", "1", "1s", "0.5", "0,5", "1/2", "4 ms". 1/20000 to 60 s.
 * CW_INPUT for anything else. "250" is refused with "write 1/250": on a dial it means a fraction, as a number it is
 * four minutes, and it is not for the program to guess. B and T are refused: they are not timed. */
cw_status cw_mark_parse(const char *text, double *marked_s, cw_error *err) __attribute__((warn_unused_result));

/* A list of marks with commas or semicolons between them: "1, 1/2, 1/4, B". With semicolons a comma is a decimal comma.
 * "1/125 x3" stands for three of it. The list is written only on CW_OK; CW_INPUT names the item. */
cw_status cw_marks_parse(const char *text, cw_mark_list *list, cw_error *err) __attribute__((warn_unused_result));

/* As engraved: "1/250", "1/2", "1", "15"; without "s". "?" for NaN. */
void cw_mark_text(double marked_s, char *out, size_t size);

/* Which geometric series stands behind a mark. */
typedef enum {
    CW_SERIES_FULL,  /* 1, 1/2, 1/4 ... 1/15 -> 1/16, 1/30 -> 1/32, 1/60 -> 1/64, 1/125 -> 1/128, 1/1000 -> 1/1024 */
    CW_SERIES_HALF,  /* 1/45 -> 1/45.3, 1/90 -> 1/90.5, 1/350 -> 1/362 */
    CW_SERIES_THIRD, /* 1/5 -> 1/5.04, 1/10 -> 1/10.1, 1/25 -> 1/25.4, 1/50 -> 1/50.8, 1/100 -> 1/101.6 */
    CW_SERIES_NONE   /* no power of two near it (1/300, 1/150, 1/75): the mark itself is what is meant */
} cw_series;

/* The exact time behind a mark: the nearest whole, half or third power of two, when it lies within 0.1 EV of the mark
 * (1/15, 1/30 and 1/60 lie 0.093 EV off); whole powers first. Otherwise the mark itself. `series` may be NULL. NaN
 * gives NaN. Powers of two: ISO 516 / ISO 2720 practice; the same in scantips.com, "Charts of Nominal, and Exact
 * Precise Actual". The marks of half and third stops are names, not times: arithmetic. */
double cw_mark_geometric(double marked_s, cw_series *series);

/* What a speed is compared with, in words: "the mark, 1/125 s" or "1/128 s, the whole-stop value behind 1/125". */
void cw_mark_reference_text(double marked_s, bool geometric, char *out, size_t size);

/* Writes marked_s of every shot from the list: one mark for all, one a shot, or `shots_per_speed` (0 or 1: not said)
 * shots to each mark in turn. Shots that are struck or incomplete were fired too and count.
 * CW_INPUT when the numbers do not fit, with the numbers and what to do; nothing is written then. */
cw_status cw_marks_assign(const cw_mark_list *list, size_t shots_per_speed, cw_shot *shots, size_t shot_count,
                          cw_error *err) __attribute__((warn_unused_result));

/* What the program thinks was fired. Always a proposal: a person confirms it. */
typedef struct {
    size_t speeds;               /* different marks proposed */
    size_t repeats;              /* shots at each; 0: not the same number */
    double typical_ev;           /* root mean square distance of the shots from their marks */
    double farthest_ev;          /* the largest distance, signed; + is longer than the mark */
    bool certain;                /* no shot farther than a third of a stop, and no other reading comes near */
    char text[CW_PROPOSAL_TEXT]; /* all of it in words, with what is in doubt */
} cw_mark_proposal;

/* Writes marked_s of every shot from the measured times: the marks of `dial` (NULL: the usual series 60 s to 1/8000 and
 * the old one 1, 1/2, 1/5, 1/10, 1/25, 1/50, 1/100, 1/200, 1/300 are tried), run through in one direction, the same
 * number of shots at each if that fits. Shots that are struck, incomplete or unmeasured take the mark of their place.
 * CW_RANGE when no shot has a measured time. */
cw_status cw_marks_propose(const cw_mark_list *dial, cw_shot *shots, size_t shot_count, cw_mark_proposal *proposal,
                           cw_error *err) __attribute__((warn_unused_result));

#endif
