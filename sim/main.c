/* SPDX-License-Identifier: GPL-3.0-or-later */
/* camerawright-sim: recordings of shutters that never were, with the truth beside. */
#include "sim/sim.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/unit.h"
#include "sim/inside.h"

static const char usage[] =
    "camerawright-sim demo FOLDER             the demo recordings of two invented cameras, before and after\n"
    "camerawright-sim run SCENARIO.json OUT   OUT ends in .wav, .csv, .vcd or .edges; the truth goes into OUT's\n"
    "                                         name with .truth.json\n"
    "    --csv plain|preamble|comma|tabs      dialect of .csv (plain)\n"
    "    --timescale '10 ns'                  of .vcd (100 ns), and the resolution of .edges\n"
    "camerawright-sim sound OUT.wav [--exposures 1,1/2,1/4] [--buzz 0.06] [--seed N]\n"
    "                                         the sound of a shutter, 48 kHz, and its truth\n"
    "camerawright-sim truth SCENARIO.json     only the truth, on standard output\n";

static const char *option(int argc, char **argv, const char *name, const char *fallback)
{
    for (int i = 2; i + 1 < argc; i++)
        if (strcmp(argv[i], name) == 0)
            return argv[i + 1];
    return fallback;
}

static bool ends_in(const char *text, const char *ending)
{
    size_t n = strlen(text), m = strlen(ending);
    return n > m && strcmp(text + n - m, ending) == 0;
}

static cw_status dialect_of(const char *name, cw_sim_csv_dialect *dialect, cw_error *err)
{
    static const char *const names[CW_SIM_CSV_DIALECTS] = {"plain", "preamble", "comma", "tabs"};
    for (int i = 0; i < CW_SIM_CSV_DIALECTS; i++)
        if (strcmp(name, names[i]) == 0) {
            *dialect = (cw_sim_csv_dialect)i;
            return CW_OK;
        }
    return cw_fail(err, CW_INPUT, "no CSV dialect \"%s\"; plain, preamble, comma or tabs", name);
}

static cw_status write_recording(cw_sim *sim, int argc, char **argv, const char *out, cw_error *err)
{
    const char *timescale = option(argc, argv, "--timescale", "100 ns");
    if (ends_in(out, ".wav"))
        return cw_sim_write_wav(sim, out, err);
    if (ends_in(out, ".vcd"))
        return cw_sim_write_vcd(sim, timescale, out, err);
    if (ends_in(out, ".edges")) {
        double tick_s;
        CW_TRY(cw_parse_measure(timescale, CW_TIME, NULL, &tick_s, err));
        return cw_sim_write_edges(sim, tick_s, out, err);
    }
    if (ends_in(out, ".csv")) {
        cw_sim_csv_dialect dialect = {0};
        CW_TRY(dialect_of(option(argc, argv, "--csv", "plain"), &dialect, err));
        return cw_sim_write_csv(sim, dialect, out, err);
    }
    return cw_fail(err, CW_INPUT, "%s: the name must end in .wav, .csv, .vcd or .edges", out);
}

static cw_status run(int argc, char **argv, cw_error *err)
{
    if (argc < 4)
        return cw_fail(err, CW_INPUT, "run needs a scenario and an output file\n%s", usage);
    cw_sim_scenario scenario;
    char beside[4096];
    CW_TRY(cw_sim_load(argv[2], &scenario, err));
    CW_TRY(sim_beside(argv[3], ".truth.json", beside, sizeof beside, err));
    cw_sim *sim = NULL;
    CW_TRY(cw_sim_new(&scenario, &sim, err));
    cw_status status = write_recording(sim, argc, argv, argv[3], err);
    if (status == CW_OK)
        status = cw_sim_write_truth(sim, beside, err);
    cw_sim_free(sim);
    return status;
}

static cw_status print_truth(const char *path, cw_error *err)
{
    cw_sim_scenario scenario;
    CW_TRY(cw_sim_load(path, &scenario, err));
    cw_sim *sim = NULL;
    CW_TRY(cw_sim_new(&scenario, &sim, err));
    json_t *object = cw_sim_truth_json(sim);
    cw_sim_free(sim);
    int failed = object == NULL || json_dumpf(object, stdout, JSON_INDENT(1) | JSON_REAL_PRECISION(12)) != 0;
    json_decref(object);
    failed |= printf("\n") < 0 || fflush(stdout) != 0;
    return failed ? cw_fail(err, CW_FILE, "the truth could not be printed") : CW_OK;
}

static cw_status read_exposures(const char *list, cw_sim_sound *sound, cw_error *err)
{
    sound->shots = 0;
    for (const char *from = list; from != NULL;) {
        const char *comma = strchr(from, ',');
        char item[64];
        size_t length = comma != NULL ? (size_t)(comma - from) : strlen(from);
        if (length >= sizeof item || sound->shots == CW_SIM_SPEEDS_MOST)
            return cw_fail(err, CW_INPUT, "--exposures takes up to %d times, as in 1,1/2,1/4", CW_SIM_SPEEDS_MOST);
        memcpy(item, from, length);
        item[length] = '\0';
        CW_TRY(cw_parse_measure(item, CW_TIME, NULL, &sound->exposure_s[sound->shots++], err));
        from = comma != NULL ? comma + 1 : NULL;
    }
    return CW_OK;
}

static cw_status sound(int argc, char **argv, cw_error *err)
{
    cw_sim_sound made;
    cw_sim_sound_default(&made);
    const char *exposures = option(argc, argv, "--exposures", NULL);
    if (exposures != NULL)
        CW_TRY(read_exposures(exposures, &made, err));
    CW_TRY(cw_parse_measure(option(argc, argv, "--buzz", "0.06"), CW_PLAIN, NULL, &made.buzz, err));
    long seed;
    CW_TRY(cw_parse_whole(option(argc, argv, "--seed", "1"), 0, 1000000000, &seed, err));
    made.seed = (uint64_t)seed;
    return cw_sim_sound_write(&made, argv[2], err);
}

int main(int argc, char **argv)
{
    cw_error err = {CW_OK, ""};
    cw_status status;
    if (argc == 2 && (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0)) {
        fputs(usage, stdout);
        return 0;
    }
    if (argc >= 3 && strcmp(argv[1], "demo") == 0)
        status = cw_sim_demo(argv[2], &err);
    else if (argc >= 3 && strcmp(argv[1], "run") == 0)
        status = run(argc, argv, &err);
    else if (argc >= 3 && strcmp(argv[1], "sound") == 0)
        status = sound(argc, argv, &err);
    else if (argc >= 3 && strcmp(argv[1], "truth") == 0)
        status = print_truth(argv[2], &err);
    else
        status = cw_fail(&err, CW_INPUT, "what to make?\n%s", usage);
    if (status != CW_OK)
        fprintf(stderr, "camerawright-sim: %s\n", err.text);
    return cw_exit_status(status);
}
