/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A lens file of any bytes: a sentence, or a lens whose report holds no number that is not finite. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "optics/lens_report.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    cw_lens lens;
    cw_lens_report *report = malloc(sizeof *report);
    cw_error err = {0};
    if (report == NULL)
        return 0;
    if (cw_lens_from_json((const char *)data, size, &lens, &err) != CW_OK ||
        cw_lens_report_of(&lens, report, &err) != CW_OK) {
        if (err.text[0] == '\0')
            abort();
        free(report);
        return 0;
    }
    json_t *json = cw_lens_report_json(&lens, report); /* jansson takes no NaN: it would be NULL here */
    if (json == NULL || !isfinite(report->cardinal.efl_mm))
        abort();
    json_decref(json);
    free(report);
    return 0;
}
