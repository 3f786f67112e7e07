/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How a pair of gears meshes, and what worn or missing teeth do. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/gear.h"

static const cw_field inputs[] = {
    CW_NEED_COUNT("teeth1", "Teeth of gear 1", 6, 400, "the damaged one"),
    CW_NEED_COUNT("teeth2", "Teeth of gear 2", 6, 400, ""),
    CW_MAYBE("module", "Module", CW_LENGTH, "mm", 0.05e-3, 50e-3,
             "see the sheet that names a gear; or the diametral pitch below"),
    CW_MAYBE("diametral-pitch", "Diametral pitch", CW_PLAIN, NULL, 0.5, 500, "teeth to the inch of pitch diameter"),
    CW_USUAL("angle", "Pressure angle", CW_ANGLE, "deg", "20 deg", M_PI / 18, M_PI / 6, "20 usual, 14.5 in old work"),
    CW_USUAL("shift1", "Profile shift of gear 1", CW_PLAIN, NULL, "0", -1, 1.5, "x"),
    CW_USUAL("shift2", "Profile shift of gear 2", CW_PLAIN, NULL, "0", -1, 1.5, "x"),
    CW_MAYBE("centre", "Centre distance", CW_LENGTH, "mm", 0.3e-3, 10, "left out: the one without backlash"),
    CW_USUAL("addendum", "Addendum", CW_PLAIN, NULL, "1", 0.5, 1.3, "tip height over the module: 1, stub teeth 0.8"),
    CW_USUAL("clearance", "Root clearance", CW_PLAIN, NULL, "0.25", 0, 0.5,
             "over the module: 0.25; 0.157 in old 14.5 degree work"),
    CW_USUAL("wear1", "Worn off the tips of gear 1", CW_LENGTH, "mm", "0", 0, 50e-3, "on radius"),
    CW_USUAL("wear2", "Worn off the tips of gear 2", CW_LENGTH, "mm", "0", 0, 50e-3, ""),
    CW_USUAL_COUNT("missing", "Neighbouring teeth missing in gear 1", "0", 0, 100, ""),
};

static const cw_field outputs[] = {
    CW_JUDGE("drives", "Does it drive without a gap?", ""),
    CW_SHOW("contact-ratio", "Contact ratio", CW_PLAIN, NULL, 4,
            "teeth in mesh on the average; 1 at least, 1.2 for smooth running"),
    CW_SHOW("fresh", "When it was new", CW_PLAIN, NULL, 4, ""),
    CW_SHOW("lost", "Lost turn of gear 1 at the gap", CW_ANGLE, "deg", 3, "it turns by this without driving"),
    CW_SHOW("centre-used", "Centre distance", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("free-centre", "Without backlash", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("backlash", "Backlash", CW_LENGTH, "um", 3, "along the working circle; negative: it binds"),
    CW_SHOW("ratio", "Ratio", CW_PLAIN, NULL, 5, "teeth of gear 2 over gear 1"),
    CW_SHOW("tip1", "Tip diameter of gear 1", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("tip2", "Tip diameter of gear 2", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("root1", "Root diameter of gear 1", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("root2", "Root diameter of gear 2", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("pitch1", "Pitch diameter of gear 1", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("pitch2", "Pitch diameter of gear 2", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("base1", "Base diameter of gear 1", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("base2", "Base diameter of gear 2", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("working1", "Working diameter of gear 1", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("working2", "Working diameter of gear 2", CW_LENGTH, "mm", 5, ""),
    CW_SHOW("circular-pitch", "Circular pitch", CW_LENGTH, "mm", 4, "along the pitch circle"),
    CW_SHOW("base-pitch", "Base pitch", CW_LENGTH, "mm", 4, "along the line of action"),
    CW_SHOW("depth", "Whole depth", CW_LENGTH, "mm", 4, ""),
    CW_SHOW("working-angle", "Working angle", CW_ANGLE, "deg", 5, ""),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    double module = cw_in_number(in, "module"), pitch = cw_in_number(in, "diametral-pitch");
    if (isnan(module) == isnan(pitch))
        return cw_fail(err, CW_INPUT, "%s; give one of module and diametral pitch",
                       isnan(module) ? "neither module nor diametral pitch is given"
                                     : "module and diametral pitch are both given");
    cw_gear_pair pair = {.teeth1 = (int)cw_in_number(in, "teeth1"),
                         .teeth2 = (int)cw_in_number(in, "teeth2"),
                         .missing = (int)cw_in_number(in, "missing"),
                         .module_m = isnan(module) ? 0.0254 / pitch : module,
                         .pressure_angle_rad = cw_in_number(in, "angle"),
                         .shift1 = cw_in_number(in, "shift1"),
                         .shift2 = cw_in_number(in, "shift2"),
                         .centre_m = cw_in_number(in, "centre"),
                         .addendum = cw_in_number(in, "addendum"),
                         .clearance = cw_in_number(in, "clearance"),
                         .tip_wear1_m = cw_in_number(in, "wear1"),
                         .tip_wear2_m = cw_in_number(in, "wear2")};
    cw_gear_mesh m;
    CW_TRY(cw_gear_mesh_find(&pair, &m, err));
    if (m.lost_turn_rad > 0)
        cw_out_verdict(
            out, "drives", CW_VERDICT_OUTSIDE,
            "once in a turn it loses %.3g degrees; a spring or a second gear may carry it over, or it stops there",
            m.lost_turn_rad * 180 / M_PI);
    else if (m.contact_ratio < 1)
        cw_out_verdict(out, "drives", CW_VERDICT_OUTSIDE,
                       "with a contact ratio of %.2f each tooth lets go before the next takes over", m.contact_ratio);
    else if (m.backlash_m < 0)
        cw_out_verdict(out, "drives", CW_VERDICT_OUTSIDE, "it binds: the centres are %.3g mm too close",
                       (m.free_centre_m - m.centre_m) * 1e3);
    else if (m.contact_ratio < 1.1)
        cw_out_verdict(out, "drives", CW_VERDICT_TOO_CLOSE, "just, and roughly");
    else
        cw_out_verdict(out, "drives", CW_VERDICT_INSIDE, "each tooth hands over to the next");
    cw_out_number(out, "contact-ratio", m.contact_ratio);
    cw_out_number(out, "fresh", m.fresh_contact_ratio);
    cw_out_number(out, "lost", m.lost_turn_rad);
    cw_out_number(out, "centre-used", m.centre_m);
    cw_out_number(out, "free-centre", m.free_centre_m);
    cw_out_number(out, "backlash", fabs(m.backlash_m) < 1e-12 ? 0 : m.backlash_m);
    cw_out_number(out, "ratio", m.ratio);
    cw_out_number(out, "tip1", m.tip_diameter1_m);
    cw_out_number(out, "tip2", m.tip_diameter2_m);
    cw_out_number(out, "root1", m.root_diameter1_m);
    const struct {
        const char *key;
        double value_m;
    } sizes[] = {{"root2", m.root_diameter2_m},       {"pitch1", m.pitch_diameter1_m},
                 {"pitch2", m.pitch_diameter2_m},     {"base1", m.base_diameter1_m},
                 {"base2", m.base_diameter2_m},       {"working1", m.working_diameter1_m},
                 {"working2", m.working_diameter2_m}, {"circular-pitch", m.circular_pitch_m},
                 {"base-pitch", m.base_pitch_m}};
    for (size_t i = 0; i < CW_COUNT(sizes); i++)
        cw_out_number(out, sizes[i].key, sizes[i].value_m);
    cw_out_number(out, "depth", m.whole_depth_m);
    cw_out_number(out, "working-angle", m.working_angle_rad);
    if (pair.teeth1 < 17 && pair.shift1 <= 0 && pair.pressure_angle_rad > 0.3)
        cw_out_note(out, "Below 17 teeth a standard tooth is undercut: the real contact ratio is lower than shown.");
    return CW_OK;
}

static const char *const sources[] = {
    "ISO 53/54 tooth form; working angle and tip shortening: bolsover.com, \"Profile shifted external spur gears\"",
    "missing teeth: a tooth drives for as many pitches as the contact ratio; own derivation", NULL};
static const char *const example[] = {"teeth1", "18",     "teeth2",  "40", "module", "0.4mm",
                                      "wear1",  "0.05mm", "missing", "1",  NULL};

extern const cw_worksheet cw_sheet_gear_mesh;
const cw_worksheet cw_sheet_gear_mesh = {
    .name = "gear-mesh",
    .title = "Gear pair with worn or missing teeth",
    .group = "Parts",
    .purpose = "Does the pair still drive with a worn or missing tooth, at this centre distance? Contact ratio, "
               "backlash, lost turn, and the sizes of a "
               "replacement.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .sources = sources,
    .compute = compute,
    .example = example,
};
