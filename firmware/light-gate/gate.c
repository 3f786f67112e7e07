/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Light gate: three light sensors and a flash contact, every edge stamped in ticks of 62.5 ns, told over a serial line.
 * ATmega328P at 16 MHz. The line protocol, the circuit and the figures are in docs/light-gate.md.
 *
 * Nothing but the pin-change interrupt (capture.S) is ever enabled; overflow, both directions of the UART and the ADC
 * are polled by serve(), which every wait and every put() calls. So a stamp is late only by the instruction in hand and
 * by the few cycles with interrupts off below. Timer1 runs free and is never written. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <stdbool.h>
#include <stdint.h>
#include <util/crc16.h>

#define FIRMWARE "0.1"

enum {
    INPUTS = _BV(PD4) | _BV(PD5) | _BV(PD6) | _BV(PD7), /* A, B, C, X */
    LAMP = _BV(PB1),                                    /* OC1A */
    STRAP = _BV(PB0),                                   /* to ground: high means light; open: low means light */
    LINE = 80,
    COMMAND = 20,
    IDLE = 1, /* GPIOR0 */
    SILENT = 2
};

/* Shared with the interrupt. GPIOR1 and GPIOR2 see capture.S; GPIOR0 tells a debugger or simulator, between two
 * passes of the main loop, that the last one found nothing to do (IDLE) and that no line waits to be sent (SILENT). */
uint8_t ring[5 * 256] __attribute__((aligned(256)));
volatile uint8_t ring_tail, lost_at;
volatile uint16_t lost;

static uint16_t overflows; /* its low byte is GPIOR2's */
static bool beat_due;

/* Two lines: one being sent, one being composed. A length of 0 says free. */
static uint8_t text[2][LINE + 2], length[2], sending, position, draft;
static uint16_t crc;

static uint8_t command[COMMAND + 1], command_length;
static bool command_ready, command_bad, calibrating;

static uint16_t event_number;
static uint8_t last_pins;

/* --- Waiting on hardware ------------------------------------------------------------------------------------------ */

static bool count_overflow(void)
{
    if (!(TIFR1 & _BV(TOV1)))
        return false;
    uint8_t next = GPIOR2 + 1;
    cli();
    TIFR1 = _BV(TOV1);
    GPIOR2 = next;
    sei();
    overflows++;
    if (next == 0)
        beat_due = true;
    return true;
}

static bool send_byte(void)
{
    if (position == length[sending]) {
        if (length[sending ^ 1] == 0)
            return false;
        length[sending] = 0;
        sending ^= 1;
        position = 0;
    }
    if (!(UCSR0A & _BV(UDRE0)))
        return false;
    UDR0 = text[sending][position++];
    if (position == length[sending]) {
        length[sending] = 0;
        position = 0;
    }
    return true;
}

static bool receive_byte(void)
{
    uint8_t status = UCSR0A;
    if (!(status & _BV(RXC0)))
        return false;
    uint8_t c = UDR0;
    if (command_ready) /* one at a time: the host waits for the answer */
        command_bad = true;
    else if (status & (_BV(FE0) | _BV(DOR0)))
        command_bad = true;
    else if (c == '\n')
        command_ready = true;
    else if (c == '\r')
        return true;
    else if (command_length < COMMAND)
        command[command_length++] = c;
    else
        command_bad = true;
    return true;
}

static bool serve(void)
{
    bool did = count_overflow();
    did |= send_byte();
    did |= receive_byte();
    return did;
}

static uint32_t now(void)
{
    cli();
    uint16_t low = TCNT1;
    uint8_t flags = TIFR1;
    sei();
    uint16_t high = overflows;
    if ((flags & _BV(TOV1)) && low < 0x8000)
        high++;
    return (uint32_t)high << 16 | low;
}

/* --- Lines -------------------------------------------------------------------------------------------------------- */

static bool can_write(void)
{
    return length[sending ^ 1] == 0;
}

static void put(uint8_t c)
{
    text[sending ^ 1][draft++] = c;
    crc = _crc_xmodem_update(crc, c);
    serve();
}

static void put_digits(uint8_t digits, uint32_t value)
{
    while (digits-- > 0) {
        uint8_t d = (uint8_t)(value >> (4 * digits)) & 15;
        put(d < 10 ? '0' + d : 'a' - 10 + d);
    }
}

static void put_field(uint8_t digits, uint32_t value)
{
    put(' ');
    put_digits(digits, value);
}

static void put_text(const char *flash)
{
    for (uint8_t c; (c = pgm_read_byte(flash)) != 0; flash++)
        put(c);
}

static void begin(uint8_t type)
{
    while (!can_write())
        serve();
    draft = 0;
    crc = 0xffff;
    put(type);
}

static void end(void)
{
    put(' ');
    uint16_t sum = crc;
    put('*');
    put_digits(4, sum);
    put('\n');
    length[sending ^ 1] = draft;
}

static uint8_t pins(void)
{
    return PIND >> 4;
}

static void say_hello(void)
{
    begin('H');
    put_text(PSTR(" clg/1 fw=" FIRMWARE " hz=16000000 ch=ABCX pol="));
    put(PINB & STRAP ? '0' : '1');
    put_text(PSTR(" st="));
    put_digits(1, pins());
    put_text(PSTR(" n="));
    put_digits(4, event_number);
    end();
}

static void say_refusal(uint8_t code, const char *words)
{
    begin('X');
    put_field(2, code);
    put(' ');
    put_text(words);
    end();
}

static void say_beat(void)
{
    begin('T');
    uint16_t beat = overflows & 0xff00;
    put_field(2, beat >> 8);
    put_field(8, (uint32_t)beat << 16);
    put_field(4, event_number);
    put_field(1, pins());
    end();
}

/* The loss stands where the first lost edge would have stood. */
static bool say_loss(void)
{
    /* Looked at in two halves, but it only ever leaves 0 by its low byte; a cli on every pass would blur the stamps. */
    if (lost == 0)
        return false;
    cli();
    uint16_t count = lost;
    bool here = count != 0 && lost_at == ring_tail;
    if (here)
        lost = 0;
    sei();
    if (!here)
        return false;
    begin('O');
    put_field(4, event_number);
    put_field(4, count);
    end();
    event_number += count;
    return true;
}

static bool say_event(void)
{
    uint8_t tail = ring_tail;
    if (tail == GPIOR1)
        return false;
    uint8_t state = ring[tail] >> 4, high = ring[512 + tail], flags = ring[768 + tail];
    uint16_t low = (uint16_t)high << 8 | ring[256 + tail];
    uint16_t count = overflows - (uint8_t)((uint8_t)overflows - ring[1024 + tail]);
    ring_tail = tail + 1;
    if ((flags & _BV(TOV1)) && high < 0x80)
        count++;
    begin('E');
    put_field(4, event_number++);
    put_field(8, (uint32_t)count << 16 | low);
    put_field(1, state);
    put_field(1, state ^ last_pins);
    end();
    last_pins = state;
    return true;
}

/* --- Calibration -------------------------------------------------------------------------------------------------- */

static bool work(void);

/* The low 16 bits of the clock without stopping interrupts, which would blur a stamp that is just due: a read that the
 * interrupt came between has a wrong high byte, and two reads in a row then lie far apart. */
static uint16_t now_low(void)
{
    uint16_t first, second;
    do {
        first = TCNT1;
        second = TCNT1;
    } while ((uint16_t)(second - first) > 255);
    return second;
}

/* Until tick t has passed. Far from it lines may be composed; near it only bytes are moved and interrupts stay on, so
 * that the way out of here is short and no stamp waits. */
static void wait_past(uint32_t t)
{
    enum { LONGEST_LINE = 20000 };
    while ((int32_t)(t - now()) > LONGEST_LINE)
        work();
    while ((int16_t)((uint16_t)t - now_low()) >= 0)
        serve();
}

/* OC1A toggles on a match, so both edges of a pulse fall on exact ticks. */
static void arm_again(uint16_t tick)
{
    cli();
    OCR1A = tick;
    TCCR1A = _BV(COM1A0);
    sei();
}

/* With the output's latch brought to low first, whatever it was left at. */
static void arm(uint16_t tick)
{
    arm_again(tick);
    if (PINB & LAMP)
        TCCR1C = _BV(FOC1A);
}

/* Gives the tick at which the lamp went on. */
static uint32_t pulse(uint32_t width)
{
    enum { AHEAD = 1600, ONE_TURN = 50000, RETURN = 30000 };
    uint32_t start = now() + AHEAD, stop = start + width;
    arm((uint16_t)start);
    /* Half of the shortest pulse later the input has most likely followed; arming stops interrupts for a moment. */
    wait_past(start + 400);
    if (width > ONE_TURN) {
        PORTB |= LAMP; /* the port holds the lamp while the timer goes round */
        TCCR1A = 0;
        wait_past(stop - RETURN);
    }
    arm_again((uint16_t)stop);
    wait_past(stop);
    PORTB &= (uint8_t)~LAMP;
    TCCR1A = 0;
    return start;
}

static void calibrate(uint32_t width, uint8_t count, uint8_t channel)
{
    enum { GAP = 48000 }; /* 3 ms of dark before, between and after the pulses */
    calibrating = true;
    PCMSK2 = channel << 4; /* alone: two channels at once would share stamps */
    for (uint8_t i = 0; i < count; i++) {
        wait_past(now() + GAP + 37 * i); /* uneven, so that the pulses do not keep step with the loop here */
        uint32_t start = pulse(width);
        begin('P');
        put_field(2, i);
        put_field(1, channel);
        put_field(8, start);
        put_field(8, width);
        end();
    }
    wait_past(now() + GAP);
    PCMSK2 = INPUTS;
    calibrating = false;
}

/* --- Commands ----------------------------------------------------------------------------------------------------- */

static uint16_t level(uint8_t input)
{
    uint16_t value = 0;
    ADMUX = _BV(REFS0) | input;
    for (uint8_t i = 0; i < 2; i++) { /* the first after a change of input is thrown away */
        ADCSRA |= _BV(ADSC);
        while (ADCSRA & _BV(ADSC))
            serve();
        value = ADC;
    }
    return value;
}

static void say_levels(void)
{
    uint16_t levels[4];
    for (uint8_t i = 0; i < 4; i++)
        levels[i] = level(i);
    begin('L');
    for (uint8_t i = 0; i < 4; i++)
        put_field(4, levels[i]);
    end();
}

/* `digits` lower-case hex digits; false for anything else. */
static bool hex(const uint8_t *from, uint8_t digits, uint32_t *value)
{
    *value = 0;
    while (digits-- > 0) {
        uint8_t c = *from++;
        if (c >= '0' && c <= '9')
            c -= '0';
        else if (c >= 'a' && c <= 'f')
            c -= 'a' - 10;
        else
            return false;
        *value = *value << 4 | c;
    }
    return true;
}

/* "c wwwwwwww nn m" */
static void calibrate_command(void)
{
    uint32_t width, count, channel;
    bool form = command_length == 15 && command[1] == ' ' && command[10] == ' ' && command[13] == ' ';
    if (!form || !hex(command + 2, 8, &width) || !hex(command + 11, 2, &count) || !hex(command + 14, 1, &channel)) {
        say_refusal(0x02, PSTR("c wwwwwwww nn m in lower-case hex"));
        return;
    }
    if (width < 0x320 || width > 0x1000000 || count < 1 || count > 0x40 ||
        (channel != 1 && channel != 2 && channel != 4)) {
        say_refusal(0x04, PSTR("w 320..1000000, n 1..40, m 1 2 or 4"));
        return;
    }
    begin('A');
    put_text(PSTR(" c"));
    put_field(8, width);
    put_field(2, count);
    put_field(1, channel);
    end();
    command_length = 0;
    command_ready = false;
    calibrate(width, count, channel);
}

static void obey(void)
{
    if (command_bad) {
        say_refusal(0x01, PSTR("garbled or too long"));
    } else if (command_length == 1 && command[0] == 'h') {
        say_hello();
    } else if (command_length >= 1 && (command[0] == 'l' || command[0] == 'c') && calibrating) {
        say_refusal(0x03, PSTR("calibrating"));
    } else if (command_length == 1 && command[0] == 'l') {
        say_levels();
    } else if (command_length >= 1 && command[0] == 'c') {
        calibrate_command();
    } else if (command_length > 0) {
        say_refusal(0x01, PSTR("h, l or c"));
    }
    command_length = 0;
    command_ready = command_bad = false;
}

/* One pass; false when there was nothing to do. */
static bool work(void)
{
    bool did = serve();
    if (!can_write())
        return did;
    if (beat_due) {
        beat_due = false;
        say_beat();
        return true;
    }
    if (command_ready) {
        obey();
        return true;
    }
    return say_loss() || say_event() || did;
}

int main(void)
{
    PORTD = INPUTS; /* pull-ups: an input with nothing on it stays quiet */
    PORTB = STRAP;
    DDRB = LAMP;
    DIDR0 = 0x0f;
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS1) | _BV(ADPS0);
    UBRR0 = 3; /* 250000 baud, exact at 16 MHz */
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0);
    TCCR1B = _BV(CS10);
    last_pins = pins();
    PCMSK2 = INPUTS;
    PCIFR = _BV(PCIF2);
    PCICR = _BV(PCIE2);
    sei();
    say_hello();
    for (;;) {
        GPIOR0 = 0;
        if (!work())
            GPIOR0 = length[0] | length[1] ? IDLE : IDLE | SILENT;
    }
}
