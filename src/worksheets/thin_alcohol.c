/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Thinning alcohol with water. */
#include <math.h>

#include "worksheets/fields.h"
#include "workshop/alcohol.h"
#include "workshop/chemistry.h"

static const cw_choice alcohols[] = {{"isopropyl", "Isopropyl alcohol"}, {"ethanol", "Ethanol, spirit"}, {NULL, NULL}};
static const cw_choice bases[] = {
    {"volume", "By volume, as on the bottle"}, {"mass", "By mass"}, {"parts", "Parts poured, 70 to 30"}, {NULL, NULL}};

static const cw_field inputs[] = {
    CW_PICK("alcohol", "Alcohol", alcohols, "isopropyl", ""),
    CW_USUAL("stock", "Strength in the bottle", CW_FRACTION, "%", "99 %", 0.01, 1, "as on its label"),
    CW_USUAL("wanted", "Strength wanted", CW_FRACTION, "%", "70 %", 0.01, 1,
             "70 % for glass: common practice, no source"),
    CW_PICK("by", "Both counted", bases, "volume", ""),
    CW_USUAL("amount", "Amount of the mix", CW_VOLUME, "ml", "100 ml", 1e-6, 0.1, "counted in parts: poured together"),
};

static const cw_field outputs[] = {
    CW_SHOW("from-bottle", "From the bottle", CW_VOLUME, "ml", 3, ""),
    CW_SHOW("water", "Distilled water", CW_VOLUME, "ml", 3, "more than the bottle leaves: the two shrink together"),
    CW_SHOW("water-simple", "Water by the simple rule", CW_VOLUME, "ml", 3, "mix less bottle, as if nothing shrank"),
    CW_SHOW("alcohol-mass", "or by weight, from the bottle", CW_MASS, "g", 3, ""),
    CW_SHOW("water-mass", "and distilled water", CW_MASS, "g", 3, ""),
    CW_SHOW("made", "Makes", CW_VOLUME, "ml", 4, ""),
    CW_SHOW("shrinks", "Shrinks by", CW_VOLUME, "ml", 2, "poured less made"),
    CW_SHOW("by-volume", "The mix, by volume", CW_FRACTION, "%", 3, "at 20 degrees Celsius"),
    CW_SHOW("by-mass", "The mix, by mass", CW_FRACTION, "%", 3, ""),
    CW_SHOW("density", "Density of the mix", CW_DENSITY, "g/ml", 4, "at 20 degrees Celsius"),
    CW_MAY_SHOW("flash-point", "Flash point, of the order of", CW_TEMPERATURE, "degC", 2,
                "figures for ethanol in water; isopropyl alcohol itself 12 degrees Celsius"),
};

static cw_status compute(const cw_sheet_in *in, cw_sheet_out *out, cw_error *err)
{
    cw_alcohol alcohol = cw_in_is(in, "alcohol", "ethanol") ? CW_ALCOHOL_ETHANOL : CW_ALCOHOL_ISOPROPYL;
    cw_strength_by by = cw_in_is(in, "by", "mass")    ? CW_BY_MASS
                        : cw_in_is(in, "by", "parts") ? CW_BY_PARTS
                                                      : CW_BY_VOLUME;
    cw_dilution d;
    CW_TRY(cw_dilute(alcohol, cw_in_number(in, "stock"), cw_in_number(in, "wanted"), by, cw_in_number(in, "amount"), &d,
                     err));
    double density = cw_alcohol_density(alcohol, d.by_mass), u = cw_alcohol_density_u(alcohol);
    double u_volume = by == CW_BY_PARTS ? 0 : d.made_m3 * u / density; /* what the density is not known to */
    cw_out_number(out, "from-bottle", d.stock_m3);
    cw_out_quantity(out, "water", (cw_quantity){d.water_m3, u_volume});
    cw_out_number(out, "water-simple", by == CW_BY_PARTS ? d.water_m3 : d.made_m3 - d.stock_m3);
    cw_out_number(out, "alcohol-mass", d.stock_kg);
    cw_out_quantity(out, "water-mass", (cw_quantity){d.water_kg, u_volume * 998.2});
    cw_out_number(out, "made", d.made_m3);
    cw_out_quantity(out, "shrinks", (cw_quantity){d.shrinks_m3, d.made_m3 * u / density});
    cw_out_number(out, "by-volume", d.by_volume);
    cw_out_number(out, "by-mass", d.by_mass);
    cw_out_quantity(out, "density", (cw_quantity){density, u});
    double flash = cw_ethanol_flash_point_k(d.by_volume);
    if (!isnan(flash))
        cw_out_number(out, "flash-point", flash);
    return CW_OK;
}

static const char *const cautions[] = {"solvent", "fire", NULL};
static const char *const sources[] = {
    "balance of alcohol and mass; densities of the mixes at 20 degrees Celsius: ethanol OIML R 22, isopropyl alcohol "
    "Perry's Chemical Engineers' Handbook, both from memory",
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
