/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/rack.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/range.h"

#define MM 1e-3
#define LEAST_PLAY (0.02 * MM)
/* what a file takes off is counted over the length of a tip that usually goes into a slot */
#define TIP_LENGTH (2 * MM)

static const struct {
    const char *key, *name, *worksheet; /* that makes one; NULL: bought */
} kinds[CW_RACK_KIND_COUNT] = {
    [CW_RACK_TWO_BLADE] = {"two-blade", "two-blade wrench", "flat-wrench"},
    [CW_RACK_TWO_PIN] = {"two-pin", "two-pin driver", "pin-driver"},
    [CW_RACK_ADJUSTABLE] = {"adjustable", "adjustable wrench", NULL},
    [CW_RACK_COLLAR] = {"collar", "split collar", "split-collar"},
    [CW_RACK_RUBBER] = {"rubber", "friction ring", "friction-ring"},
    [CW_RACK_CLAMP] = {"clamp", "clamp block", "clamp-block"},
};

const char *cw_rack_kind_name(cw_rack_kind kind)
{
    return (unsigned)kind < CW_RACK_KIND_COUNT ? kinds[kind].name : "unknown tool";
}

const char *cw_rack_kind_key(cw_rack_kind kind)
{
    return (unsigned)kind < CW_RACK_KIND_COUNT ? kinds[kind].key : "unknown";
}

static bool same_word(const char *a, const char *b)
{
    while (*a != '\0' || *b != '\0') {
        if (*a == ' ' || *a == '-') {
            a++;
        } else if (*b == ' ' || *b == '-') {
            b++;
        } else if (tolower((unsigned char)*a) != tolower((unsigned char)*b)) {
            return false;
        } else {
            a++;
            b++;
        }
    }
    return true;
}

bool cw_rack_kind_find(const char *word, cw_rack_kind *kind)
{
    for (int i = 0; i < CW_RACK_KIND_COUNT; i++)
        if (same_word(word, kinds[i].key) || same_word(word, kinds[i].name) ||
            (kinds[i].worksheet != NULL && same_word(word, kinds[i].worksheet))) {
            *kind = (cw_rack_kind)i;
            return true;
        }
    return false;
}

static double most_play(double slot_m)
{
    return fmax(0.1 * MM, slot_m / 8);
}

static void say(cw_rack_match *m, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Adds to the match's words, with a comma in between. */
static void say(cw_rack_match *m, const char *format, ...)
{
    size_t used = strlen(m->words);
    if (used > 0 && used + 3 < sizeof m->words) {
        memcpy(m->words + used, ", ", 3);
        used += 2;
    }
    va_list args;
    va_start(args, format);
    vsnprintf(m->words + used, sizeof m->words - used, format, args);
    va_end(args);
}

static void worse(cw_rack_match *m, cw_rack_state state)
{
    if (state > m->state)
        m->state = state;
}

static void cannot(cw_rack_match *m, double miss_m)
{
    m->state = CW_RACK_CANNOT;
    m->filing_m3 += fabs(miss_m); /* here only the order counts: the nearest miss comes first */
}

static bool takes_slots(cw_rack_kind kind)
{
    return kind == CW_RACK_TWO_BLADE || kind == CW_RACK_ADJUSTABLE;
}

/* A tip against its slot, or a pin against its hole. */
static void judge_tip(const cw_rack_tool *tool, const cw_rack_need *need, double width_m, cw_rack_match *m)
{
    if (isnan(need->slot_m) || isnan(tool->tip_m)) {
        if (!isnan(need->slot_m))
            say(m, "its tip thickness is not noted: measure it");
        return;
    }
    double play = need->slot_m - tool->tip_m;
    if (play < LEAST_PLAY - 1e-9) {
        double to = need->slot_m - fmin(0.05 * MM, 0.1 * need->slot_m);
        worse(m, CW_RACK_FILE);
        m->filing_m3 += 2 * (tool->tip_m - to) * width_m * TIP_LENGTH;
        m->play_m = need->slot_m - to;
        say(m, "file both tips from %.3g to %.3g mm", tool->tip_m / MM, to / MM);
    } else if (play > most_play(need->slot_m)) {
        worse(m, CW_RACK_LOOSE);
        m->play_m = play;
        say(m, "tips %.2g mm thinner than the slot: it may slip and chew", play / MM);
    } else {
        m->play_m = play;
    }
}

static void judge_span(const cw_rack_tool *tool, const cw_rack_need *need, double width_m, cw_rack_match *m)
{
    if (tool->kind == CW_RACK_ADJUSTABLE) {
        double miss = fmax(tool->span_m - need->span_m, need->span_m - tool->span_most_m);
        if (miss > 0) {
            cannot(m, miss);
            say(m, "it spans %.4g to %.4g mm", tool->span_m / MM, tool->span_most_m / MM);
        }
        return;
    }
    bool pins = tool->kind == CW_RACK_TWO_PIN;
    double off = tool->span_m - need->span_m;
    double slack = pins                         ? fmax(0, need->slot_m - tool->tip_m)
                   : isnan(need->slot_length_m) ? 0.15 * MM
                                                : 0.1 * need->slot_length_m;
    if (isnan(slack))
        slack = 0.05 * MM;
    if (fabs(off) <= slack + 1e-9)
        return;
    double filing = fabs(off) - slack;
    if (filing <= width_m / 3) {
        worse(m, CW_RACK_FILE);
        m->filing_m3 += 2 * filing / 2 * (isnan(tool->tip_m) ? 1 * MM : tool->tip_m) * TIP_LENGTH;
        say(m, "span %.4g mm: file %.2g mm off the %s of each %s", tool->span_m / MM, filing / 2 / MM,
            off > 0 ? "outside" : "inside", pins ? "pin" : "tip");
        return;
    }
    cannot(m, off);
    say(m, "span %.4g mm is %.3g mm too %s", tool->span_m / MM, fabs(off) / MM, off > 0 ? "wide" : "narrow");
}

static void judge_room(const cw_rack_tool *tool, const cw_rack_need *need, double width_m, cw_rack_match *m)
{
    if (!isnan(need->slot_length_m) && !isnan(tool->tip_width_m) && tool->kind != CW_RACK_TWO_PIN &&
        tool->tip_width_m > need->slot_length_m) {
        worse(m, CW_RACK_FILE);
        m->filing_m3 +=
            2 * (tool->tip_width_m - need->slot_length_m) * (isnan(tool->tip_m) ? 1 * MM : tool->tip_m) * TIP_LENGTH;
        say(m, "narrow the tips from %.3g to %.3g mm", tool->tip_width_m / MM, 0.95 * need->slot_length_m / MM);
    }
    if (!isnan(need->reach_m) && need->reach_m > 0) {
        if (isnan(tool->reach_m)) {
            say(m, "its reach is not noted: measure it");
        } else if (tool->reach_m < need->reach_m) {
            cannot(m, need->reach_m - tool->reach_m);
            say(m, "its reach of %.3g mm is %.3g mm short", tool->reach_m / MM, (need->reach_m - tool->reach_m) / MM);
        }
    }
    if (!isnan(need->barrel_m) && need->barrel_m > 0) {
        double clears =
            isnan(tool->clears_m) && !isnan(tool->tip_width_m) ? need->span_m - tool->tip_width_m : tool->clears_m;
        if (isnan(clears)) {
            say(m, "what passes between its tips is not noted: measure it");
        } else if (clears < need->barrel_m) {
            double off = need->barrel_m - clears;
            if (off / 2 <= width_m / 2) {
                worse(m, CW_RACK_FILE);
                m->filing_m3 += off * (isnan(tool->tip_m) ? 1 * MM : tool->tip_m) *
                                fmax(TIP_LENGTH, isnan(need->reach_m) ? 0 : need->reach_m);
                say(m, "cut %.2g mm off the inside of each blade to clear %.4g mm", off / 2 / MM, need->barrel_m / MM);
            } else {
                cannot(m, off);
                say(m, "only %.4g mm passes between its blades", clears / MM);
            }
        }
    }
}

/* Tools that grip a diameter. */
static void judge_grip(const cw_rack_tool *tool, const cw_rack_need *need, cw_rack_match *m)
{
    double most = isnan(tool->span_most_m) ? tool->span_m : tool->span_most_m;
    double miss = fmax(tool->span_m - need->span_m, need->span_m - most);
    if (isnan(tool->span_most_m))
        miss = fabs(tool->span_m - need->span_m) - 0.3 * MM;
    if (miss <= 1e-9)
        return;
    if (tool->kind == CW_RACK_CLAMP && need->span_m > most && miss < 10 * MM) {
        worse(m, CW_RACK_FILE);
        m->filing_m3 += M_PI / 4 * (need->span_m * need->span_m - most * most) * 15 * MM;
        say(m, "bore it out from %.4g to %.4g mm", most / MM, need->span_m / MM);
        return;
    }
    cannot(m, miss);
    say(m, "it takes %.4g to %.4g mm", tool->span_m / MM, most / MM);
}

static void judge(const cw_rack_tool *tool, const cw_rack_need *need, cw_rack_match *m)
{
    bool same = tool->kind == need->kind || (takes_slots(tool->kind) && takes_slots(need->kind));
    if (!same) {
        cannot(m, 1); /* a metre: behind every near miss */
        say(m, "a %s, not a %s", cw_rack_kind_name(tool->kind), cw_rack_kind_name(need->kind));
        return;
    }
    if (tool->kind == CW_RACK_COLLAR || tool->kind == CW_RACK_RUBBER || tool->kind == CW_RACK_CLAMP) {
        judge_grip(tool, need, m);
    } else {
        double width = tool->kind == CW_RACK_TWO_PIN ? tool->tip_m : tool->tip_width_m;
        if (isnan(width))
            width = 1.5 * MM; /* not noted: an ordinary tip */
        judge_tip(tool, need, width, m);
        judge_span(tool, need, width, m);
        judge_room(tool, need, width, m);
    }
    if (m->state == CW_RACK_FITS && m->words[0] == '\0') {
        if (isnan(m->play_m))
            say(m, "fits");
        else
            say(m, "fits, %.2g mm of play", m->play_m / MM);
    }
}

static int by_use(const void *a, const void *b)
{
    const cw_rack_match *x = a, *y = b;
    if (x->state != y->state)
        return x->state < y->state ? -1 : 1;
    double kx = x->filing_m3, ky = y->filing_m3;
    if (x->state == CW_RACK_FITS || x->state == CW_RACK_LOOSE) {
        kx = isnan(x->play_m) ? 1 : x->play_m;
        ky = isnan(y->play_m) ? 1 : y->play_m;
    }
    if (kx != ky)
        return kx < ky ? -1 : 1;
    return x->index < y->index ? -1 : x->index > y->index;
}

cw_status cw_rack_rank(const cw_rack_tool *tools, size_t tool_count, const cw_rack_need *need, cw_rack_match *matches,
                       cw_error *err)
{
    CW_TRY(cw_check_within("the size looked for", need->span_m, CW_LENGTH, "mm", 0.5e-3, 0.5, err));
    if (!isnan(need->slot_m))
        CW_TRY(cw_check_within("slot or hole", need->slot_m, CW_LENGTH, "mm", 0.1e-3, 20e-3, err));
    for (size_t i = 0; i < tool_count; i++)
        if (!(tools[i].span_m >= 0) ||
            (tools[i].kind == CW_RACK_ADJUSTABLE && !(tools[i].span_most_m >= tools[i].span_m)))
            return cw_fail(err, CW_RANGE,
                           "tool %zu on the rack has no usable span (%.4g to %.4g mm); note its size first", i + 1,
                           tools[i].span_m / MM, tools[i].span_most_m / MM);
    for (size_t i = 0; i < tool_count; i++) {
        matches[i] = (cw_rack_match){.index = i, .state = CW_RACK_FITS, .play_m = NAN};
        judge(&tools[i], need, &matches[i]);
    }
    qsort(matches, tool_count, sizeof *matches, by_use);
    return CW_OK;
}
