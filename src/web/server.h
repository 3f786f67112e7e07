/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page: a small web server over one bench. One thread moves bytes; workers with a bench handle each make the pages,
 * two for quick ones, two for long computations, so that an analysis never holds up a page. */
#ifndef CW_WEB_SERVER_H
#define CW_WEB_SERVER_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/error.h"

typedef struct {
    const char *bench;    /* the bench folder; made when missing */
    uint16_t port;        /* 0: any free one */
    bool lan;             /* also from the home network, behind a pairing code */
    const char *tls_cert; /* PEM files of an own certificate and key: https; both or none */
    const char *tls_key;
    unsigned patience_s; /* how long a slow sender is waited for; 0: 45 s */
    FILE *out;           /* where cw_web_serve prints the address; NULL: nowhere */
    bool open_page;      /* cw_web_serve also shows the page in the person's browser, through xdg-open */
} cw_web_options;

typedef struct cw_web_server cw_web_server;

/* Opens the bench and listens. CW_CONFLICT: the port is taken; CW_INPUT: certificate or key unusable; and what
 * cw_bench_open gives. The caller stops it. */
cw_status cw_web_start(const cw_web_options *options, cw_web_server **server, cw_error *err)
    __attribute__((warn_unused_result));
uint16_t cw_web_port(const cw_web_server *server);
/* Lets running requests end, then closes. NULL is fine. */
void cw_web_stop(cw_web_server *server);

/* Start, print the address (and with --lan the pairing code), serve until SIGINT or SIGTERM, stop, and say what was
 * refused meanwhile. Takes the two signals over for the whole program. */
cw_status cw_web_serve(const cw_web_options *options, cw_error *err) __attribute__((warn_unused_result));

#endif
