/* What becomes of a sample: see samples.h. Samples stay where the converter put them; recognising
 * writes the label into their high bits, and a block of them goes out from there. */
#include "samples.h"
#include <string.h>   /* memcpy */
#include "box.h"
#include "clock.h"
#include "converter.h"
#include "counters.h"
#include "flash.h" /* SW_APART */
#include "level.h"
#include "link.h"
#include "messages.h"
#include "near.h"
#include "pins.h"
#include "recogniser.h"
#include "sending.h"
#include "writing.h"

#define BLOCK 8u
#define NO_LABEL 63u
#define TICK_LOW 63u
/* So many wait: rather lose a block of the stream than a tick of the recogniser. */
#define TOO_MANY (SAMPLES_KEPT - 3u)

static struct {
    struct sw_feed feed;
    uint8_t streaming;
    uint8_t watching;
    uint8_t seen;       /* samples recognised that are still kept for the stream */
    uint8_t next_tick;  /* low bits, of the sample expected next */
    uint8_t lost;
    struct sw_recogniser recogniser;
} state;

void samples_reference(uint8_t kind, uint8_t feed_monitor)
{
    converter_reference(kind, feed_monitor);
    samples_restart();
}

void samples_restart(void)
{
    sw_recogniser_start(&state.recogniser);
    state.feed.sum8 = 0;
    converter_done(converter_waiting());
    state.seen = 0;
    state.next_tick = NO_LABEL + 1u;
    state.lost = 0;
}

void samples_stream(uint8_t on)
{
    state.streaming = on;
    converter_done(state.seen);
    state.seen = 0;
    state.lost = 0;
}

uint8_t samples_streaming(void)
{
    return state.streaming;
}

void samples_watch(uint8_t on)
{
    state.watching = on;
}

/* The whole tick of which the low bits are these, no longer than 63 ms ago. */
SW_APART static uint32_t whole_tick(uint8_t low)
{
    uint32_t now = clock_ticks();

    return now - ((uint8_t)((uint8_t)now - low) & TICK_LOW);
}

/* Messages as they lie in memory: the chip's byte order is the link's, and nothing is padded. */
struct decision {
    struct head head;
    uint32_t tick;
    uint8_t kind;
    uint8_t button;
    uint8_t wire;
    uint16_t level;
    uint16_t ticks;
    uint8_t command;
    uint8_t check[LINK_CHECK];
};

struct block {
    struct head head;
    uint32_t tick;
    uint8_t lost;
    uint8_t flags;
    uint16_t readings[BLOCK * SENSES];
    uint8_t check[LINK_CHECK];
};
#define BEFORE_READINGS 6u      /* bytes of the payload */
#define ROUND_PAYLOAD (sizeof(struct head) + LINK_CHECK)
#define TWO_WIRES 1u
#define WITH_FEED 2u

static void tell_decision(uint32_t tick, const struct sw_event *event, uint8_t command)
{
    struct decision decision;

    decision.tick = tick;
    decision.kind = event->kind;
    decision.button = event->button;
    decision.wire = event->wire;
    decision.level = event->level;
    decision.ticks = event->ticks;
    decision.command = command;
    link_tell(SW_DECISION, &decision, sizeof decision - ROUND_PAYLOAD);
}

static uint16_t level(uint16_t reading)
{
    return box.image.rules.flags & SW_RULES_MONITOR ? sw_level_scaled(reading, box.image.rules.feed_level, &state.feed)
                                                     : sw_level_plain(reading);
}

SW_APART static void recognise(const struct sample *sample)
{
    const struct sw_event *event = state.recogniser.event;
    uint16_t levels[SW_WIRES];
    uint8_t left;

    if (box.image.rules.flags & SW_RULES_MONITOR) {
        sw_feed_take(&state.feed, sample->reading[SENSE_FEED]);
    }
    levels[0] = level(sample->reading[SENSE_WIRE_1]);
    levels[1] = level(sample->reading[SENSE_WIRE_2]);
    sw_recogniser_tick(near(&state.recogniser), near(&box.image.rules), levels);
    if (state.recogniser.rejected) {
        counters_count(COUNT_REJECTED);
    }
    for (left = state.recogniser.told; left != 0; left--, event++) {
        uint8_t command = sending_event(event);
        if (event->kind == SW_EVENT_PRESSED) {
            counters_count(COUNT_PRESSES);
        } else if (event->kind == SW_EVENT_UNDECIDED) {
            counters_count(COUNT_UNDECIDED);
        }
        if (state.watching) {
            tell_decision(whole_tick(state.next_tick - 1u), event, command);
        }
    }
}

SW_APART static void lose(uint8_t samples)
{
    state.lost = state.lost > UINT8_MAX - samples ? UINT8_MAX : state.lost + samples;
}

SW_APART static void mark(uint16_t *reading, uint8_t with)
{
    *reading |= (uint16_t)((uint16_t)with << SAMPLE_HIGH_SHIFT);
}

static void take(struct sample *sample)
{
    uint8_t label = NO_LABEL;
    uint8_t pressed = SW_NO_BUTTON;

    if (box_has_image() && !writing_runs()) {
        recognise(sample);
        label = state.recogniser.label;
        pressed = state.recogniser.pressed;
    }
    mark(&sample->reading[SENSE_WIRE_1], label);
    mark(&sample->reading[SENSE_WIRE_2], pressed);
}

static void tell_block(void)
{
    struct block block;
    uint8_t *payload = (uint8_t *)&block.tick;
    uint8_t length = BEFORE_READINGS;
    uint8_t each = 2u * (SENSES - 1u);
    uint8_t i;

    block.tick = whole_tick(state.next_tick - state.seen);
    block.lost = state.lost;
    block.flags = box_has_image() && box.image.rules.wires < 2 ? 0 : TWO_WIRES;
    if (converter_has_feed()) {
        block.flags |= WITH_FEED;
        each = 2u * SENSES;
    }
    state.lost = 0;
    for (i = 0; i < BLOCK; i++) {
        memcpy(payload + length, converter_sample(i), each);
        length += each;
    }
    link_tell(SW_SAMPLES, &block, length);
}

static void drop(uint8_t samples)
{
    converter_done(samples);
    state.seen -= samples;
}

SW_APART void samples_turn(void)
{
    while (state.seen < converter_waiting()) {
        struct sample *sample = converter_sample(state.seen);
        uint8_t tick = (uint8_t)(sample->reading[SENSE_FEED] >> SAMPLE_HIGH_SHIFT);

        if (state.next_tick <= TICK_LOW && tick != state.next_tick) { /* samples are missing: a block has no holes */
            lose(state.seen + ((uint8_t)(tick - state.next_tick) & TICK_LOW));
            drop(state.seen);
            sample = converter_sample(0);
        }
        state.next_tick = (tick + 1u) & TICK_LOW;
        sample->reading[SENSE_FEED] &= SAMPLE_READING;
        take(sample);
        state.seen++;
        if (!state.streaming) {
            drop(1);
        } else if (state.seen >= BLOCK) {
            if (link_has_room(sizeof(struct block) - ROUND_PAYLOAD)) {
                tell_block();
            } else if (converter_waiting() >= TOO_MANY) {
                counters_count(COUNT_FRAMES_LOST);
                lose(BLOCK);
            } else {
                continue;
            }
            drop(BLOCK);
        }
    }
}
