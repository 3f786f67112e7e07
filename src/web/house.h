/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What all pages share while the program serves: the door, the bench folder, and sentences to be told on the next page.
 */
#ifndef CW_WEB_HOUSE_H
#define CW_WEB_HOUSE_H

#include <pthread.h>

#include "web/door.h"

enum { CW_SAID_MOST = 32, CW_SAID_TEXT = 400 };

typedef struct cw_house cw_house;
struct cw_house {
    cw_door *door;
    struct cw_live *live; /* live.h */
    char folder[4096];
    bool lan, tls;
    uint16_t port;
    pthread_mutex_t lock; /* over what follows */
    size_t said_next;
    struct {
        char session[CW_SESSION_TEXT], text[CW_SAID_TEXT];
    } said[CW_SAID_MOST]; /* the oldest is overwritten */
};

/* Keeps a sentence for the session's next page. */
void cw_house_say(cw_house *house, const char *session, const char *text);
/* Takes it; false when there is none. */
bool cw_house_said(cw_house *house, const char *session, char text[CW_SAID_TEXT]);

/* "https://192.168.1.5:8017": where a device on the network reaches this machine, one line a network interface;
 * returns how many (at most `most`). */
size_t cw_house_addresses(const cw_house *house, char addresses[][CW_ADDRESS_TEXT], size_t most);

#endif
