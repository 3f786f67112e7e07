/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/server.h"

#include <arpa/inet.h>
#include <errno.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "web/call.h"
#include "web/house.h"
#include "web/lanes.h"
#include "web/live.h"
#include "web/qr.h"
#include "web/watch.h"

enum {
    CONNECTIONS_MOST = 256,
    CONNECTIONS_A_DEVICE = 64,       /* from the network; a browser opens six */
    QUIET_S = 30,                    /* a connection that says nothing this long is closed */
    MEMORY_A_CONNECTION = 96 * 1024, /* request head: a worksheet with many rows has a long address */
    PEM_MOST = 256 * 1024
};

struct cw_web_server {
    cw_house house;
    cw_lanes *lanes;
    cw_watch *watch;
    struct MHD_Daemon *daemon;
    char *cert, *key;
    cw_call_place place; /* what every call needs */
};

static cw_status read_pem(const char *path, const char *what, char **pem, cw_error *err)
{
    size_t count = 0;
    CW_TRY(cw_read_file(path, PEM_MOST, pem, &count, err));
    if (strstr(*pem, "-----BEGIN ") == NULL) {
        free(*pem);
        *pem = NULL;
        return cw_fail(err, CW_INPUT, "\"%s\" is no PEM file; the %s has to begin with -----BEGIN", path, what);
    }
    return CW_OK;
}

static cw_status read_certificate(cw_web_server *server, const cw_web_options *options, cw_error *err)
{
    if ((options->tls_cert == NULL) != (options->tls_key == NULL))
        return cw_fail(err, CW_INPUT, "https needs both a certificate and its key; only one was given");
    if (options->tls_cert == NULL)
        return CW_OK;
    CW_TRY(read_pem(options->tls_cert, "certificate", &server->cert, err));
    return read_pem(options->tls_key, "key", &server->key, err);
}

static cw_status listen_on(cw_web_server *server, const cw_web_options *options, cw_error *err)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(options->port)};
    address.sin_addr.s_addr = htonl(options->lan ? INADDR_ANY : INADDR_LOOPBACK);
    unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME;
    struct MHD_OptionItem secure[] = {
        {server->cert != NULL ? MHD_OPTION_HTTPS_MEM_CERT : MHD_OPTION_END, 0, server->cert},
        {MHD_OPTION_HTTPS_MEM_KEY, 0, server->key},
        {MHD_OPTION_END, 0, NULL},
    };
    if (server->cert != NULL)
        flags |= MHD_USE_TLS;
    errno = 0;
    server->daemon = MHD_start_daemon(
        flags, options->port, NULL, NULL, cw_call_answer, &server->place, MHD_OPTION_SOCK_ADDR, &address,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, (size_t)MEMORY_A_CONNECTION, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS_MOST, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        options->lan ? (unsigned)CONNECTIONS_A_DEVICE : (unsigned)CONNECTIONS_MOST, MHD_OPTION_CONNECTION_TIMEOUT,
        (unsigned)QUIET_S, MHD_OPTION_URI_LOG_CALLBACK, cw_call_begin, &server->place, MHD_OPTION_NOTIFY_COMPLETED,
        cw_call_completed, &server->place, MHD_OPTION_NOTIFY_CONNECTION, cw_watch_connection, server->watch,
        MHD_OPTION_ARRAY, secure, MHD_OPTION_END);
    if (server->daemon != NULL)
        return CW_OK;
    if (errno == EADDRINUSE)
        return cw_fail(err, CW_CONFLICT,
                       "port %u is taken; is this bench being served already? Another port: --port NUMBER",
                       (unsigned)options->port);
    if (server->cert != NULL)
        return cw_fail(err, CW_INPUT,
                       "https could not be started with this certificate and key; do they belong together?");
    return cw_fail(err, CW_DEVICE, "the page cannot listen on port %u: %s", (unsigned)options->port, strerror(errno));
}

static cw_status open_house(cw_web_server *server, const cw_web_options *options, cw_error *err)
{
    cw_house *house = &server->house;
    if (strlen(options->bench) >= sizeof house->folder - 16)
        return cw_fail(err, CW_INPUT, "the bench's path is too long");
    memcpy(house->folder, options->bench, strlen(options->bench) + 1);
    house->lan = options->lan;
    house->tls = options->tls_cert != NULL;
    house->port = options->port;
    CW_TRY(cw_lanes_new(house->folder, &server->lanes, err));
    CW_TRY(cw_live_new(house->folder, &house->live, err));
    char keep[sizeof house->folder + 16];
    snprintf(keep, sizeof keep, "%s/door.json", house->folder);
    cw_door_options door = {
        .lan = house->lan, .tls = house->tls, .port = house->port, .keep = house->lan ? keep : NULL};
    return cw_door_new(&door, &house->door, err);
}

static void learn_port(cw_web_server *server)
{
    const union MHD_DaemonInfo *info = MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_BIND_PORT);
    if (info != NULL)
        server->house.port = info->port;
    cw_door_set_port(server->house.door, server->house.port);
}

cw_status cw_web_start(const cw_web_options *options, cw_web_server **server, cw_error *err)
{
    cw_web_server *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the web server");
    pthread_mutex_init(&made->house.lock, NULL);
    cw_status status = read_certificate(made, options, err);
    if (status == CW_OK)
        status = open_house(made, options, err);
    if (status == CW_OK)
        status = cw_watch_new(made->house.door, options->patience_s, &made->watch, err);
    if (status == CW_OK) {
        made->place = (cw_call_place){&made->house, made->lanes, made->watch};
        status = listen_on(made, options, err);
    }
    if (status != CW_OK) {
        cw_web_stop(made);
        return status;
    }
    learn_port(made);
    *server = made;
    return CW_OK;
}

uint16_t cw_web_port(const cw_web_server *server)
{
    return server->house.port;
}

/* No new connections; the requests under way get two seconds to end. */
static void quiet_down(cw_web_server *server)
{
    MHD_socket listening = MHD_quiesce_daemon(server->daemon);
    if (listening != MHD_INVALID_SOCKET)
        close(listening);
    for (int i = 0; i < 200 && cw_watch_busy(server->watch) > 0; i++)
        usleep(10000);
}

void cw_web_stop(cw_web_server *server)
{
    if (server == NULL)
        return;
    cw_live_end(server->house.live);
    if (server->daemon != NULL)
        quiet_down(server);
    cw_lanes_free(server->lanes); /* ends what waits and resumes it: nothing may be suspended when the daemon stops */
    if (server->daemon != NULL)
        MHD_stop_daemon(server->daemon);
    cw_live_free(server->house.live);
    cw_watch_free(server->watch);
    cw_door_free(server->house.door);
    pthread_mutex_destroy(&server->house.lock);
    free(server->cert);
    free(server->key);
    free(server);
}

static void print_lan(cw_web_server *server, FILE *out)
{
    cw_house *house = &server->house;
    char addresses[8][CW_ADDRESS_TEXT], code[CW_PAIR_CODE_TEXT];
    int64_t left_s = 0;
    size_t count = cw_house_addresses(house, addresses, CW_COUNT(addresses));
    if (!cw_door_code(house->door, code, &left_s))
        return;
    if (count == 0) {
        fputs("No network found: a phone cannot reach this laptop now.\n", out);
        return;
    }
    for (size_t i = 0; i < count; i++)
        fprintf(out, "  phone:  %s\n", addresses[i]);
    fprintf(out, "  code:   %s   (works once, for %d minutes; a new one is on the laptop's page under Phone)\n\n", code,
            CW_PAIR_CODE_LIFE_S / 60);
    char address[CW_ADDRESS_TEXT + 32];
    snprintf(address, sizeof address, "%s/pair?code=%s", addresses[0], code);
    cw_qr_print(address, out);
    if (!house->tls)
        fputs(
            "\nThis is plain HTTP: anyone on this network who listens can read and change what goes over it, photos "
            "and\n"
            "notes included. Use it on a network you trust, or give your own certificate: --tls-cert and --tls-key.\n",
            out);
}

static void print_address(cw_web_server *server, FILE *out)
{
    const cw_house *house = &server->house;
    fprintf(out, "The bench \"%s\" is open at\n\n  laptop: %s://127.0.0.1:%u/\n", house->folder,
            house->tls ? "https" : "http", (unsigned)house->port);
    if (house->lan)
        print_lan(server, out);
    fputs("\nCtrl-C ends it.\n", out);
    fflush(out);
}

static void print_refusals(cw_web_server *server, FILE *out)
{
    uint64_t counts[CW_DOOR_REASONS];
    cw_door_counts(server->house.door, counts);
    for (size_t i = 0; i < CW_DOOR_REASONS; i++)
        if (counts[i] > 0)
            fprintf(out, "refused: %llu %s\n", (unsigned long long)counts[i], cw_door_reason_text((cw_door_reason)i));
    fflush(out);
}

/* A browser that cannot be started is no reason not to serve: the address is printed anyway. */
static void open_page(const cw_web_server *server, FILE *out)
{
    char address[CW_ADDRESS_TEXT];
    snprintf(address, sizeof address, "%s://127.0.0.1:%u/", server->house.tls ? "https" : "http",
             (unsigned)server->house.port);
    char *const args[] = {"xdg-open", address, NULL};
    posix_spawnattr_t attributes;
    sigset_t none;
    sigemptyset(&none);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK);
    signal(SIGCHLD, SIG_IGN); /* nobody waits for it */
    pid_t child;
    int trouble = posix_spawnp(&child, args[0], NULL, &attributes, args, environ);
    posix_spawnattr_destroy(&attributes);
    if (trouble != 0 && out != NULL)
        fprintf(out, "xdg-open cannot be started (%s): open the address yourself.\n", strerror(trouble));
}

cw_status cw_web_serve(const cw_web_options *options, cw_error *err)
{
    sigset_t ends;
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &ends, NULL); /* every thread made from here on leaves them to sigwait below */
    signal(SIGPIPE, SIG_IGN);
    cw_web_server *server = NULL;
    CW_TRY(cw_web_start(options, &server, err));
    if (options->out != NULL)
        print_address(server, options->out);
    if (options->open_page)
        open_page(server, options->out);
    int caught = 0;
    sigwait(&ends, &caught);
    if (options->out != NULL)
        print_refusals(server, options->out);
    cw_web_stop(server);
    return CW_OK;
}
