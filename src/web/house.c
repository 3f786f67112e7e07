/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "web/house.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>

void cw_house_say(cw_house *house, const char *session, const char *text)
{
    pthread_mutex_lock(&house->lock);
    size_t place = house->said_next++ % CW_SAID_MOST;
    snprintf(house->said[place].session, sizeof house->said[place].session, "%s", session);
    snprintf(house->said[place].text, sizeof house->said[place].text, "%s", text);
    pthread_mutex_unlock(&house->lock);
}

bool cw_house_said(cw_house *house, const char *session, char text[CW_SAID_TEXT])
{
    bool found = false;
    pthread_mutex_lock(&house->lock);
    for (size_t i = 0; i < CW_SAID_MOST && !found; i++) {
        if (house->said[i].session[0] == '\0' || strcmp(house->said[i].session, session) != 0)
            continue;
        memcpy(text, house->said[i].text, CW_SAID_TEXT);
        house->said[i].session[0] = '\0';
        found = true;
    }
    pthread_mutex_unlock(&house->lock);
    return found;
}

size_t cw_house_addresses(const cw_house *house, char addresses[][CW_ADDRESS_TEXT], size_t most)
{
    struct ifaddrs *all = NULL;
    size_t count = 0;
    if (getifaddrs(&all) != 0)
        return 0;
    for (const struct ifaddrs *one = all; one != NULL && count < most; one = one->ifa_next) {
        if (one->ifa_addr == NULL || one->ifa_addr->sa_family != AF_INET || (one->ifa_flags & IFF_LOOPBACK) != 0 ||
            (one->ifa_flags & IFF_UP) == 0)
            continue;
        struct sockaddr_in address;
        memcpy(&address, one->ifa_addr, sizeof address);
        char text[INET_ADDRSTRLEN];
        if (inet_ntop(AF_INET, &address.sin_addr, text, sizeof text) == NULL)
            continue;
        snprintf(addresses[count++], CW_ADDRESS_TEXT, "%s://%s:%u", house->tls ? "https" : "http", text,
                 (unsigned)house->port);
    }
    freeifaddrs(all);
    return count;
}
