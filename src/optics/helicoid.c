/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "optics/helicoid.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

cw_status cw_helicoid_find_start(const cw_helicoid *thread, cw_quantity error_mm, cw_helicoid_start *out, cw_error *err)
{
    if (!(thread->lead_mm > 0 && thread->lead_mm < 1000))
        return cw_fail(err, CW_RANGE, "a lead of %g mm; it is the travel of one whole turn, above zero",
                       thread->lead_mm);
    if (thread->starts < 1 || thread->starts > 64)
        return cw_fail(err, CW_RANGE, "%zu starts; 1 to 64 can be counted at the thread's end", thread->starts);
    if (!isfinite(error_mm.value) || !(error_mm.u >= 0))
        return cw_fail(err, CW_RANGE, "the infinity error and its uncertainty must be numbers");
    double pitch = thread->lead_mm / (double)thread->starts;
    if (fabs(error_mm.value) > thread->lead_mm / 2 + pitch / 2)
        return cw_fail(err, CW_RANGE,
                       "an infinity error of %.2f mm is more than half the lead of %.2f mm: a whole turn may be "
                       "missing as well. Screw it in by counted turns first",
                       error_mm.value, thread->lead_mm);
    double starts = round(error_mm.value / pitch), left = error_mm.value - starts * pitch;
    double to_edge = (pitch / 2 - fabs(left)) / fmax(error_mm.u, 1e-12);
    *out = (cw_helicoid_start){.pitch_mm = pitch,
                               .step_deg = 360.0 / (double)thread->starts,
                               .starts_off = (int)starts,
                               .left_mm = {left, error_mm.u},
                               .chance_wrong = 0.5 * erfc(to_edge / sqrt(2))};
    return CW_OK;
}

double cw_helicoid_travel_mm(const cw_helicoid *thread, double angle_deg)
{
    return thread->lead_mm * angle_deg / 360;
}

double cw_helicoid_angle_deg(const cw_helicoid *thread, double travel_mm)
{
    return 360 * travel_mm / thread->lead_mm;
}

/* Screwing in, depth at an angle counts from where the threads took hold. To be deeper at the same final angle they
 * must take hold earlier, that is turned further in the unscrewing sense: counter-clockwise for a right-hand thread. */
void cw_helicoid_advice(const cw_helicoid *thread, const cw_helicoid_start *found, char *out, size_t size)
{
    int off = found->starts_off;
    if (off == 0) {
        snprintf(out, size, "it is on the right start; take up what remains with the infinity stop or shims");
        return;
    }
    bool counter = (off > 0) != thread->left_hand;
    char starts[32];
    snprintf(starts, sizeof starts, abs(off) == 1 ? "%d start" : "%d starts", abs(off));
    snprintf(out, size,
             "unscrew until the threads let go, turn the lens part %s (%.1f degrees) further %s before they "
             "take hold again; it then ends %.2f mm %s at the same mark",
             starts, abs(off) * found->step_deg, counter ? "counter-clockwise" : "clockwise",
             abs(off) * found->pitch_mm, off > 0 ? "deeper" : "further out");
}
