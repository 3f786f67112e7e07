/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What people type as a measure: any bytes, every dimension. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/unit.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *text = malloc(size + 1);
    if (text == NULL)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    for (int d = 0; d < CW_DIMENSION_COUNT; d++) {
        cw_error err;
        double si;
        if (cw_parse_measure(text, (cw_dimension)d, NULL, &si, &err) == CW_OK) {
            if (!isfinite(si))
                abort();
        } else if (err.text[0] == '\0') {
            abort();
        }
    }
    free(text);
    return 0;
}
