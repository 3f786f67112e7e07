/* SPDX-License-Identifier: GPL-3.0-or-later */
/* X and bulb delays against the measured opening. */
#include <math.h>

#include "exposure/flash.h"
#include "worksheets/fields.h"

static const cw_choice sources_of_light[] = {{"electronic", "Electronic flash"},
                                             {"electronic-large", "Large electronic flash"},
                                             {"class-f", "Bulb, class F (fast)"},
                                             {"class-mf", "Bulb, class MF"},
                                             {"class-m", "Bulb, class M"},
                                             {"class-s", "Bulb, class S (slow)"},
                                             {"class-fp", "Bulb, class FP"},
                                             {"own", "Give its times below"},
                                             {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("flash", "Flash", sources_of_light, "electronic", ""),
    CW_NEED("contact", "Contact closes at", CW_TIME, "ms", -0.2, 10,
            "from when the shutter starts to open; negative: before it"),
    CW_NEED("open", "Whole frame open from", CW_TIME, "ms", 0, 10, "blades fully open; first curtain home"),
    CW_NEED("close", "Whole frame open until", CW_TIME, "ms", 0, 100, "blades start to close; second curtain starts"),
    CW_USUAL("u", "How far each can be off", CW_TIME, "ms", "0.05 ms", 0, 0.1, "standard uncertainty"),
    CW_MAYBE("start", "Own flash: light from", CW_TIME, "ms", 0, 1, "after its contact, above half its peak"),
    CW_MAYBE("end", "Own flash: until", CW_TIME, "ms", 0, 1, ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("synchronised", "Is it synchronised?", "light within the open frame, at k = 2"),
    CW_SHOW("early", "Light begins after opening by", CW_TIME, "ms", 3, "negative: too early"),
    CW_SHOW("late", "Light is over before closing by", CW_TIME, "ms", 3, "negative: too late"),
    CW_SHOW("window", "The frame is open for", CW_TIME, "ms", 3, ""),
    CW_SHOW("share", "Share of the light used", CW_FRACTION, "%", 3, "taking it as even"),
    CW_SHOW("best", "Best moment for the contact", CW_TIME, "ms", 3, "puts the flash in the middle"),
    CW_SAY("advice", "Advice", ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double u = cw_in_number(in, "u"), start = cw_in_number(in, "start"), end = cw_in_number(in, "end");
    if (!cw_in_is(in, "flash", "own")) {
        const cw_flash_source *source = cw_flash_source_find(cw_in_text(in, "flash"));
        start = source->start_s;
        end = source->end_s;
    } else if (isnan(start) || isnan(end)) {
        return cw_fail(err, CW_INPUT, "an own flash needs when its light begins and ends; give start and end");
    }
    cw_flash_timing timing = {
        {cw_in_number(in, "contact"), u}, {cw_in_number(in, "open"), u}, {cw_in_number(in, "close"), u}, start, end};
    cw_flash_result r;
    CW_TRY(cw_flash_check(&timing, &r, err));
    cw_out_verdict(out, "synchronised",
                   r.verdict > 0   ? CW_VERDICT_INSIDE
                   : r.verdict < 0 ? CW_VERDICT_OUTSIDE
                                   : CW_VERDICT_TOO_CLOSE,
                   "%.0f %% of the light falls into the open frame", 100 * r.share);
    cw_out_quantity(out, "early", r.early_s);
    cw_out_quantity(out, "late", r.late_s);
    cw_out_number(out, "window", r.window_s);
    cw_out_number(out, "share", r.share);
    cw_out_number(out, "best", r.contact_best_s);
    double window_needed = end - start;
    if (r.window_s < window_needed)
        cw_out_text(out, "advice", "This flash lasts %.3g ms and the frame is open for %.3g ms: take a slower speed.",
                    window_needed * 1e3, r.window_s * 1e3);
    else if (r.verdict > 0)
        cw_out_text(out, "advice", "Nothing to set.");
    else
        cw_out_text(out, "advice", "Move the contact %s by about %.2g ms.",
                    r.contact_best_s > timing.contact_s.value ? "later" : "earlier",
                    fabs(r.contact_best_s - timing.contact_s.value) * 1e3);
    return CW_OK;
}

static const char *const cautions[] = {"capacitor", NULL};
static const char *const sources[] = {"interval arithmetic on the measured opening",
                                      "bulb classes and flash durations: from memory; no published figures were found",
                                      NULL};
static const char *const example[] = {"contact", "2.6ms", "open", "2.1ms", "close", "6.3ms", NULL};

extern const cw_worksheet cw_sheet_flash_contact;
const cw_worksheet cw_sheet_flash_contact = {
    .name = "flash-contact",
    .title = "Flash contact against the opening",
    .group = "Light",
    .purpose = "From a measured recording: does the contact close while the whole frame is open, for electronic flash "
               "or for a bulb with its delay?",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
