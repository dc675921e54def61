/* The link: see link.h. The interrupts move bytes between rings and the port, nothing else. */
#include "link.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "clock.h"
#include "counters.h" /* link errors, frames lost */
#include "frame.h"
#include "messages.h" /* SW_REPLY */
#include "pins.h"

/* A ring holds two blocks of samples with the feed, or the longest reply and one of those. */
#define OUT_SIZE 128u
/* 64 bytes of an image with what is round them fit whole; the main loop takes bytes out meanwhile. */
#define IN_SIZE 80u

/* With the port's clock doubled: 16 MHz / 8 / 17 is 2.1 % above 115200; undoubled, 16 MHz / 16 / 9 is
 * 3.5 % below it. */
#define DIVIDER_115200 16u
#define DIVIDER_500000 3u
#define BACK_AFTER_TICKS 2000u

static struct {
    uint16_t heard_at;      /* the last good frame's tick */
    uint8_t events;         /* their own sequence */
    uint8_t rate;
    uint8_t next_rate;
    volatile uint8_t out_head;
    volatile uint8_t out_tail;
    volatile uint8_t in_head;
    volatile uint8_t in_tail;
    volatile uint8_t in_errors; /* bytes lost or mangled that no one has counted yet */
    volatile uint8_t out[OUT_SIZE];
    volatile uint8_t in[IN_SIZE];
    struct sw_deframer deframer;
} state;

static void set_rate(uint8_t to)
{
    state.rate = to;
    state.next_rate = to;
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* doubled, before the divider */
    UBRR0 = to == LINK_500000 ? DIVIDER_500000 : DIVIDER_115200;
    state.heard_at = clock_short();
}

void link_start(void)
{
    PORTD |= _BV(RECEIVE_PIN);          /* pulled up: with no laptop the pin would float, and hear things */
    set_rate(LINK_115200);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00); /* 8 bits, no parity, 1 stop bit */
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    sw_deframer_start(&state.deframer);
}

ISR(USART_RX_vect)
{
    uint8_t errors = UCSR0A & (_BV(FE0) | _BV(DOR0));
    uint8_t byte = UDR0;
    uint8_t next = state.in_head + 1u == IN_SIZE ? 0 : state.in_head + 1u;

    if (errors) {
        state.in_errors++;
    }
    if (next == state.in_tail) {
        state.in_errors++;
        return;
    }
    state.in[state.in_head] = byte;
    state.in_head = next;
}

ISR(USART_UDRE_vect)
{
    uint8_t tail = state.out_tail;

    if (tail == state.out_head) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* TXC0 is cleared by writing it: it will say when this one has gone */
    UDR0 = state.out[tail];
    state.out_tail = (tail + 1u) % OUT_SIZE;
}

static void put(uint8_t byte)
{
    state.out[state.out_head] = byte;
    state.out_head = (state.out_head + 1u) % OUT_SIZE;
}

static uint8_t room(void)
{
    return (uint8_t)(state.out_tail - state.out_head - 1u) % OUT_SIZE;
}

static void write_frame(uint8_t number, uint8_t sequence, const void *payload, uint8_t length)
{
    sw_frame_write(put, number, sequence, payload, length);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        UCSR0B |= _BV(UDRIE0);
    }
}

uint8_t link_quiet(void)
{
    return state.out_head == state.out_tail && !(UCSR0B & _BV(UDRIE0)) && (UCSR0A & _BV(TXC0));
}

void link_turn(void)
{
    uint8_t errors;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        errors = state.in_errors;
        state.in_errors = 0;
    }
    if (errors) {
        counters_add(&counters.link_errors, errors);
    }
    if (state.next_rate != state.rate && link_quiet()) {
        set_rate(state.next_rate);
    }
    if (state.rate != LINK_115200 && (uint16_t)(clock_short() - state.heard_at) >= BACK_AFTER_TICKS) {
        set_rate(LINK_115200);
    }
}

uint8_t link_request(struct request *request)
{
    if (state.next_rate != state.rate) {
        return 0;
    }
    while (state.in_tail != state.in_head && room() >= sw_frame_room(LINK_REPLY_MAX)) {
        uint8_t byte = state.in[state.in_tail];
        state.in_tail = state.in_tail + 1u == IN_SIZE ? 0 : state.in_tail + 1u;
        switch (sw_deframer_take(&state.deframer, byte)) {
        case SW_FRAME_WHOLE:
            state.heard_at = clock_short();
            request->number = state.deframer.line[1];
            request->sequence = state.deframer.line[2];
            request->payload = state.deframer.line + 3;
            request->length = (uint8_t)(state.deframer.length - SW_FRAME_OVERHEAD);
            return 1;
        case SW_FRAME_BROKEN:
            counters_add(&counters.link_errors, 1);
            break;
        default:
            break;
        }
    }
    return 0;
}

void link_reply(uint8_t number, uint8_t sequence, const void *payload, uint8_t length)
{
    if (room() < sw_frame_room(length)) { /* a late answer, to a write */
        counters_add(&counters.frames_lost, 1);
        return;
    }
    write_frame(number | SW_REPLY, sequence, payload, length);
}

uint8_t link_has_room(uint8_t length)
{
    return state.next_rate == state.rate && room() >= sw_frame_room(length);
}

uint8_t link_tell(uint8_t number, const void *payload, uint8_t length)
{
    if (!link_has_room(length)) {
        counters_add(&counters.frames_lost, 1);
        return 0;
    }
    write_frame(number, state.events++, payload, length);
    return 1;
}

void link_rate(uint8_t to)
{
    state.next_rate = to;
}
