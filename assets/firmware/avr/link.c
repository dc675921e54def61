/* The link: see link.h. The interrupts move bytes between rings and the port, nothing else. */
#include "link.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "clock.h"
#include "counters.h" /* link errors, frames lost */
#include "frame.h"
#include "messages.h" /* SW_REPLY */

/* A ring holds two blocks of samples with the feed, or the longest reply and one of those. */
#define OUT_SIZE 128u
/* 64 bytes of an image with what is round them fit whole; the main loop takes bytes out meanwhile. */
#define IN_SIZE 80u

/* With the clock doubled in the port: 115200 is +2.1 %, undoubled it would be -3.5 % (datasheet
 * 8161D, table 19-12). */
#define DIVIDER_115200 16u
#define DIVIDER_500000 3u
#define BACK_AFTER_TICKS 2000u

static volatile uint8_t out[OUT_SIZE], out_head, out_tail;
static volatile uint8_t in[IN_SIZE], in_head, in_tail;
static volatile uint8_t in_errors;      /* bytes lost or mangled that no one has counted yet */

static struct sw_deframer deframer;
static uint8_t events;                  /* their own sequence */
static uint8_t rate, next_rate;
static uint32_t heard_at;               /* the last good frame's tick */

static void set_rate(uint8_t to)
{
    rate = to;
    next_rate = to;
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* doubled, before the divider */
    UBRR0 = to == LINK_500000 ? DIVIDER_500000 : DIVIDER_115200;
    heard_at = clock_ticks();
}

void link_start(void)
{
    set_rate(LINK_115200);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00); /* 8 bits, no parity, 1 stop bit */
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    sw_deframer_start(&deframer);
}

ISR(USART_RX_vect)
{
    uint8_t state = UCSR0A;
    uint8_t byte = UDR0;
    uint8_t next = in_head + 1u == IN_SIZE ? 0 : in_head + 1u;

    if (state & (_BV(FE0) | _BV(DOR0))) {
        in_errors++;
    }
    if (next == in_tail) {
        in_errors++;
        return;
    }
    in[in_head] = byte;
    in_head = next;
}

ISR(USART_UDRE_vect)
{
    uint8_t tail = out_tail;

    if (tail == out_head) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* TXC0 is cleared by writing it: it will say when this one has gone */
    UDR0 = out[tail];
    out_tail = (tail + 1u) % OUT_SIZE;
}

static void put(uint8_t byte)
{
    out[out_head] = byte;
    out_head = (out_head + 1u) % OUT_SIZE;
}

static uint8_t room(void)
{
    return (uint8_t)(out_tail - out_head - 1u) % OUT_SIZE;
}

static void write_frame(uint8_t number, uint8_t sequence, const uint8_t *payload, uint8_t length)
{
    sw_frame_write(put, number, sequence, payload, length);
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        UCSR0B |= _BV(UDRIE0);
    }
}

uint8_t link_quiet(void)
{
    return out_head == out_tail && !(UCSR0B & _BV(UDRIE0)) && (UCSR0A & _BV(TXC0));
}

void link_turn(void)
{
    uint8_t errors;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        errors = in_errors;
        in_errors = 0;
    }
    if (errors) {
        counters_add(&counters.link_errors, errors);
    }
    if (next_rate != rate && link_quiet()) {
        set_rate(next_rate);
    }
    if (rate != LINK_115200 && clock_ticks() - heard_at >= BACK_AFTER_TICKS) {
        set_rate(LINK_115200);
    }
}

uint8_t link_request(struct request *request)
{
    if (next_rate != rate) {
        return 0;
    }
    while (in_tail != in_head && room() >= sw_frame_room(LINK_REPLY_MAX)) {
        uint8_t byte = in[in_tail];
        in_tail = in_tail + 1u == IN_SIZE ? 0 : in_tail + 1u;
        switch (sw_deframer_take(&deframer, byte)) {
        case SW_FRAME_WHOLE:
            heard_at = clock_ticks();
            request->number = deframer.frame[0];
            request->sequence = deframer.frame[1];
            request->payload = deframer.frame + 2;
            request->length = (uint8_t)(deframer.length - SW_FRAME_OVERHEAD);
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

void link_reply(uint8_t number, uint8_t sequence, const uint8_t *payload, uint8_t length)
{
    if (room() < sw_frame_room(length)) { /* a late answer, to a write */
        counters_add(&counters.frames_lost, 1);
        return;
    }
    write_frame(number | SW_REPLY, sequence, payload, length);
}

uint8_t link_has_room(uint8_t length)
{
    return next_rate == rate && room() >= sw_frame_room(length);
}

uint8_t link_tell(uint8_t number, const uint8_t *payload, uint8_t length)
{
    if (!link_has_room(length)) {
        counters_add(&counters.frames_lost, 1);
        return 0;
    }
    write_frame(number, events++, payload, length);
    return 1;
}

void link_rate(uint8_t to)
{
    next_rate = to;
}
