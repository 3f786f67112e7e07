/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The board against the circuit of docs/light-gate.md, typed in again here: what hangs together and what must not. */
#include "workshop/gate_board.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/check.h"

static const cw_gate_part *part(const char *name)
{
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(parts[i].name, name) == 0)
            return &parts[i];
    fail_msg("no part %s", name);
    return NULL;
}

/* "R5.2": pin 2 of R5; "PD4": a pad. */
static cw_gate_hole pin(const char *text)
{
    char name[32];
    const char *dot = strrchr(text, '.');
    size_t length = dot == NULL ? strlen(text) : (size_t)(dot - text), number = 1;
    snprintf(name, sizeof name, "%.*s", (int)length, text);
    if (dot != NULL)
        number = strtoul(dot + 1, NULL, 10);
    const cw_gate_part *found = part(name);
    assert_in_range(number, 1, found->pin_count);
    return found->holes[number - 1];
}

/* Comparator pins: 1 OUT B, 2 OUT A, 3 supply, 4/5 in A -/+, 6/7 in B -/+, 8/9 in C -/+, 12 ground, 14 OUT C. */
static const char *const nodes[][14] = {
    {"PD4", "U1.2", "R5.2", "R6.1"},
    {"PD5", "U1.1", "R10.2", "R11.1"},
    {"PD6", "U1.14", "R15.2", "R16.1"},
    {"A anode", "U1.4", "R2.1", "R3.1"},
    {"B anode", "U1.6", "R7.1", "R8.1"},
    {"C anode", "U1.8", "R12.1", "R13.1"},
    {"U1.5", "R4.1", "R5.1"},
    {"U1.7", "R9.1", "R10.1"},
    {"U1.9", "R14.1", "R15.1"},
    {"PC0", "R3.2"},
    {"PC1", "R8.2"},
    {"PC2", "R13.2"},
    {"PC3", "P1.2", "R4.2", "R9.2", "R14.2", "C1.1", "C2.1"},
    {"R1.2", "P1.3"},
    {"+5 V", "U1.3", "cathodes", "R1.1", "R6.2", "R11.2", "R16.2", "R17.2", "D1.2", "C3.1"},
    {"GND", "U1.12", "U1.10", "U1.11", "P1.1", "R2.2", "R7.2", "R12.2", "C1.2", "C2.2", "C3.2", "C4.2", "D2.1"},
    {"PD7", "R17.1", "R18.1", "C4.1", "D1.1", "D2.2"},
    {"contact", "R18.2"},
    {"PB1", "R19.1"},
    {"LED +", "R19.2"},
    {"U1.13"},
};

static void the_board_joins_what_the_circuit_joins(void **state)
{
    (void)state;
    cw_error err;
    assert_ok(cw_gate_check(&err), &err);
    for (size_t a = 0; a < CW_COUNT(nodes); a++)
        for (size_t i = 0; i < 14 && nodes[a][i] != NULL; i++)
            for (size_t b = 0; b < CW_COUNT(nodes); b++)
                for (size_t k = 0; k < 14 && nodes[b][k] != NULL; k++)
                    if (cw_gate_joined(pin(nodes[a][i]), pin(nodes[b][k])) != (a == b))
                        fail_msg("%s and %s are %sjoined", nodes[a][i], nodes[b][k], a == b ? "not " : "");
}

/* Every pin of every part stands in one of the nodes above. */
static void no_pin_is_forgotten(void **state)
{
    (void)state;
    size_t count;
    const cw_gate_part *parts = cw_gate_parts(&count);
    for (size_t p = 0; p < count; p++)
        for (size_t n = 0; n < parts[p].pin_count; n++) {
            bool found = false;
            for (size_t a = 0; a < CW_COUNT(nodes); a++)
                found = found || cw_gate_joined(parts[p].holes[n], pin(nodes[a][0]));
            if (!found)
                fail_msg("%s, pin %zu is in no node", parts[p].name, n + 1);
        }
}

static void strips_end_at_cuts_and_edges(void **state)
{
    (void)state;
    int first, last;
    cw_gate_stretch((cw_gate_hole){7, 2}, &first, &last);
    assert_int_equal(first, 0);
    assert_int_equal(last, CW_GATE_COLUMNS - 1);
    cw_gate_stretch((cw_gate_hole){7, 5}, &first, &last);
    assert_int_equal(last, 18);
    cw_gate_stretch((cw_gate_hole){25, 5}, &first, &last);
    assert_int_equal(first, 20);
}

CHECK_MAIN(cmocka_unit_test(the_board_joins_what_the_circuit_joins), cmocka_unit_test(no_pin_is_forgotten),
           cmocka_unit_test(strips_end_at_cuts_and_edges))
