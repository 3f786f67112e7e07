/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A light gate without hardware: the firmware in the AVR simulator at real speed, its serial line on a pseudo terminal
 * that any program opens as if it were the gate's port. For tests of the live bench, and to try it without a gate. */
#include "gate.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

static const char usage[] =
    "gate-on-a-pty [--pol 0|1] [--ppm N] [--tell 0|1] [--edges FILE]\n"
    "  The firmware is the file named by CW_GATE_ELF. Prints \"port /dev/pts/N\" and runs until standard input ends "
    "or\n"
    "  says quit. --ppm: how much faster than true the gate's crystal runs. --edges: lines \"seconds A|B|C|X 1|0\" as\n"
    "  camerawright-sim writes them, 1 = light or contact closed, played from the first command the gate receives.\n"
    "On standard input, a line each:\n"
    "  fire EXPOSURE_S [TRAVEL_S]  a focal-plane shot, sensors at 1/9, 1/2 and 8/9 of the travel (0.014 s)\n"
    "  leaf EXPOSURE_S             a leaf shutter, all sensors within 0.1 ms\n"
    "  flicker SECONDS             light going on and off every 0.5 ms on all sensors\n"
    "  edge A|B|C|X 1|0            one change\n"
    "  drop N                      the next N bytes never arrive\n"
    "  mute, unmute                nothing arrives / again\n"
    "  garbage                     32 bytes of noise in the line\n"
    "  reset                       the gate restarts\n"
    "  unplug, plug                the port goes away / comes back, perhaps under another name\n"
    "  quit\n"
    "With --tell 1, every fire and leaf prints \"dark UNIX_SECONDS\": when the last sensor goes dark.\n";

typedef struct {
    gate *g;
    unsigned pol;
    double speed; /* gate cycles a true second */
    int master, slave;
    uint64_t cycle_then;
    struct timespec then;
    size_t to_drop;
    bool mute, heard;
    gate_edge *script;
    size_t script_count;
    uint64_t last_edge;
    bool tell;
} bridge;

static double since(const struct timespec *then)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)(now.tv_sec - then->tv_sec) + 1e-9 * (double)(now.tv_nsec - then->tv_nsec);
}

static bool plug(bridge *b)
{
    char name[64];
    struct termios raw;
    if (openpty(&b->master, &b->slave, name, NULL, NULL) != 0 || tcgetattr(b->slave, &raw) != 0)
        return false;
    cfmakeraw(&raw);
    if (tcsetattr(b->slave, TCSANOW, &raw) != 0 || fcntl(b->master, F_SETFL, O_NONBLOCK) != 0)
        return false;
    printf("port %s\n", name);
    return fflush(stdout) == 0;
}

static void unplug(bridge *b)
{
    if (b->master < 0)
        return;
    close(b->master);
    close(b->slave);
    b->master = b->slave = -1;
}

static void start(bridge *b)
{
    gate_free(b->g);
    b->g = gate_new(b->pol, b->pol ? 8 : 15, true); /* dark, contact open */
    b->cycle_then = gate_cycle(b->g);
    b->last_edge = 0;
    clock_gettime(CLOCK_MONOTONIC, &b->then);
}

/* The pin's level for light, or for a closed contact, which pulls to ground whatever the strap says. */
static uint8_t level_of(const bridge *b, unsigned pin, bool on)
{
    return pin == 3 ? !on : on == (b->pol == 1);
}

static int by_cycle(const void *a, const void *b)
{
    const gate_edge *x = a, *y = b;
    return x->cycle < y->cycle ? -1 : x->cycle > y->cycle;
}

/* Edges with cycles counted from a moment 20 ms from now, or after the last ones that are still to come. */
static void play(bridge *b, gate_edge *edges, size_t count)
{
    uint64_t from = gate_cycle(b->g) + GATE_HZ / 50;
    if (from < b->last_edge)
        from = b->last_edge + GATE_HZ / 50;
    qsort(edges, count, sizeof *edges, by_cycle);
    for (size_t i = 0; i < count; i++)
        edges[i].cycle += from;
    gate_add(b->g, edges, count);
    b->last_edge = edges[count - 1].cycle;
}

/* The simulator follows the true clock, so an edge happens when its cycle's time has come. */
static void tell_dark(const bridge *b, const gate_edge *edges, size_t count)
{
    uint64_t last = 0;
    struct timespec now;
    for (size_t i = 0; i < count; i++)
        if (edges[i].pin < 3 && edges[i].cycle > last)
            last = edges[i].cycle;
    clock_gettime(CLOCK_REALTIME, &now);
    double at_s = (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
    double ahead_s = (double)(last - b->cycle_then) / b->speed - since(&b->then);
    if (b->tell)
        printf("dark %.4f\n", at_s + ahead_s);
    fflush(stdout);
}

static gate_edge edge_at(const bridge *b, double at_s, unsigned pin, bool on)
{
    return (gate_edge){(uint64_t)(at_s * b->speed + 0.5), (uint8_t)pin, level_of(b, pin, on)};
}

static void fire(bridge *b, double exposure_s, double travel_s)
{
    static const double places[] = {1 / 9.0, 0.5, 8 / 9.0};
    gate_edge edges[8];
    for (unsigned i = 0; i < 3; i++) {
        edges[2 * i] = edge_at(b, places[i] * travel_s, i, true);
        edges[2 * i + 1] = edge_at(b, places[i] * travel_s + exposure_s, i, false);
    }
    edges[6] = edge_at(b, travel_s + 0.3e-3, 3, true);
    edges[7] = edge_at(b, travel_s + 20.3e-3, 3, false);
    play(b, edges, 8);
    tell_dark(b, edges, 8);
}

static void leaf(bridge *b, double exposure_s)
{
    gate_edge edges[6];
    for (unsigned i = 0; i < 3; i++) {
        edges[2 * i] = edge_at(b, 50e-6 * i, i, true);
        edges[2 * i + 1] = edge_at(b, 50e-6 * i + exposure_s, i, false);
    }
    play(b, edges, 6);
    tell_dark(b, edges, 6);
}

static void flicker(bridge *b, double seconds)
{
    for (double at_s = 0; at_s < seconds; at_s += 1e-3) {
        gate_edge edges[6];
        for (unsigned i = 0; i < 6; i++)
            edges[i] = edge_at(b, i / 3 * 0.5e-3, i % 3, i < 3);
        uint64_t base = gate_cycle(b->g) + GATE_HZ / 50 + (uint64_t)(at_s * b->speed);
        for (unsigned i = 0; i < 6; i++)
            edges[i].cycle += base;
        gate_add(b->g, edges, 6);
        b->last_edge = edges[5].cycle;
    }
}

static void hand_over(bridge *b, const char *bytes, size_t count)
{
    size_t dropped = count < b->to_drop ? count : b->to_drop;
    b->to_drop -= dropped;
    if (b->mute || b->master < 0 || count == dropped)
        return;
    ssize_t written = write(b->master, bytes + dropped, count - dropped);
    if (written != (ssize_t)(count - dropped))
        fprintf(stderr, "gate-on-a-pty: nobody reads the port, %zu bytes lost\n",
                count - dropped - (written > 0 ? (size_t)written : 0));
}

static void garbage(bridge *b)
{
    char bytes[32];
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (char)(i * 89 + 7);
    hand_over(b, bytes, sizeof bytes);
}

static bool one_edge(bridge *b, char channel, int on)
{
    const char *at = channel != '\0' ? strchr("ABCX", channel) : NULL;
    if (at == NULL || (on != 0 && on != 1))
        return false;
    gate_edge edge = edge_at(b, 0, (unsigned)(at - "ABCX"), on);
    play(b, &edge, 1);
    return true;
}

/* False on quit. */
static bool obey(bridge *b, const char *line)
{
    double first = 0, second = 0.014;
    char channel = 0;
    int on = -1;
    if (strncmp(line, "quit", 4) == 0)
        return false;
    if (sscanf(line, "fire %lf %lf", &first, &second) >= 1 && first > 0 && first < 100 && second > 0 && second < 1)
        fire(b, first, second);
    else if (sscanf(line, "leaf %lf", &first) == 1 && first > 0.2e-3 && first < 100)
        leaf(b, first);
    else if (sscanf(line, "flicker %lf", &first) == 1 && first > 0 && first < 60)
        flicker(b, first);
    else if (sscanf(line, "edge %c %d", &channel, &on) == 2 && one_edge(b, channel, on))
        return true;
    else if (sscanf(line, "drop %lf", &first) == 1 && first >= 1 && first < 1e6)
        b->to_drop = (size_t)first;
    else if (strncmp(line, "mute", 4) == 0 || strncmp(line, "unmute", 6) == 0)
        b->mute = line[0] == 'm';
    else if (strncmp(line, "garbage", 7) == 0)
        garbage(b);
    else if (strncmp(line, "reset", 5) == 0)
        start(b);
    else if (strncmp(line, "unplug", 6) == 0)
        unplug(b);
    else if (strncmp(line, "plug", 4) == 0 && b->master < 0)
        return plug(b);
    else
        fprintf(stderr, "gate-on-a-pty: not understood: %s", line);
    return true;
}

static bool load_script(bridge *b, const char *path)
{
    FILE *file = fopen(path, "r");
    if (file == NULL)
        return false;
    double at_s;
    char channel;
    int on;
    while (fscanf(file, "%lf %c %d", &at_s, &channel, &on) == 3) {
        const char *at = channel != '\0' ? strchr("ABCX", channel) : NULL;
        gate_edge *more = realloc(b->script, (b->script_count + 1) * sizeof *more);
        if (at == NULL || more == NULL) {
            fclose(file);
            return false;
        }
        b->script = more;
        b->script[b->script_count++] = edge_at(b, at_s, (unsigned)(at - "ABCX"), on == 1);
    }
    bool whole = feof(file) && b->script_count > 0;
    fclose(file);
    return whole;
}

/* What the host sent, at most as much as fits into the simulated receiver. */
static void listen_to_host(bridge *b)
{
    char bytes[17];
    ssize_t count = b->master >= 0 ? read(b->master, bytes, sizeof bytes - 1) : 0;
    if (count <= 0)
        return;
    bytes[count] = '\0';
    if (strlen(bytes) == (size_t)count) /* a zero byte is noise on the line; the gate would call it garbled */
        gate_send(b->g, bytes);
    if (!b->heard && b->script_count > 0)
        play(b, b->script, b->script_count);
    b->heard = true;
}

static int run(bridge *b)
{
    char line[200];
    for (;;) {
        struct pollfd wait[2] = {{.fd = STDIN_FILENO, .events = POLLIN}, {.fd = b->master, .events = POLLIN}};
        poll(wait, b->master >= 0 ? 2 : 1, 1);
        if (wait[0].revents != 0 && (fgets(line, sizeof line, stdin) == NULL || !obey(b, line)))
            return 0;
        listen_to_host(b);
        gate_run(b->g, b->cycle_then + (uint64_t)(since(&b->then) * b->speed));
        const char *bytes;
        size_t count = gate_take(b->g, &bytes);
        if (count > 0)
            hand_over(b, bytes, count);
    }
}

int main(int argc, char **argv)
{
    bridge b = {.pol = 1, .speed = GATE_HZ, .master = -1, .slave = -1};
    const char *script = NULL;
    for (int i = 1; i < argc; i += 2) {
        char *rest = argv[i];
        const char *value = i + 1 < argc ? argv[i + 1] : NULL;
        double number = value != NULL ? strtod(value, &rest) : 0;
        bool is_number = value != NULL && rest != value && *rest == '\0';
        if (is_number && strcmp(argv[i], "--pol") == 0 && (number == 0 || number == 1))
            b.pol = (unsigned)number;
        else if (is_number && strcmp(argv[i], "--ppm") == 0 && number > -1e5 && number < 1e5)
            b.speed = GATE_HZ * (1 + 1e-6 * number);
        else if (is_number && strcmp(argv[i], "--tell") == 0 && (number == 0 || number == 1))
            b.tell = number == 1;
        else if (value != NULL && strcmp(argv[i], "--edges") == 0)
            script = value;
        else {
            fputs(usage, stderr);
            return 2;
        }
    }
    if (getenv("CW_GATE_ELF") == NULL) {
        fprintf(stderr, "gate-on-a-pty: CW_GATE_ELF names no firmware; it is light-gate.elf of the build folder\n");
        return 2;
    }
    if (script != NULL && !load_script(&b, script)) {
        fprintf(stderr, "gate-on-a-pty: %s holds no edges, or a line other than \"seconds A|B|C|X 1|0\"\n", script);
        free(b.script);
        return 2;
    }
    setvbuf(stdin, NULL, _IONBF, 0); /* so that poll sees every line that is there */
    start(&b);
    if (!plug(&b)) {
        fprintf(stderr, "gate-on-a-pty: no pseudo terminal: %s\n", strerror(errno));
        return 3;
    }
    int status = run(&b);
    unplug(&b);
    gate_free(b.g);
    free(b.script);
    return status;
}
