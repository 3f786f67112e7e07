/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs a fuzz target over the files of a folder, then over each of them cut short and with bytes changed in a fixed
 * way: a plain test without the engine. An empty or missing corpus is a failure, not a pass. */
#include <dirent.h>
#include <gsl/gsl_errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { CHANGES_PER_FILE = 60, FILE_MOST = 1 << 20 };

static uint64_t step(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

static void run_with_changes(const char *bytes, size_t count, uint64_t seed)
{
    LLVMFuzzerTestOneInput((const uint8_t *)bytes, count);
    for (int i = 0; i < CHANGES_PER_FILE && count > 0; i++) {
        size_t kept = i % 3 == 0 ? step(&seed) % count : count;
        uint8_t *changed = malloc(kept > 0 ? kept : 1);
        if (changed == NULL)
            abort();
        memcpy(changed, bytes, kept);
        for (int k = 0; k < i % 5 && kept > 0; k++)
            changed[step(&seed) % kept] = (uint8_t)step(&seed);
        LLVMFuzzerTestOneInput(changed, kept);
        free(changed);
    }
}

int main(int argc, char **argv)
{
    gsl_set_error_handler_off();
    DIR *folder = argc == 2 ? opendir(argv[1]) : NULL;
    if (folder == NULL) {
        fprintf(stderr, "usage: %s CORPUS-FOLDER\n", argv[0]);
        return 2;
    }
    size_t files = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        char path[4096], *bytes;
        size_t count;
        cw_error err;
        snprintf(path, sizeof path, "%s/%s", argv[1], entry->d_name);
        if (cw_read_file(path, FILE_MOST, &bytes, &count, &err) != CW_OK) {
            fprintf(stderr, "%s\n", err.text);
            return 1;
        }
        run_with_changes(bytes, count, 2385 + files);
        free(bytes);
        files++;
    }
    closedir(folder);
    printf("%zu files, each also %d times changed\n", files, CHANGES_PER_FILE);
    return files > 0 ? 0 : 1;
}
