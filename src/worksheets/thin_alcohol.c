/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thinning alcohol with water. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/chemistry.h"

static const cw_choice bases[] = {{"volume", "By volume"}, {"mass", "By mass"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_USUAL("stock", "Strength in the bottle", CW_FRACTION, "%", "99 %", 0.01, 1, "as on its label"),
    CW_USUAL("wanted", "Strength wanted", CW_FRACTION, "%", "70 %", 0.01, 1,
             "70 % for glass: common practice, no source"),
    CW_PICK("by", "Both counted", bases, "volume", ""),
    CW_USUAL("amount", "Amount", CW_VOLUME, "ml", "100 ml", 1e-6, 0.1, "poured together"),
};

static const cw_field outputs[] = {
    CW_SHOW("alcohol", "From the bottle", CW_VOLUME, "ml", 3, ""),
    CW_SHOW("water", "Distilled water", CW_VOLUME, "ml", 3, ""),
    CW_SHOW("alcohol-mass", "or by weight, from the bottle", CW_MASS, "g", 3, ""),
    CW_SHOW("water-mass", "and distilled water", CW_MASS, "g", 3, ""),
    CW_SHOW("by-volume", "The mix, by volume", CW_FRACTION, "%", 3, "parts before mixing"),
    CW_SHOW("by-mass", "The mix, by mass", CW_FRACTION, "%", 3, ""),
    CW_MAY_SHOW("flash-point", "Flash point, of the order of", CW_TEMPERATURE, "degC", 2,
                "figures for ethanol in water; isopropyl alcohol itself 12 degrees Celsius"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_dilution d;
    CW_TRY(cw_dilute(cw_in_number(in, "stock"), cw_in_number(in, "wanted"), cw_in_is(in, "by", "mass"),
                     cw_in_number(in, "amount"), &d, err));
    cw_out_number(out, "alcohol", d.stock_m3);
    cw_out_number(out, "water", d.water_m3);
    cw_out_number(out, "alcohol-mass", d.stock_kg);
    cw_out_number(out, "water-mass", d.water_kg);
    cw_out_number(out, "by-volume", d.by_volume);
    cw_out_number(out, "by-mass", d.by_mass);
    double flash = cw_ethanol_flash_point_k(d.by_volume);
    if (!isnan(flash))
        cw_out_number(out, "flash-point", flash);
    cw_out_note(out, "The two shrink a little when mixed, by up to about 3 %% (from memory): a weighed mix is exact, a "
                     "measured one good enough for glass.");
    return CW_OK;
}

static const char *const cautions[] = {"solvent", "fire", NULL};
static const char *const sources[] = {
    "balance of volumes or masses; densities at 20 degrees Celsius 785.5 and 998.2 kg/m3, handbook, from memory",
    "flash points: ilpi.com, dchas 2015 (ethanol in water); NIOSH npgd0359 (isopropyl alcohol)", NULL};
static const char *const example[] = {"stock", "99 %", "wanted", "70 %", "amount", "100 ml", NULL};

extern const cw_worksheet cw_sheet_thin_alcohol;
const cw_worksheet cw_sheet_thin_alcohol = {
    .name = "thin-alcohol",
    .title = "Thin alcohol with water",
    .group = "Chemistry",
    .purpose =
        "How much from the bottle and how much distilled water makes the strength wanted, by measure or by weight.",
    .inputs = inputs,
    .input_count = CW_COUNT(inputs),
    .outputs = outputs,
    .output_count = CW_COUNT(outputs),
    .cautions = cautions,
    .sources = sources,
    .compute = compute,
    .example = example,
};
