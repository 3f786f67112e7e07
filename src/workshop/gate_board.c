/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop/gate_board.h"

#include <string.h>

/* Rows 4 to 10 are cut under the comparator: left of it and right of it they are different strips. */
enum {
    V5 = 0,
    GND = 1,
    REF = 2,
    TOP = 3,
    CAL = 14,
    LED = 15,
    XC = 16,
    XIN = 17,
    V5B = 18,
    GNDB = 19,
    LEFT = 18,
    RIGHT = 21
};

#define TWO(k, n, v, c0, r0, net0, c1, r1, net1)                                                                       \
    {                                                                                                                  \
        .kind = k, .name = n, .value = v, .pin_count = 2, .holes = {{c0, r0}, {c1, r1}}, .nets = { net0, net1 }        \
    }
#define UP(k, n, v, c, r0, net0, r1, net1) TWO(k, n, v, c, r0, net0, c, r1, net1)
#define PAD(n, c, r, net)                                                                                              \
    {                                                                                                                  \
        .kind = CW_GATE_PAD, .name = n, .value = "", .pin_count = 1, .holes = {{c, r}}, .nets = { net }                \
    }

static const cw_gate_part parts[] = {
    /* four comparators in one package, seen from above; the usual pins of such a package, from memory */
    {.kind = CW_GATE_COMPARATOR,
     .name = "U1",
     .value = "4 comparators, open collector",
     .pin_count = 14,
     .holes = {{LEFT, 4},
               {LEFT, 5},
               {LEFT, 6},
               {LEFT, 7},
               {LEFT, 8},
               {LEFT, 9},
               {LEFT, 10},
               {RIGHT, 10},
               {RIGHT, 9},
               {RIGHT, 8},
               {RIGHT, 7},
               {RIGHT, 6},
               {RIGHT, 5},
               {RIGHT, 4}},
     .nets = {"PD5", "PD4", "+5V", "SA", "TA", "SB", "TB", "SC", "TC", "GND", "GND", "GND", "", "PD6"}},
    /* threshold */
    UP(CW_GATE_RESISTOR, "R1", "47k", 2, V5, "+5V", TOP, "TOP"),
    {.kind = CW_GATE_TRIMMER,
     .name = "P1",
     .value = "10k",
     .pin_count = 3,
     .holes = {{4, GND}, {4, REF}, {4, TOP}},
     .nets = {"GND", "REF", "TOP"}},
    UP(CW_GATE_CAPACITOR, "C1", "100n", 6, REF, "REF", GND, "GND"),
    UP(CW_GATE_POLAR, "C2", "10u", 8, REF, "REF", GND, "GND"),
    UP(CW_GATE_CAPACITOR, "C3", "100n", 17, V5, "+5V", GND, "GND"),
    /* channel A */
    UP(CW_GATE_RESISTOR, "R2", "100k", 12, 7, "SA", GND, "GND"),
    UP(CW_GATE_RESISTOR, "R3", "10k", 3, 7, "SA", 11, "PC0"),
    UP(CW_GATE_RESISTOR, "R4", "10k", 14, 8, "TA", REF, "REF"),
    UP(CW_GATE_RESISTOR, "R5", "1M", 7, 8, "TA", 5, "PD4"),
    UP(CW_GATE_RESISTOR, "R6", "4k7", 10, 5, "PD4", V5, "+5V"),
    /* channel B */
    UP(CW_GATE_RESISTOR, "R7", "100k", 13, 9, "SB", GND, "GND"),
    UP(CW_GATE_RESISTOR, "R8", "10k", 5, 9, "SB", 12, "PC1"),
    UP(CW_GATE_RESISTOR, "R9", "10k", 15, 10, "TB", REF, "REF"),
    UP(CW_GATE_RESISTOR, "R10", "1M", 9, 10, "TB", 4, "PD5"),
    UP(CW_GATE_RESISTOR, "R11", "4k7", 11, 4, "PD5", V5, "+5V"),
    /* channel C, right of the comparator */
    UP(CW_GATE_RESISTOR, "R12", "100k", 28, 10, "SC", GND, "GND"),
    UP(CW_GATE_RESISTOR, "R13", "10k", 25, 10, "SC", 13, "PC2"),
    UP(CW_GATE_RESISTOR, "R14", "10k", 27, 9, "TC", REF, "REF"),
    UP(CW_GATE_RESISTOR, "R15", "1M", 26, 9, "TC", 4, "PD6"),
    UP(CW_GATE_RESISTOR, "R16", "4k7", 25, 4, "PD6", V5, "+5V"),
    /* flash contact */
    UP(CW_GATE_RESISTOR, "R17", "4k7", 11, XIN, "PD7", V5B, "+5V"),
    UP(CW_GATE_RESISTOR, "R18", "1k", 7, XIN, "PD7", XC, "X"),
    UP(CW_GATE_CAPACITOR, "C4", "1n", 15, XIN, "PD7", GNDB, "GND"),
    UP(CW_GATE_DIODE, "D1", "signal", 19, XIN, "PD7", V5B, "+5V"),
    UP(CW_GATE_DIODE, "D2", "signal", 23, GNDB, "GND", XIN, "PD7"),
    /* lamp */
    UP(CW_GATE_RESISTOR, "R19", "330", 3, CAL, "PB1", LED, "LED"),
    /* wires */
    UP(CW_GATE_WIRE, "W1", "", 16, 6, "+5V", V5, "+5V"),
    UP(CW_GATE_WIRE, "W2", "", 22, 6, "GND", GND, "GND"),
    UP(CW_GATE_WIRE, "W3", "", 23, 7, "GND", 6, "GND"),
    UP(CW_GATE_WIRE, "W4", "", 24, 8, "GND", 7, "GND"),
    UP(CW_GATE_WIRE, "W5", "", 30, V5, "+5V", V5B, "+5V"),
    UP(CW_GATE_WIRE, "W6", "", 31, GND, "GND", GNDB, "GND"),
    /* off the board */
    PAD("+5 V", 0, V5, "+5V"),
    PAD("GND", 0, GND, "GND"),
    PAD("PC3", 0, REF, "REF"),
    PAD("PD5", 0, 4, "PD5"),
    PAD("PD4", 0, 5, "PD4"),
    PAD("A anode", 0, 7, "SA"),
    PAD("B anode", 0, 9, "SB"),
    PAD("PC0", 0, 11, "PC0"),
    PAD("PC1", 0, 12, "PC1"),
    PAD("PC2", 0, 13, "PC2"),
    PAD("PB1", 0, CAL, "PB1"),
    PAD("LED +", 0, LED, "LED"),
    PAD("contact", 0, XC, "X"),
    PAD("PD7", 0, XIN, "PD7"),
    PAD("cathodes", 0, V5B, "+5V"),
    PAD("contact, LED \u2212", 0, GNDB, "GND"),
    PAD("PD6", 32, 4, "PD6"),
    PAD("C anode", 32, 10, "SC"),
};

static const cw_gate_hole cuts[] = {{19, 4}, {19, 5}, {19, 6}, {19, 7}, {19, 8}, {19, 9}, {19, 10}};

const cw_gate_part *cw_gate_parts(size_t *count)
{
    *count = CW_COUNT(parts);
    return parts;
}

const cw_gate_hole *cw_gate_cuts(size_t *count)
{
    *count = CW_COUNT(cuts);
    return cuts;
}

static bool is_cut(int column, int row)
{
    for (size_t i = 0; i < CW_COUNT(cuts); i++)
        if (cuts[i].column == column && cuts[i].row == row)
            return true;
    return false;
}

void cw_gate_stretch(cw_gate_hole hole, int *first, int *last)
{
    *first = *last = hole.column;
    while (*first > 0 && !is_cut(*first - 1, hole.row))
        --*first;
    while (*last + 1 < CW_GATE_COLUMNS && !is_cut(*last + 1, hole.row))
        ++*last;
}

/* ---- what is joined ---- */

enum { HOLES = CW_GATE_COLUMNS * CW_GATE_ROWS };

static int index_of(cw_gate_hole hole)
{
    return hole.row * CW_GATE_COLUMNS + hole.column;
}

/* Every hole gets the number of the first hole it is joined to. */
static void join_all(int group[HOLES])
{
    for (int i = 0; i < HOLES; i++) {
        int first, last;
        cw_gate_stretch((cw_gate_hole){i % CW_GATE_COLUMNS, i / CW_GATE_COLUMNS}, &first, &last);
        group[i] = i - i % CW_GATE_COLUMNS + first;
    }
    for (size_t p = 0; p < CW_COUNT(parts); p++) {
        if (parts[p].kind != CW_GATE_WIRE)
            continue;
        int keep = group[index_of(parts[p].holes[0])], drop = group[index_of(parts[p].holes[1])];
        for (int i = 0; i < HOLES; i++)
            if (group[i] == drop)
                group[i] = keep;
    }
}

bool cw_gate_joined(cw_gate_hole a, cw_gate_hole b)
{
    int group[HOLES];
    join_all(group);
    return group[index_of(a)] == group[index_of(b)];
}

static cw_status check_holes(cw_error *err)
{
    const char *taken[HOLES] = {0};
    for (size_t p = 0; p < CW_COUNT(parts); p++)
        for (size_t k = 0; k < parts[p].pin_count; k++) {
            cw_gate_hole hole = parts[p].holes[k];
            if (hole.column < 0 || hole.column >= CW_GATE_COLUMNS || hole.row < 0 || hole.row >= CW_GATE_ROWS ||
                is_cut(hole.column, hole.row))
                return cw_fail(err, CW_RANGE, "%s, pin %zu, has no strip under it at column %d, row %d", parts[p].name,
                               k + 1, hole.column, hole.row);
            if (taken[index_of(hole)] != NULL)
                return cw_fail(err, CW_RANGE, "%s and %s share the hole at column %d, row %d", parts[p].name,
                               taken[index_of(hole)], hole.column, hole.row);
            taken[index_of(hole)] = parts[p].name;
        }
    return CW_OK;
}

static cw_status check_pair(const int *group, const cw_gate_part *a, size_t i, const cw_gate_part *b, size_t k,
                            cw_error *err)
{
    bool joined = group[index_of(a->holes[i])] == group[index_of(b->holes[k])],
         wanted = strcmp(a->nets[i], b->nets[k]) == 0 && a->nets[i][0] != '\0';
    if (joined == wanted || (a == b && i == k))
        return CW_OK;
    return cw_fail(err, CW_RANGE, "%s, pin %zu (%s) and %s, pin %zu (%s) are %s", a->name, i + 1, a->nets[i], b->name,
                   k + 1, b->nets[k], joined ? "joined, which they must not be" : "not joined");
}

cw_status cw_gate_check(cw_error *err)
{
    int group[HOLES];
    CW_TRY(check_holes(err));
    join_all(group);
    for (size_t p = 0; p < CW_COUNT(parts); p++)
        for (size_t i = 0; i < parts[p].pin_count; i++)
            for (size_t q = p; q < CW_COUNT(parts); q++)
                for (size_t k = 0; k < parts[q].pin_count; k++)
                    CW_TRY(check_pair(group, &parts[p], i, &parts[q], k, err));
    return CW_OK;
}
