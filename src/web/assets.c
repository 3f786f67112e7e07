/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/assets.h"

#include <pthread.h>
#include <string.h>

extern const char cw_asset_empty[], cw_asset_empty_end[], cw_asset_style[], cw_asset_style_end[], cw_asset_icon[],
    cw_asset_icon_end[], cw_asset_htmx[], cw_asset_htmx_end[], cw_asset_sse[], cw_asset_sse_end[], cw_asset_live[],
    cw_asset_live_end[], cw_asset_keys[], cw_asset_keys_end[];

typedef struct {
    const char *name, *type, *start, *end;
} asset;

static const asset assets[] = {
    {"style.css", "text/css; charset=utf-8", cw_asset_style, cw_asset_style_end},
    {"icon.svg", "image/svg+xml", cw_asset_icon, cw_asset_icon_end},
    {"empty.svg", "image/svg+xml", cw_asset_empty, cw_asset_empty_end},
    {"htmx.min.js", "text/javascript; charset=utf-8", cw_asset_htmx, cw_asset_htmx_end},
    {"keys.js", "text/javascript; charset=utf-8", cw_asset_keys, cw_asset_keys_end},
    {"live.js", "text/javascript; charset=utf-8", cw_asset_live, cw_asset_live_end},
    {"htmx-ext-sse.min.js", "text/javascript; charset=utf-8", cw_asset_sse, cw_asset_sse_end},
};

static char version[13];
static pthread_once_t version_once = PTHREAD_ONCE_INIT;

/* FNV-1a, 64 bit (draft-eastlake-fnv): tells one set of assets from another; nothing secret hangs on it. */
static void compute_version(void)
{
    uint64_t hash = 0xcbf29ce484222325ULL;
    for (size_t i = 0; i < CW_COUNT(assets); i++)
        for (const char *at = assets[i].start; at < assets[i].end; at++)
            hash = (hash ^ (unsigned char)*at) * 0x100000001b3ULL;
    snprintf(version, sizeof version, "%012llx", (unsigned long long)(hash >> 16));
}

const char *cw_assets_version(void)
{
    pthread_once(&version_once, compute_version);
    return version;
}

static void give(const asset *one, bool immutable, cw_reply *reply)
{
    reply->lasting = one->start;
    reply->length = (size_t)(one->end - one->start);
    reply->type = one->type;
    reply->immutable = immutable;
}

cw_status cw_get_asset(cw_request *request, cw_reply *reply, cw_error *err)
{
    for (size_t i = 0; i < CW_COUNT(assets); i++) {
        if (strcmp(assets[i].name, request->match.words[1]) != 0)
            continue;
        give(&assets[i], strcmp(request->match.words[0], cw_assets_version()) == 0, reply);
        return CW_OK;
    }
    return cw_fail(err, CW_NOT_FOUND, "there is no such style or script");
}

cw_status cw_get_favicon(cw_request *request, cw_reply *reply, cw_error *err)
{
    (void)request;
    (void)err;
    give(&assets[1], false, reply);
    return CW_OK;
}
