/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Cautions by tag: one plain sentence each, shown where the risk is, deferring to local rules and qualified people. */
#ifndef CW_WORKSHEETS_CAUTIONS_H
#define CW_WORKSHEETS_CAUTIONS_H

/* The sentence of a tag ("capacitor", "laser", "solvent", "fire", "spring", "battery", "mercury", "dust", "thoriated",
 * "eye-strain", "heat", "cutting", "force", "mixing"), NULL for an unknown tag. */
const char *cw_caution(const char *tag);

#endif
