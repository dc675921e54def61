/* The box: resistor-ladder buttons in, remote codes out. This page is the table of contents. */
#include <avr/interrupt.h>
#include "blink.h"     /* states and their blinks */
#include "box.h"       /* the image in use */
#include "capture.h"   /* remotes, from the receiver */
#include "clock.h"     /* ticks, half microseconds */
#include "converter.h" /* readings of the wires */
#include "counters.h"  /* what happened since power came */
#include "led.h"       /* what state it is in */
#include "link.h"      /* bytes and frames to and from the laptop */
#include "output.h"    /* edges on the line */
#include "reset.h"     /* why it started; the watchdog */
#include "samples.h"   /* readings to decisions, and the stream */
#include "sending.h"   /* decisions to frames */
#include "serve.h"     /* the laptop's messages */
#include "supply.h"    /* its own voltage */
#include "writing.h"   /* a new image */

/* A start looks like one, even if the image is found at once. */
#define SEARCHING_TICKS 1024u

static uint8_t state(void)
{
    if (clock_ticks() < SEARCHING_TICKS) {
        return SW_BLINK_SEARCHING;
    }
    if (writing_failed()) {
        return SW_BLINK_FAULT;
    }
    if (samples_streaming() || capture_listening()) {
        return SW_BLINK_LEARNING;
    }
    if (box_has_image()) {
        return SW_BLINK_RUNNING;
    }
    return box.damaged ? SW_BLINK_DAMAGED : SW_BLINK_MISSING;
}

int main(void) __attribute__((OS_main));
int main(void)
{
    half_us turn_began;

    watchdog_serve();
    output_start();
    reset_start();
    led_start();
    converter_start();
    capture_start();
    clock_start();
    link_start();
    sei();
    supply_start();
    box_look();
    serve_start();

    turn_began = clock_half_us();
    for (;;) {
        watchdog_serve();
        turn_began = counters_turn(turn_began);

        link_turn();
        serve_turn();
        samples_turn();
        sending_turn();
        capture_turn();
        writing_turn();
        led_turn(state(), clock_short());
    }
}
