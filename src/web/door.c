/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/door.h"

#include <ctype.h>
#include <gnutls/crypto.h>
#include <gnutls/gnutls.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "web/door_keep.h"

enum { SECRET_BYTES = 32, HASH_BYTES = 32 };

struct cw_door {
    pthread_mutex_t lock;
    cw_door_options options;
    char keep[4096], name[256], name_local[264]; /* this machine's host name, with and without ".local" */
    unsigned char secret[SECRET_BYTES];
    char code[CW_PAIR_CODE_TEXT];
    int64_t code_made_s, tries_at_s;
    double tries_left;
    unsigned wrong;
    cw_kept_devices devices;
    uint64_t counts[CW_DOOR_REASONS];
};

static const struct {
    const char *key, *text;
} reasons[CW_DOOR_REASONS] = {
    [CW_DOOR_HOST] = {"host", "addressed to another host name"},
    [CW_DOOR_ORIGIN] = {"origin", "sent by a page of another site"},
    [CW_DOOR_TOKEN] = {"token", "a form without this session's token"},
    [CW_DOOR_UNPAIRED] = {"unpaired", "from the network, not paired"},
    [CW_DOOR_LAPTOP] = {"laptop-only", "only allowed on the laptop itself"},
    [CW_DOOR_CODE] = {"code", "wrong or old pairing code"},
    [CW_DOOR_RATE] = {"rate", "too many tries"},
    [CW_DOOR_TOO_LARGE] = {"too-large", "larger than is taken"},
    [CW_DOOR_SLOW] = {"slow", "took too long to send"},
    [CW_DOOR_BAD_TARGET] = {"bad-address", "an address no page can have"},
    [CW_DOOR_METHOD] = {"method", "a method the page does not know"},
};

const char *cw_door_reason_key(cw_door_reason reason)
{
    return reasons[reason].key;
}

const char *cw_door_reason_text(cw_door_reason reason)
{
    return reasons[reason].text;
}

static int64_t monotonic_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec;
}

static int64_t clock_s(const cw_door *door)
{
    return door->options.clock_s != NULL ? door->options.clock_s() : monotonic_s();
}

static void to_hex(const unsigned char *bytes, size_t count, char *out)
{
    static const char digits[] = "0123456789abcdef";
    for (size_t i = 0; i < count; i++) {
        out[2 * i] = digits[bytes[i] >> 4];
        out[2 * i + 1] = digits[bytes[i] & 15];
    }
    out[2 * count] = '\0';
}

static cw_status random_bytes(unsigned char *out, size_t count, cw_error *err)
{
    if (gnutls_rnd(GNUTLS_RND_KEY, out, count) != 0)
        return cw_fail(err, CW_DEVICE, "the system gave no random numbers; the page cannot be kept safe without them");
    return CW_OK;
}

/* Letters and digits that are not taken for one another on a small screen: no 0 O 1 I L U. 30^8, about 39 bits. */
static cw_status make_code(cw_door *door, cw_error *err)
{
    static const char letters[] = "23456789ABCDEFGHJKMNPQRSTVWXYZ";
    unsigned limit = 256 - 256 % (sizeof letters - 1);
    char *out = door->code;
    for (int i = 0; i < 9; i++) {
        if (i == 4) {
            *out++ = '-';
            continue;
        }
        unsigned char byte;
        do
            CW_TRY(random_bytes(&byte, 1, err));
        while (byte >= limit); /* or some letters would come more often */
        *out++ = letters[byte % (sizeof letters - 1)];
    }
    *out = '\0';
    door->code_made_s = clock_s(door);
    door->wrong = 0;
    return CW_OK;
}

static void learn_host_name(cw_door *door)
{
    if (gethostname(door->name, sizeof door->name - 1) != 0)
        door->name[0] = '\0';
    if (door->name[0] != '\0')
        snprintf(door->name_local, sizeof door->name_local, "%s.local", door->name);
}

cw_status cw_door_new(const cw_door_options *options, cw_door **door, cw_error *err)
{
    cw_door *made = calloc(1, sizeof *made);
    if (made == NULL)
        return cw_fail(err, CW_MEMORY, "no memory for the door of the page");
    pthread_mutex_init(&made->lock, NULL);
    made->options = *options;
    made->tries_left = CW_PAIR_TRIES;
    made->tries_at_s = clock_s(made);
    if (options->keep != NULL)
        snprintf(made->keep, sizeof made->keep, "%s", options->keep);
    learn_host_name(made);
    cw_status status = random_bytes(made->secret, sizeof made->secret, err);
    if (status == CW_OK)
        status = make_code(made, err);
    if (status == CW_OK && made->keep[0] != '\0')
        status = cw_kept_load(made->keep, &made->devices, err);
    if (status != CW_OK) {
        cw_door_free(made);
        return status;
    }
    *door = made;
    return CW_OK;
}

void cw_door_free(cw_door *door)
{
    if (door == NULL)
        return;
    pthread_mutex_destroy(&door->lock);
    gnutls_memset(door->secret, 0, sizeof door->secret);
    free(door);
}

void cw_door_set_port(cw_door *door, uint16_t port)
{
    door->options.port = port;
}

/* "name" or "name:port" against one name we answer to. */
static bool host_is(const cw_door *door, const char *host, const char *name)
{
    size_t length = strlen(name);
    if (length == 0 || strncasecmp(host, name, length) != 0)
        return false;
    uint16_t usual = door->options.tls ? 443 : 80;
    if (host[length] == '\0')
        return door->options.port == usual;
    char port[8];
    snprintf(port, sizeof port, ":%u", (unsigned)door->options.port);
    return strcmp(host + length, port) == 0;
}

static bool host_is_ours(const cw_door *door, const cw_visit *visit)
{
    if (visit->host == NULL)
        return false;
    if (visit->peer_loopback)
        return host_is(door, visit->host, "127.0.0.1") || host_is(door, visit->host, "localhost");
    return (visit->local != NULL && host_is(door, visit->host, visit->local)) ||
           host_is(door, visit->host, door->name) || host_is(door, visit->host, door->name_local);
}

/* The Origin header, when there is one, must be this server under the name it was called by. */
static bool origin_is_ours(const cw_door *door, const cw_visit *visit)
{
    if (visit->origin == NULL)
        return true;
    const char *scheme = door->options.tls ? "https://" : "http://";
    size_t length = strlen(scheme);
    return strncmp(visit->origin, scheme, length) == 0 && strcasecmp(visit->origin + length, visit->host) == 0;
}

static bool is(const char *header, const char *value)
{
    return header != NULL && strcmp(header, value) == 0;
}

/* Browsers say where a request comes from (Sec-Fetch-Site). A writing one must be ours or typed by the person; a
 * reading one from elsewhere may only be a followed link, not a picture or script on another site. */
static bool site_is_ours(const cw_visit *visit)
{
    if (visit->fetch_site == NULL || is(visit->fetch_site, "same-origin") || is(visit->fetch_site, "none"))
        return true;
    return !visit->writes && is(visit->fetch_mode, "navigate");
}

static bool cookie_session(const char *cookie, char session[CW_SESSION_TEXT])
{
    static const char name[] = "cw_session=";
    const char *at = cookie;
    while (at != NULL) {
        while (*at == ' ' || *at == ';')
            at++;
        if (strncmp(at, name, sizeof name - 1) == 0) {
            at += sizeof name - 1;
            if (strspn(at, "0123456789abcdef") != CW_SESSION_TEXT - 1)
                return false;
            memcpy(session, at, CW_SESSION_TEXT - 1);
            session[CW_SESSION_TEXT - 1] = '\0';
            return true;
        }
        at = strchr(at, ';');
    }
    return false;
}

static cw_status new_session(cw_pass *pass, cw_error *err)
{
    unsigned char bytes[SECRET_BYTES];
    CW_TRY(random_bytes(bytes, sizeof bytes, err));
    to_hex(bytes, sizeof bytes, pass->session);
    pass->fresh = true;
    return CW_OK;
}

static cw_status make_token(const cw_door *door, cw_pass *pass, cw_error *err)
{
    unsigned char mac[HASH_BYTES];
    if (gnutls_hmac_fast(GNUTLS_MAC_SHA256, door->secret, sizeof door->secret, pass->session, strlen(pass->session),
                         mac) != 0)
        return cw_fail(err, CW_MEMORY, "the form's token could not be computed");
    to_hex(mac, sizeof mac, pass->token);
    return CW_OK;
}

static cw_status hash_session(const char *session, char hash[CW_SESSION_TEXT], cw_error *err)
{
    unsigned char bytes[HASH_BYTES];
    if (gnutls_hash_fast(GNUTLS_DIG_SHA256, session, strlen(session), bytes) != 0)
        return cw_fail(err, CW_MEMORY, "the session's hash could not be computed");
    to_hex(bytes, sizeof bytes, hash);
    return CW_OK;
}

static cw_kept_device *device_of(cw_door *door, const char *session)
{
    char hash[CW_SESSION_TEXT];
    cw_error ignored;
    if (session[0] == '\0' || hash_session(session, hash, &ignored) != CW_OK)
        return NULL;
    for (size_t i = 0; i < door->devices.count; i++)
        if (gnutls_memcmp(door->devices.items[i].hash, hash, sizeof hash) == 0)
            return &door->devices.items[i];
    return NULL;
}

static cw_status refuse(cw_door *door, cw_door_reason why, cw_door_reason *reason, const char *text, cw_error *err)
{
    door->counts[why]++;
    *reason = why;
    return cw_fail(err, CW_REFUSED, "%s", text);
}

static cw_status enter(cw_door *door, const cw_visit *visit, cw_pass *pass, cw_door_reason *reason, cw_error *err)
{
    if (!host_is_ours(door, visit))
        return refuse(door, CW_DOOR_HOST, reason,
                      "this address does not belong to this program; use the one it printed when it started", err);
    if (!site_is_ours(visit) || !origin_is_ours(door, visit))
        return refuse(door, CW_DOOR_ORIGIN, reason,
                      "a page of another site sent this request; nothing was done. Open the bench by its own address",
                      err);
    bool known = cookie_session(visit->cookie, pass->session);
    pass->laptop = visit->peer_loopback;
    pass->bounce = !known && !visit->writes && visit->fetch_site != NULL && is(visit->fetch_mode, "navigate") &&
                   !is(visit->fetch_site, "same-origin") && !is(visit->fetch_site, "none");
    cw_kept_device *device = pass->laptop || !known ? NULL : device_of(door, pass->session);
    pass->paired = device != NULL;
    if (device != NULL)
        device->seen_at = (int64_t)time(NULL);
    if (!pass->laptop && !pass->paired && !visit->open)
        return refuse(
            door, CW_DOOR_UNPAIRED, reason,
            "this device is not paired with the bench yet; scan the code that the laptop shows under \"Phone\"", err);
    if (visit->laptop_only && !pass->laptop)
        return refuse(door, CW_DOOR_LAPTOP, reason, "this page works on the laptop itself only", err);
    if (!known)
        CW_TRY(new_session(pass, err));
    return make_token(door, pass, err);
}

cw_status cw_door_enter(cw_door *door, const cw_visit *visit, cw_pass *pass, cw_door_reason *reason, cw_error *err)
{
    cw_pass made = {0};
    pthread_mutex_lock(&door->lock);
    cw_status status = enter(door, visit, &made, reason, err);
    pthread_mutex_unlock(&door->lock);
    if (status == CW_OK)
        *pass = made;
    return status;
}

cw_status cw_door_token(cw_door *door, const cw_pass *pass, const char *token, cw_error *err)
{
    if (token != NULL && strlen(token) == strlen(pass->token) &&
        gnutls_memcmp(token, pass->token, strlen(pass->token)) == 0)
        return CW_OK;
    cw_door_count(door, CW_DOOR_TOKEN);
    return cw_fail(err, CW_REFUSED,
                   "this form was made before the program was last started, or in another session; nothing was done. "
                   "What you typed is still here: look it over and send it again");
}

bool cw_door_code(cw_door *door, char code[CW_PAIR_CODE_TEXT], int64_t *left_s)
{
    if (!door->options.lan)
        return false;
    cw_error err;
    pthread_mutex_lock(&door->lock);
    bool have = true;
    if (clock_s(door) - door->code_made_s >= CW_PAIR_CODE_LIFE_S)
        have = make_code(door, &err) == CW_OK;
    memcpy(code, door->code, CW_PAIR_CODE_TEXT);
    *left_s = CW_PAIR_CODE_LIFE_S - (clock_s(door) - door->code_made_s);
    pthread_mutex_unlock(&door->lock);
    return have;
}

cw_status cw_door_new_code(cw_door *door, cw_error *err)
{
    pthread_mutex_lock(&door->lock);
    cw_status status = make_code(door, err);
    pthread_mutex_unlock(&door->lock);
    return status;
}

/* One try out of the bucket, which fills again with time. */
static bool take_try(cw_door *door)
{
    int64_t now = clock_s(door);
    door->tries_left += (double)(now - door->tries_at_s) / CW_PAIR_REFILL_S;
    if (door->tries_left > CW_PAIR_TRIES)
        door->tries_left = CW_PAIR_TRIES;
    door->tries_at_s = now;
    if (door->tries_left < 1)
        return false;
    door->tries_left -= 1;
    return true;
}

/* Capital letters without spaces, with the dash where it belongs. */
static void tidy_code(const char *typed, char out[CW_PAIR_CODE_TEXT])
{
    size_t written = 0;
    for (const char *c = typed; *c != '\0' && written < CW_PAIR_CODE_TEXT - 1; c++) {
        if (!isalnum((unsigned char)*c))
            continue;
        if (written == 4)
            out[written++] = '-';
        out[written++] = (char)toupper((unsigned char)*c);
    }
    out[written] = '\0';
}

static bool code_is_right(cw_door *door, const char *typed)
{
    char code[CW_PAIR_CODE_TEXT] = {0};
    tidy_code(typed, code);
    return clock_s(door) - door->code_made_s < CW_PAIR_CODE_LIFE_S && gnutls_memcmp(code, door->code, sizeof code) == 0;
}

static cw_status add_device(cw_door *door, const char *name, cw_pass *pass, cw_error *err)
{
    cw_kept_devices devices = door->devices;
    if (devices.count >= CW_DEVICES_MOST)
        return cw_fail(err, CW_REFUSED, "%d devices are paired already; end one of them on the laptop first",
                       CW_DEVICES_MOST);
    CW_TRY(new_session(pass, err));
    cw_kept_device *device = &devices.items[devices.count++];
    *device = (cw_kept_device){.id = ++devices.last_id, .paired_at = (int64_t)time(NULL)};
    device->seen_at = device->paired_at;
    snprintf(device->name, sizeof device->name, "%s", name == NULL || name[0] == '\0' ? "phone" : name);
    CW_TRY(hash_session(pass->session, device->hash, err));
    if (door->keep[0] != '\0')
        CW_TRY(cw_kept_save(door->keep, &devices, err));
    door->devices = devices;
    pass->paired = true;
    return make_token(door, pass, err);
}

static cw_status pair(cw_door *door, const char *code, const char *name, cw_pass *pass, cw_error *err)
{
    if (!door->options.lan)
        return cw_fail(err, CW_REFUSED, "this bench is open to the laptop only; start it with --lan to pair a phone");
    if (!take_try(door)) {
        door->counts[CW_DOOR_RATE]++;
        return cw_fail(err, CW_REFUSED, "too many tries; wait %d seconds and type the code again", CW_PAIR_REFILL_S);
    }
    if (!code_is_right(door, code)) {
        door->counts[CW_DOOR_CODE]++;
        if (++door->wrong >= CW_PAIR_WRONG_MOST)
            CW_TRY(make_code(door, err));
        return cw_fail(err, CW_REFUSED,
                       "that is not the code the laptop shows now; each code works once and for %d minutes",
                       CW_PAIR_CODE_LIFE_S / 60);
    }
    CW_TRY(add_device(door, name, pass, err));
    return make_code(door, err);
}

cw_status cw_door_pair(cw_door *door, const char *code, const char *name, cw_pass *pass, cw_error *err)
{
    cw_pass made = *pass;
    pthread_mutex_lock(&door->lock);
    cw_status status = pair(door, code, name, &made, err);
    pthread_mutex_unlock(&door->lock);
    if (status == CW_OK)
        *pass = made;
    return status;
}

static void write_time(int64_t at, char *out, size_t size)
{
    time_t seconds = (time_t)at;
    struct tm parts;
    if (localtime_r(&seconds, &parts) == NULL || strftime(out, size, "%Y-%m-%d %H:%M", &parts) == 0)
        snprintf(out, size, "not known");
}

size_t cw_door_devices(cw_door *door, const cw_pass *asking, cw_device devices[CW_DEVICES_MOST])
{
    pthread_mutex_lock(&door->lock);
    const cw_kept_device *own = asking->paired ? device_of(door, asking->session) : NULL;
    size_t count = door->devices.count;
    for (size_t i = 0; i < count; i++) {
        const cw_kept_device *from = &door->devices.items[i];
        devices[i] = (cw_device){.id = from->id, .current = from == own};
        snprintf(devices[i].name, sizeof devices[i].name, "%s", from->name);
        write_time(from->paired_at, devices[i].paired_at, sizeof devices[i].paired_at);
        write_time(from->seen_at, devices[i].seen_at, sizeof devices[i].seen_at);
    }
    pthread_mutex_unlock(&door->lock);
    return count;
}

static cw_status end_device(cw_door *door, int64_t id, cw_error *err)
{
    cw_kept_devices devices = {.last_id = door->devices.last_id};
    for (size_t i = 0; i < door->devices.count; i++)
        if (door->devices.items[i].id != id)
            devices.items[devices.count++] = door->devices.items[i];
    if (devices.count == door->devices.count)
        return cw_fail(err, CW_NOT_FOUND, "no paired device has the number %lld; it may have been ended already",
                       (long long)id);
    door->devices = devices; /* ended at once, even if the file cannot be written */
    return door->keep[0] == '\0' ? CW_OK : cw_kept_save(door->keep, &devices, err);
}

cw_status cw_door_end(cw_door *door, int64_t id, cw_error *err)
{
    pthread_mutex_lock(&door->lock);
    cw_status status = end_device(door, id, err);
    pthread_mutex_unlock(&door->lock);
    return status;
}

void cw_door_count(cw_door *door, cw_door_reason reason)
{
    pthread_mutex_lock(&door->lock);
    door->counts[reason]++;
    pthread_mutex_unlock(&door->lock);
}

void cw_door_counts(cw_door *door, uint64_t counts[CW_DOOR_REASONS])
{
    pthread_mutex_lock(&door->lock);
    memcpy(counts, door->counts, sizeof door->counts);
    pthread_mutex_unlock(&door->lock);
}

void cw_door_cookie(const cw_door *door, const cw_pass *pass, char *out, size_t size)
{
    /* 400 days is the longest a browser keeps one (RFC 6265bis). */
    snprintf(out, size, "cw_session=%s; Path=/; HttpOnly; SameSite=Strict; Max-Age=34560000%s", pass->session,
             door->options.tls ? "; Secure" : "");
}
