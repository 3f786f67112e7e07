/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "gate.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "support/check.h"

#include <avr_adc.h>
#include <avr_ioport.h>
#include <avr_timer.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_elf.h>
#include <sim_interrupts.h>
#include <sim_io.h>

enum {
    GPIOR0 = 0x3e, /* data addresses of the ATmega328P */
    TIFR1 = 0x36,
    PCIFR = 0x3b,
    UCSR0A = 0xc0,
    VECTOR_PCINT2 = 5,
    IDLE = 1, /* firmware/light-gate/gate.c */
    SILENT = 2
};

struct gate {
    avr_t *avr;
    avr_irq_t *pins[GATE_PINS], *uart_in;
    const avr_timer_t *timer1;
    bool fast;
    check_random random;
    gate_edge *edges;
    size_t edge_count, edge_capacity, next_edge;
    bool edges_armed;
    uint64_t quiet_from; /* no skipping before this cycle */
    char *out;
    uint64_t *out_cycles;
    size_t out_count, out_capacity, line_start, taken;
    char in[256];
    size_t in_count, in_next;
    int loop_pin;
    unsigned loop_rise, loop_fall;
    uint64_t lamp[1024];
    size_t lamp_count;
    uint64_t overflow_since, worst_overflow, epoch;
};

static avr_cycle_count_t fire_edges(avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)when;
    gate *g = param;
    while (g->next_edge < g->edge_count && g->edges[g->next_edge].cycle <= avr->cycle) {
        const gate_edge *edge = &g->edges[g->next_edge++];
        avr_raise_irq(g->pins[edge->pin], edge->level);
    }
    g->quiet_from = avr->cycle + 200;
    g->edges_armed = g->next_edge < g->edge_count;
    return g->edges_armed ? g->edges[g->next_edge].cycle : 0;
}

static void arm_edges(gate *g)
{
    if (g->edges_armed || g->next_edge == g->edge_count)
        return;
    uint64_t at = g->edges[g->next_edge].cycle;
    avr_cycle_timer_register(g->avr, at > g->avr->cycle ? at - g->avr->cycle : 1, fire_edges, g);
    g->edges_armed = true;
}

static void byte_out(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    gate *g = param;
    if (g->out_count == g->out_capacity) {
        g->out_capacity = g->out_capacity > 0 ? 2 * g->out_capacity : 65536;
        g->out = realloc(g->out, g->out_capacity);
        g->out_cycles = realloc(g->out_cycles, g->out_capacity * sizeof *g->out_cycles);
        assert_non_null(g->out);
        assert_non_null(g->out_cycles);
    }
    g->out_cycles[g->out_count] = g->avr->cycle;
    g->out[g->out_count++] = (char)value;
}

/* Raised again and again while the simulated receiver has room: one byte each time. */
static void byte_in(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    (void)value;
    gate *g = param;
    if (g->in_next < g->in_count) {
        avr_raise_irq(g->uart_in, (uint8_t)g->in[g->in_next++]);
        g->quiet_from = g->avr->cycle + 4000;
    }
}

/* On the part a flag of PCIFR is cleared by writing a one; this simulator would only store the write, and the
 * firmware's look at the flag would never find it clear. */
static void pcifr_write(avr_t *avr, avr_io_addr_t addr, uint8_t value, void *param)
{
    (void)param;
    for (int i = 0; i < avr->interrupts.vector_count; i++) {
        avr_int_vector_t *vector = avr->interrupts.vector[i];
        if (vector->raised.reg == addr && (value >> vector->raised.bit & 1))
            avr_clear_interrupt(avr, vector);
    }
}

/* Entering a vector costs 4 cycles on the part (data sheet) and none here. */
static void vector_entered(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    gate *g = param;
    if (value)
        g->avr->cycle += 4;
}

static void lamp_changed(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq;
    gate *g = param;
    bool on = value & 1;
    if (on == (g->lamp_count % 2 == 1) || g->lamp_count == sizeof g->lamp / sizeof g->lamp[0])
        return;
    g->lamp[g->lamp_count++] = g->avr->cycle;
    if (g->loop_pin < 0)
        return;
    gate_edge edge = {g->avr->cycle + (on ? g->loop_rise : g->loop_fall), (uint8_t)g->loop_pin, on};
    gate_add(g, &edge, 1);
}

static void no_sleep(avr_t *avr, avr_cycle_count_t how_long)
{
    (void)avr;
    (void)how_long;
}

static void find_timer1(gate *g)
{
    for (avr_io_t *io = g->avr->io_port; io != NULL; io = io->next)
        if (io->kind != NULL && strcmp(io->kind, "timer") == 0 && ((avr_timer_t *)io)->name == '1')
            g->timer1 = (avr_timer_t *)io;
    assert_non_null(g->timer1);
}

static void wire(gate *g)
{
    avr_t *avr = g->avr;
    for (unsigned i = 0; i < GATE_PINS; i++)
        g->pins[i] = avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('D'), (int)(4 + i));
    uint32_t flags = 0;
    avr_ioctl(avr, AVR_IOCTL_UART_SET_FLAGS('0'), &flags);
    g->uart_in = avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), byte_out, g);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUT_XON), byte_in, g);
    avr_irq_register_notify(avr_io_getirq(avr, AVR_IOCTL_IOPORT_GETIRQ('B'), 1), lamp_changed, g);
    avr_irq_register_notify(avr_get_interrupt_irq(avr, VECTOR_PCINT2) + AVR_INT_IRQ_RUNNING, vector_entered, g);
    avr_register_io_write(avr, PCIFR, pcifr_write, NULL);
    find_timer1(g);
}

/* The library tells standard output what it loaded; that belongs to the caller. */
static bool read_quietly(const char *path, elf_firmware_t *firmware)
{
    fflush(stdout);
    int kept = dup(STDOUT_FILENO), nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    assert_true(kept >= 0 && nowhere >= 0 && dup2(nowhere, STDOUT_FILENO) >= 0);
    int status = elf_read_firmware(path, firmware);
    fflush(stdout);
    assert_true(dup2(kept, STDOUT_FILENO) >= 0);
    close(kept);
    close(nowhere);
    return status == 0;
}

gate *gate_new(unsigned pol, unsigned pins, bool fast)
{
    gate *g = calloc(1, sizeof *g);
    assert_non_null(g);
    const char *path = getenv("CW_GATE_ELF");
    elf_firmware_t firmware = {0};
    if (path == NULL || !read_quietly(path, &firmware)) {
        print_error("no firmware at CW_GATE_ELF = %s\n", path != NULL ? path : "(not set)");
        fail();
    }
    g->avr = avr_make_mcu_by_name("atmega328p");
    assert_non_null(g->avr);
    avr_init(g->avr);
    g->avr->log = LOG_ERROR;
    g->avr->frequency = GATE_HZ;
    g->avr->vcc = g->avr->avcc = g->avr->aref = 5000;
    avr_load_firmware(g->avr, &firmware);
    g->avr->sleep = no_sleep;
    g->fast = fast;
    g->random.state = 20;
    g->loop_pin = -1;
    wire(g);
    /* What stands at the pins from outside, stronger than the firmware's pull-ups. */
    avr_ioport_external_t sensors = {.name = 'D', .mask = 0xf0, .value = pins << 4 & 0xf0};
    avr_ioport_external_t strap = {.name = 'B', .mask = 1, .value = pol == 0};
    avr_ioctl(g->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), &sensors);
    avr_ioctl(g->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('B'), &strap);
    gate_run(g, 80000);
    /* The base moves by whole turns; the timer was started within the first. */
    g->epoch = g->timer1->tov_base % 65536;
    return g;
}

void gate_free(gate *g)
{
    if (g == NULL)
        return;
    avr_terminate(g->avr);
    free(g->avr);
    free(g->edges);
    free(g->out);
    free(g->out_cycles);
    free(g);
}

uint64_t gate_cycle(const gate *g)
{
    return g->avr->cycle;
}

uint64_t gate_epoch(const gate *g)
{
    return g->epoch;
}

void gate_add(gate *g, const gate_edge *edges, size_t count)
{
    while (g->edge_count + count > g->edge_capacity) {
        g->edge_capacity = g->edge_capacity > 0 ? 2 * g->edge_capacity : 1024;
        g->edges = realloc(g->edges, g->edge_capacity * sizeof *g->edges);
        assert_non_null(g->edges);
    }
    for (size_t i = 0; i < count; i++) {
        assert_true(g->edge_count == 0 || edges[i].cycle >= g->edges[g->edge_count - 1].cycle);
        g->edges[g->edge_count++] = edges[i];
    }
    arm_edges(g);
}

/* Nothing can happen before the next timer of the simulator: skip to a little before it, by a random amount so that the
 * firmware's loop does not fall into step with the edges. */
static void jump(gate *g, uint64_t until)
{
    avr_t *avr = g->avr;
    uint8_t state = avr->data[GPIOR0];
    bool waits = state == (IDLE | SILENT) || (state == IDLE && !(avr->data[UCSR0A] & 0x20));
    if (!waits || (avr->data[TIFR1] & 1) || !avr->sreg[S_I] || avr->interrupt_state != 0 ||
        avr->cycle < g->quiet_from || g->in_next < g->in_count || (avr->data[UCSR0A] & 0x80))
        return;
    const avr_cycle_timer_slot_t *timer = avr->cycle_timers.timer;
    uint64_t goal = timer != NULL && timer->when < until ? timer->when : until;
    uint64_t short_of = 64 + (uint64_t)(64 * check_uniform(&g->random));
    if (goal > avr->cycle + short_of)
        avr->cycle = goal - short_of;
}

static void watch_overflow(gate *g)
{
    bool pending = g->avr->data[TIFR1] & 1;
    if (!pending)
        g->overflow_since = 0;
    else if (g->overflow_since == 0)
        g->overflow_since = g->avr->cycle;
    else if (g->avr->cycle - g->overflow_since > g->worst_overflow)
        g->worst_overflow = g->avr->cycle - g->overflow_since;
}

void gate_run(gate *g, uint64_t until_cycle)
{
    while (g->avr->cycle < until_cycle) {
        if (g->fast)
            jump(g, until_cycle);
        int state = avr_run(g->avr);
        watch_overflow(g);
        if (state == cpu_Done || state == cpu_Crashed) {
            print_error("the firmware stopped at cycle %llu, state %d\n", (unsigned long long)g->avr->cycle, state);
            fail();
        }
    }
}

void gate_run_s(gate *g, double seconds)
{
    gate_run(g, g->avr->cycle + (uint64_t)(seconds * GATE_HZ));
}

void gate_send(gate *g, const char *bytes)
{
    size_t length = strlen(bytes), left = g->in_count - g->in_next;
    memmove(g->in, g->in + g->in_next, left);
    assert_true(left + length <= sizeof g->in);
    memcpy(g->in + left, bytes, length);
    g->in_next = 0;
    g->in_count = left + length;
    g->quiet_from = g->avr->cycle + 4000;
}

void gate_loop_lamp(gate *g, unsigned pin, unsigned rise, unsigned fall)
{
    g->loop_pin = (int)pin;
    g->loop_rise = rise;
    g->loop_fall = fall;
}

void gate_volts(gate *g, const double volts[4])
{
    for (int i = 0; i < 4; i++)
        avr_raise_irq(avr_io_getirq(g->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0 + i), (uint32_t)(1e3 * volts[i] + 0.5));
}

size_t gate_lamp_changes(const gate *g, const uint64_t **cycles)
{
    *cycles = g->lamp;
    return g->lamp_count;
}

size_t gate_take(gate *g, const char **bytes)
{
    size_t count = g->out_count - g->taken;
    *bytes = g->out + g->taken;
    g->taken = g->out_count;
    return count;
}

/* CRC-16, polynomial 0x1021, start 0xffff, most significant bit first, by the definition. */
static unsigned crc_by_bits(const char *bytes, size_t count)
{
    unsigned crc = 0xffff;
    for (size_t i = 0; i < count; i++)
        for (int bit = 7; bit >= 0; bit--) {
            bool feed = (((unsigned char)bytes[i] >> bit & 1) != 0) != ((crc & 0x8000) != 0);
            crc = (crc << 1 & 0xffff) ^ (feed ? 0x1021 : 0);
        }
    return crc;
}

void gate_line_read(const char *text, gate_line *line)
{
    memset(line, 0, sizeof *line);
    snprintf(line->text, sizeof line->text, "%s", text);
    line->type = text[0];
    line->field_count = 0;
    const char *star = strrchr(text, '*');
    line->sum_is_right = star != NULL && strlen(star) == 5 &&
                         crc_by_bits(text, (size_t)(star - text)) == (unsigned)strtoul(star + 1, NULL, 16);
    const char *at = text + (text[0] != '\0');
    while (line->field_count < 12 && *at == ' ' && at[1] != '*' && at[1] != '\0') {
        size_t length = strcspn(at + 1, " ");
        unsigned i = line->field_count++;
        snprintf(line->fields[i], sizeof line->fields[i], "%.*s", (int)length, at + 1);
        line->number[i] = (uint32_t)strtoul(line->fields[i], NULL, 16);
        at += 1 + length;
    }
}

bool gate_next(gate *g, gate_line *line)
{
    for (size_t i = g->line_start; i < g->out_count; i++) {
        if (g->out[i] != '\n')
            continue;
        char text[sizeof line->text];
        snprintf(text, sizeof text, "%.*s", (int)(i - g->line_start), g->out + g->line_start);
        gate_line_read(text, line);
        line->cycle = g->out_cycles[i];
        g->line_start = i + 1;
        return true;
    }
    return false;
}

bool gate_wait(gate *g, char type, double seconds, gate_line *line)
{
    uint64_t until = g->avr->cycle + (uint64_t)(seconds * GATE_HZ);
    for (;;) {
        while (gate_next(g, line))
            if (line->type == type)
                return true;
        if (g->avr->cycle >= until)
            return false;
        gate_run(g, g->avr->cycle + 16000);
    }
}

uint64_t gate_worst_overflow(const gate *g)
{
    return g->worst_overflow;
}
