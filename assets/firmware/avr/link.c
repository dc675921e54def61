/* The link: see link.h. The interrupts move bytes between rings and the port, nothing else. */
#include "link.h"
#include <avr/interrupt.h>
#include <util/atomic.h>
#include "clock.h"
#include "counters.h" /* link errors, frames lost */
#include "frame.h"
#include "messages.h" /* SW_REPLY */
#include "near.h"
#include "pins.h"

/* A ring holds two blocks of samples with the feed, or the longest reply and one of those. */
#define OUT_SIZE SW_FRAME_RING
/* 64 bytes of an image with what is round them fit whole; the main loop takes bytes out meanwhile. */
#define IN_SIZE 80u

/* With the port's clock doubled: 16 MHz / 8 / 17 is 2.1 % above 115200; undoubled, 16 MHz / 16 / 9 is
 * 3.5 % below it. */
#define DIVIDER_115200 16u
#define DIVIDER_500000 3u
#define BACK_AFTER_TICKS 2000u

static struct kept {
    uint16_t heard_at;      /* the last good frame's tick */
    uint8_t events;         /* their own sequence */
    uint8_t rate;
    uint8_t next_rate;
    volatile uint8_t out_head;
    volatile uint8_t out_tail;
    volatile uint8_t in_head;
    volatile uint8_t in_tail;
    volatile uint8_t in_errors; /* bytes lost or mangled that no one has counted yet */
    uint8_t out[OUT_SIZE];
    volatile uint8_t in[IN_SIZE];
} state;
static struct sw_deframer deframer;

static void set_rate(uint8_t to)
{
    struct kept *my = near(&state);

    my->rate = to;
    my->next_rate = to;
    my->heard_at = clock_short();
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* doubled, before the divider */
    UBRR0 = to == LINK_500000 ? DIVIDER_500000 : DIVIDER_115200;
}

void link_start(void)
{
    PORTD |= _BV(RECEIVE_PIN);          /* pulled up: with no laptop the pin would float, and hear things */
    set_rate(LINK_115200);
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00); /* 8 bits, no parity, 1 stop bit */
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    sw_deframer_start(&deframer);
}

static inline uint8_t behind(uint8_t at)
{
    at++;
    return at == IN_SIZE ? 0 : at;
}

ISR(USART_RX_vect)
{
    struct kept *my = near(&state);
    uint8_t errors = UCSR0A & (_BV(FE0) | _BV(DOR0));
    uint8_t byte = UDR0;
    uint8_t head = my->in_head;
    uint8_t next = behind(head);

    if (errors || next == my->in_tail) {
        my->in_errors++;
    }
    if (next != my->in_tail) {
        my->in[head] = byte;
        my->in_head = next;
    }
}

ISR(USART_UDRE_vect)
{
    struct kept *my = near(&state);
    uint8_t tail = my->out_tail;

    if (tail == my->out_head) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        return;
    }
    UCSR0A = _BV(U2X0) | _BV(TXC0);     /* TXC0 is cleared by writing it: it will say when this one has gone */
    UDR0 = my->out[tail];
    my->out_tail = (tail + 1u) % OUT_SIZE;
}

static uint8_t room(const struct kept *my)
{
    return (uint8_t)(my->out_tail - my->out_head - 1u) % OUT_SIZE;
}

static void write_frame(void *message, uint8_t payload_length)
{
    uint8_t head = sw_frame_write(state.out, state.out_head, message, payload_length);

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        state.out_head = head;
        UCSR0B |= _BV(UDRIE0);
    }
}

uint8_t link_quiet(void)
{
    struct kept *my = near(&state);

    return my->out_head == my->out_tail && (UCSR0A & _BV(TXC0));
}

void link_turn(void)
{
    struct kept *my = near(&state);
    uint8_t errors;

    ATOMIC_BLOCK(ATOMIC_RESTORESTATE)
    {
        errors = my->in_errors;
        my->in_errors = 0;
    }
    while (errors) {
        errors--;
        counters_count(COUNT_LINK_ERRORS);
    }
    if (my->next_rate != my->rate && link_quiet()) {
        set_rate(my->next_rate);
    }
    if (my->rate != LINK_115200 && (uint16_t)(clock_short() - my->heard_at) >= BACK_AFTER_TICKS) {
        set_rate(LINK_115200);
    }
}

struct message *link_request(uint8_t *payload_length)
{
    struct kept *my = near(&state);

    if (my->next_rate != my->rate) {
        return 0;
    }
    while (my->in_tail != my->in_head && room(my) >= sw_frame_room(LINK_REPLY_MAX)) {
        uint8_t tail = my->in_tail;
        uint8_t came = sw_deframer_take(&deframer, my->in[tail]);

        my->in_tail = behind(tail);
        if (came == SW_FRAME_WHOLE) {
            my->heard_at = clock_short();
            *payload_length = (uint8_t)(deframer.length - SW_FRAME_OVERHEAD);
            return (struct message *)(deframer.line + 1);
        }
        if (came == SW_FRAME_BROKEN) {
            counters_count(COUNT_LINK_ERRORS);
        }
    }
    return 0;
}

void link_reply(void *message, uint8_t payload_length)
{
    struct head *head = message;

    head->number |= SW_REPLY;
    write_frame(message, payload_length);
}

uint8_t link_has_room(uint8_t payload_length)
{
    struct kept *my = near(&state);

    return my->next_rate == my->rate && room(my) >= sw_frame_room(payload_length);
}

void link_tell(uint8_t number, void *message, uint8_t payload_length)
{
    struct head *head = message;

    if (!link_has_room(payload_length)) {
        counters_count(COUNT_FRAMES_LOST);
        return;
    }
    head->number = number;
    head->sequence = state.events++;
    write_frame(message, payload_length);
}

void link_rate(uint8_t to)
{
    state.next_rate = to;
}
