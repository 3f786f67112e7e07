/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Findings about the flash contact. */
#include <math.h>
#include <stdio.h>

#include "shutter/findings.h"
#include "shutter/marks.h"

/* How long the frame has to stay open after the contact for a small electronic flash; common practice, no source. */
#define FLASH_S 1e-3
/* A contact this long before full opening is set for bulbs (M: 10 to 20 ms); from memory. */
#define BULB_S 8e-3

/* The frame is open as a whole at some time at this speed, clear of the uncertainty. A leaf shutter that is measured
 * always opens its whole picture at once (ISO 516:2019, 3.1). */
static bool opens_fully(const cw_shutter_test *test, const cw_speed *speed)
{
    if (test->setup.kind == CW_SHUTTER_LEAF)
        return true;
    return speed->fully_open_s - FLASH_S > 2 * speed->u_fully_open_s;
}

static void find_early(cw_shutter_test *test, const cw_speed *speed, size_t count)
{
    char mark[CW_MARK_TEXT];
    bool bulb = speed->contact_after_full_s.value < -BULB_S;
    cw_mark_text(speed->marked_s, mark, sizeof mark);
    cw_finding_add(
        test, "contact-early",
        bulb ? "The flash contact closes long before the shutter is fully open. That is right for bulbs (M "
               "synchronisation) and wrong for an electronic flash: check which contact or which setting of "
               "the lever was measured before anything is bent."
             : "The flash contact closes before the shutter is fully open, so part of the flash is lost. Look "
               "first at the contact's setting and at what moves it, and set it to close later. Caution: a "
               "flash unit on the lead can carry some hundred volts; take it off first.",
        "at %s the contact comes %.2f ms before full opening (k = 2: %.2f); the same at %zu speeds", mark,
        -1e3 * speed->contact_after_full_s.value, 2e3 * speed->contact_after_full_s.u, count);
}

static void find_late(cw_shutter_test *test, const cw_speed *speed, size_t count)
{
    char mark[CW_MARK_TEXT];
    cw_mark_text(speed->marked_s, mark, sizeof mark);
    cw_finding_add(
        test, "contact-late",
        "The flash contact closes when the shutter is about to close, or already closing: part of the frame or "
        "of the flash is lost although there was time. Look first at the contact's setting, its gap and dirt "
        "on it, and set it to close earlier. Caution: a flash unit on the lead can carry some hundred volts; "
        "take it off first.",
        "at %s the frame stays open %.2f ms after the contact (k = 2: %.2f), which comes %.2f ms after full "
        "opening; the same at %zu speeds",
        mark, 1e3 * speed->open_after_contact_s.value, 2e3 * speed->open_after_contact_s.u,
        1e3 * speed->contact_after_full_s.value, count);
}

static void find_timing(cw_shutter_test *test)
{
    const cw_speed *early = NULL, *late = NULL, *fastest_fine = NULL;
    size_t early_count = 0, late_count = 0;
    for (size_t k = 0; k < test->speed_count; k++) {
        const cw_speed *speed = &test->speeds[k];
        cw_quantity after = speed->contact_after_full_s, left = speed->open_after_contact_s;
        if (!isfinite(after.value) || !isfinite(left.value) || !opens_fully(test, speed))
            continue;
        double open = after.value + left.value; /* how long the frame is open in all */
        if (after.value + CW_CLEAR * after.u < 0) {
            early = early != NULL ? early : speed;
            early_count++;
        } else if (open > 2 * FLASH_S && left.value + CW_CLEAR * left.u < FLASH_S) {
            late = late != NULL ? late : speed;
            late_count++;
        } else if (left.value >= FLASH_S && left.value > 2 * left.u) {
            fastest_fine = speed;
        }
    }
    if (early != NULL)
        find_early(test, early, early_count);
    if (late != NULL)
        find_late(test, late, late_count);
    if (fastest_fine == NULL || early != NULL || late != NULL)
        return;
    char mark[CW_MARK_TEXT];
    cw_quantity after = fastest_fine->contact_after_full_s;
    cw_mark_text(fastest_fine->marked_s, mark, sizeof mark);
    cw_finding_add(
        test, "flash-in-order",
        "The flash contact is in order: it closes with the whole frame open, and the frame stays open long "
        "enough for a small electronic flash (1 ms; common practice, no source). The speed named is the fastest "
        "of those measured at which that is so.",
        "fastest %s: contact %.2f ms %s full opening (k = 2: %.2f), then open for another %.2f ms (k = 2: %.2f)", mark,
        1e3 * fabs(after.value), after.value < 0 ? "before" : "after", 2e3 * after.u,
        1e3 * fastest_fine->open_after_contact_s.value, 2e3 * fastest_fine->open_after_contact_s.u);
}

static void find_missing(cw_shutter_test *test)
{
    size_t seen = 0, counted = 0;
    for (size_t j = 0; j < test->shot_count; j++)
        if (cw_shot_counts(&test->shots[j])) {
            counted++;
            seen += test->shots[j].contact_seen;
        }
    if (seen == 0 || seen == counted)
        return;
    cw_finding_add(test, "contact-misses",
                   "The flash contact does not close at every shot. Look first for dirt or oxide on the contact and in "
                   "the socket, then at its gap.",
                   "it closed in %zu of %zu shots", seen, counted);
}

void cw_findings_flash(cw_shutter_test *test)
{
    find_missing(test);
    find_timing(test);
}
