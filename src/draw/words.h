/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How wide a text will be, before anything is drawn: for bounds, legends and dimension figures. */
#ifndef CW_DRAW_WORDS_H
#define CW_DRAW_WORDS_H

/* Height of capitals over the font size: DejaVu Sans 2.37, measured on the letter H. */
#define CW_CAPITAL_HEIGHT 0.729

/* Width of one line of text over the font size, from the advance widths of DejaVu Sans 2.37 for ASCII and a wide guess
 * for the rest, so that another sans-serif font of the reader's seldom needs more. */
double cw_text_width(const char *text);

#endif
