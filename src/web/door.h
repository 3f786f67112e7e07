/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Who may come in. The laptop itself (loopback address, loopback name) is let in; anything else on the network only
 * with a session that was opened by the pairing code shown on the laptop. Every writing request needs the right Host,
 * an Origin of this server (or none at all) and the token of its own session. Refusals are counted by reason.
 *
 * Sessions of paired devices outlive a restart: "door.json" in the bench folder keeps a SHA-256 of each session's
 * cookie (a cookie is 256 random bits, so the hash opens nothing), its name and its times. Safe to call from several
 * threads. */
#ifndef CW_WEB_DOOR_H
#define CW_WEB_DOOR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/error.h"

enum {
    CW_SESSION_TEXT = 65,   /* 256 bits as hex and a terminator */
    CW_PAIR_CODE_TEXT = 10, /* "K7PM-3XQD" */
    CW_PAIR_CODE_LIFE_S = 600,
    CW_DEVICE_NAME = 64,
    CW_DEVICES_MOST = 32,
    CW_ADDRESS_TEXT = 64
};

typedef enum {
    CW_DOOR_HOST,       /* the Host header names some other place */
    CW_DOOR_ORIGIN,     /* a page of another site sent it */
    CW_DOOR_TOKEN,      /* the form's token is missing or not of this session */
    CW_DOOR_UNPAIRED,   /* from the network without a session */
    CW_DOOR_LAPTOP,     /* only the laptop may do this */
    CW_DOOR_CODE,       /* a wrong or old pairing code */
    CW_DOOR_RATE,       /* too many tries */
    CW_DOOR_TOO_LARGE,  /* a body, field or file over its limit */
    CW_DOOR_SLOW,       /* took too long to send */
    CW_DOOR_BAD_TARGET, /* an address no page can have */
    CW_DOOR_METHOD,     /* a method the page does not know */
    CW_DOOR_REASONS
} cw_door_reason;

const char *cw_door_reason_key(cw_door_reason reason);  /* "host": as in JSON */
const char *cw_door_reason_text(cw_door_reason reason); /* "wrong host name": as on the page */

typedef struct cw_door cw_door;

typedef struct {
    bool lan;                 /* listens beyond loopback */
    bool tls;                 /* https: cookies are marked Secure, the origin is https */
    uint16_t port;            /* may be 0 here and set later: cw_door_set_port */
    const char *keep;         /* the file of the paired devices; NULL: keep nothing */
    int64_t (*clock_s)(void); /* seconds; NULL: the monotonic clock */
} cw_door_options;

cw_status cw_door_new(const cw_door_options *options, cw_door **door, cw_error *err)
    __attribute__((warn_unused_result));
void cw_door_free(cw_door *door); /* NULL is fine */
void cw_door_set_port(cw_door *door, uint16_t port);

/* What a request shows at the door. Headers are NULL when absent. */
typedef struct {
    bool writes; /* anything but GET and HEAD */
    bool open;   /* the page may be seen unpaired (pairing itself, styles) */
    bool laptop_only;
    bool peer_loopback; /* the other end is this machine */
    const char *local;  /* the address of this end, "192.168.1.5"; NULL when not known */
    const char *host, *origin, *fetch_site, *fetch_mode, *cookie;
    const char *agent; /* User-Agent, for the name of a new device */
} cw_visit;

typedef struct {
    bool laptop; /* this machine; false: a paired device or an unpaired visitor */
    bool paired; /* a device with a session */
    bool bounce; /* came from another site without its cookie: show a step in between, see page.h */
    bool fresh;  /* a new cookie has to be set */
    char session[CW_SESSION_TEXT];
    char token[CW_SESSION_TEXT]; /* for forms */
} cw_pass;

/* CW_OK with a pass, or CW_REFUSED with the sentence; the refusal is counted. The form's token is checked later, when
 * the body is there: cw_door_token. *reason tells why (unchanged on CW_OK). */
cw_status cw_door_enter(cw_door *door, const cw_visit *visit, cw_pass *pass, cw_door_reason *reason, cw_error *err)
    __attribute__((warn_unused_result));
/* The token that came with a writing request. */
cw_status cw_door_token(cw_door *door, const cw_pass *pass, const char *token, cw_error *err)
    __attribute__((warn_unused_result));

/* The pairing code of the moment, a new one when the old one is used up or too old. False without --lan. */
bool cw_door_code(cw_door *door, char code[CW_PAIR_CODE_TEXT], int64_t *left_s);
cw_status cw_door_new_code(cw_door *door, cw_error *err) __attribute__((warn_unused_result));

/* Opens a session for the device that knows the code; a code works once. Small letters, spaces and a missing dash are
 * forgiven. At most CW_PAIR_TRIES tries, then one more each 12 s; after 20 wrong ones the code is replaced.
 * CW_REFUSED with the sentence; CW_FILE when the session could not be kept. */
cw_status cw_door_pair(cw_door *door, const char *code, const char *name, cw_pass *pass, cw_error *err)
    __attribute__((warn_unused_result));
enum { CW_PAIR_TRIES = 5, CW_PAIR_REFILL_S = 12, CW_PAIR_WRONG_MOST = 20 };

typedef struct {
    int64_t id;
    char name[CW_DEVICE_NAME];
    char paired_at[32], seen_at[32]; /* "2026-11-25 09:40" local time */
    bool current;                    /* the one that asks */
} cw_device;

/* The paired devices, oldest first; returns how many. */
size_t cw_door_devices(cw_door *door, const cw_pass *asking, cw_device devices[CW_DEVICES_MOST]);
/* CW_NOT_FOUND when there is none of that id. */
cw_status cw_door_end(cw_door *door, int64_t id, cw_error *err) __attribute__((warn_unused_result));

void cw_door_count(cw_door *door, cw_door_reason reason);
void cw_door_counts(cw_door *door, uint64_t counts[CW_DOOR_REASONS]);

/* The value of a Set-Cookie header for this pass. */
void cw_door_cookie(const cw_door *door, const cw_pass *pass, char *out, size_t size);

#endif
