/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "draw/words.h"

#include "base/utf8.h"

/* Advance widths of U+0020 to U+007E in thousandths of the font size, read from DejaVuSans.ttf 2.37 through cairo with
 * hinting off. */
static const short ascii_widths[] = {318,  401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
                                     636,  636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
                                     1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
                                     603,  787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
                                     500,  613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
                                     635,  635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838};

static double character_width(uint32_t code)
{
    if (code >= 0x20 && code - 0x20 < CW_COUNT(ascii_widths))
        return ascii_widths[code - 0x20] / 1000.0;
    if (code >= 0x300 && code <= 0x36f) /* combining marks stand over the letter before */
        return 0;
    if (code >= 0x1100) /* scripts of square characters start here; minus and dashes are as wide as a plus */
        return code < 0x2e80 ? 0.84 : 1.0;
    return 0.7;
}

double cw_text_width(const char *text)
{
    double width = 0;
    size_t step;
    for (uint32_t code; (step = cw_utf8_next(text, &code)) > 0; text += step)
        width += character_width(code);
    return width;
}
