; SPDX-License-Identifier: GPL-3.0-or-later
; The one interrupt of the gate: an edge on any input is stamped with Timer1 and put into the ring.
;
; The ring is five pages of 256 bytes, page-aligned, indexed by one 8-bit head that wraps by itself:
;   page 0 pins, 1 and 2 Timer1 low and high, 3 TIFR1 read after Timer1, 4 low byte of the overflow count.
; GPIOR1 is the head, GPIOR2 the overflow count's low byte. In the common way through no instruction here touches a
; status flag, so SREG need not be saved: ldi, st, cpse, sbi, sbic, in, out, lds.
#define __SFR_OFFSET 0
#include <avr/io.h>

    .section .text
    .global PCINT2_vect
PCINT2_vect:
    push r24
    push r30
    push r31
1:  in   r30, GPIOR1
    ldi  r31, hi8(ring)
    sbi  PCIFR, PCIF2        ; acknowledge, then sample: an edge after the sample raises the flag again
    in   r24, PIND
    st   Z, r24
    lds  r24, TCNT1L         ; the stamp; this read latches the high byte
    ldi  r31, hi8(ring + 256)
    st   Z, r24
    lds  r24, TCNT1H
    ldi  r31, hi8(ring + 512)
    st   Z, r24
    in   r24, TIFR1          ; had the timer wrapped before main counted it?
    ldi  r31, hi8(ring + 768)
    st   Z, r24
    in   r24, GPIOR2
    ldi  r31, hi8(ring + 1024)
    st   Z+, r24             ; r30 is now head + 1
    lds  r24, ring_tail
    cpse r30, r24
    rjmp 2f
    rjmp 4f
2:  out  GPIOR1, r30         ; commit
    sbic PCIFR, PCIF2
    rjmp 1b                  ; the next edge waits already: spare the way out and in
3:  pop  r31
    pop  r30
    pop  r24
    reti

; Full. Counts the loss, up to 65535, and keeps the place of the first one. Goes out without looking for the next edge,
; so that even under a flood main gets an instruction in between and time is kept.
4:  in   r24, SREG
    push r24
    lds  r30, lost
    lds  r31, lost + 1
    adiw r30, 1
    breq 5f
    sts  lost, r30
    sts  lost + 1, r31
    sbiw r30, 1
    brne 5f
    in   r24, GPIOR1
    sts  lost_at, r24
5:  pop  r24
    out  SREG, r24
    rjmp 3b
