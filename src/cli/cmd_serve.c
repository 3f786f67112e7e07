/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/unit.h"
#include "cli/bench_command.h"
#include "cli/command.h"
#include "web/server.h"

enum { USUAL_PORT = 8017 };

/* Once before the page's own handles, so that an older bench is brought up to date in words. A disk that cannot be
 * written is left to the server, which reads. */
static cw_status open_once(const char *folder, cw_error *err)
{
    cw_bench *bench;
    cw_status status = cw_bench_open(folder, CW_BENCH_CREATE, &bench, err);
    if (status == CW_FILE)
        return CW_OK;
    if (status == CW_OK) {
        cw_bench_tell_upgrade(bench);
        cw_bench_close(bench);
    }
    return status;
}

static cw_status run(size_t count, const char *const *args, FILE *out, bool *outside, cw_error *err)
{
    (void)outside;
    cw_option options[] = {
        {.key = "bench"},   {.key = "port"},     {.key = "lan", .is_flag = true}, {.key = "tls-cert"},
        {.key = "tls-key"}, {.key = "patience"}, {.key = "open", .is_flag = true}};
    size_t operand_count;
    CW_TRY(cw_options_read(count, args, options, CW_COUNT(options), NULL, 0, &operand_count, err));
    const char *port_text = cw_option_value(options, CW_COUNT(options), "port");
    const char *named = cw_option_value(options, CW_COUNT(options), "bench");
    const char *patience_text = cw_option_value(options, CW_COUNT(options), "patience");
    long port = USUAL_PORT, patience_s = 0;
    char bench[CW_BENCH_PATH];
    CW_TRY(cw_bench_place(named, bench, sizeof bench, err));
    if (named == NULL)
        CW_TRY(cw_bench_make_parents(bench, err));
    if (port_text != NULL) {
        cw_status status = cw_parse_whole(port_text, 0, 65535, &port, err);
        if (status != CW_OK) {
            cw_context(err, "--port");
            return status;
        }
    }
    if (patience_text != NULL) {
        cw_status status = cw_parse_whole(patience_text, 1, 3600, &patience_s, err);
        if (status != CW_OK) {
            cw_context(err, "--patience");
            return status;
        }
    }
    cw_web_options web = {
        .bench = bench,
        .port = (uint16_t)port,
        .lan = cw_option_given(options, CW_COUNT(options), "lan"),
        .tls_cert = cw_option_value(options, CW_COUNT(options), "tls-cert"),
        .tls_key = cw_option_value(options, CW_COUNT(options), "tls-key"),
        .patience_s = (unsigned)patience_s,
        .out = out,
        .open_page = cw_option_given(options, CW_COUNT(options), "open"),
    };
    CW_TRY(open_once(bench, err));
    return cw_web_serve(&web, err);
}

const cw_command cw_cmd_serve = {
    .name = "serve",
    .arguments = "[--bench FOLDER] [--open] [--port 8017] [--lan] [--tls-cert FILE --tls-key FILE] [--patience 45]",
    .summary = "the page: the bench in a browser, on this laptop or from the phone too",
    .help =
        "  --bench FOLDER    the bench; made when it is not there yet. Else $CAMERAWRIGHT_BENCH, else\n"
        "                    camerawright/bench in your data folder\n"
        "  --open            show the page in your browser (through xdg-open)\n"
        "  --port NUMBER     where to listen; 0 takes any free port (default 8017)\n"
        "  --lan             also from the home network, for the phone: every device pairs once by a code that the\n"
        "                    laptop shows. Plain HTTP can be read and changed by others on that network.\n"
        "  --tls-cert FILE   PEM certificate of your own, and\n"
        "  --tls-key FILE    its key: https instead of http\n"
        "  --patience S      seconds a slow sender is waited for (default 45)\n"
        "Ctrl-C ends it.\n",
    .run = run,
};
