/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The VCD reader and the measurement behind it. */
#include "recording.h"

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
    measure_bytes(bytes, count);
    return 0;
}
