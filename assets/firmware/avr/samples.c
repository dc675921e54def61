/* What becomes of a sample: see samples.h. Samples stay where the converter put them; recognising
 * writes the label into their high bits, and a block of them goes out from there. */
#include "samples.h"
#include "box.h"
#include "clock.h"
#include "converter.h"
#include "counters.h"
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
#define TOO_MANY (SAMPLES_KEPT - 2u)

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

static uint8_t tick_of(const struct sample *sample)
{
    return (uint8_t)(sample->feed >> SAMPLE_HIGH_SHIFT);
}

/* The whole tick of a sample that is no older than 63 ms. */
static uint32_t whole_tick(const struct sample *sample)
{
    uint32_t now = clock_ticks();

    return now - (uint8_t)((uint8_t)now - tick_of(sample)) % (TICK_LOW + 1u);
}

/* Messages as they lie in memory: the chip's byte order is the link's, and nothing is padded. */
struct decision {
    uint32_t tick;
    uint8_t kind;
    uint8_t button;
    uint8_t wire;
    uint16_t level;
    uint16_t ticks;
    uint8_t command;
};

struct block {
    uint32_t tick;
    uint8_t lost;
    uint8_t flags;
    uint16_t readings[BLOCK * SENSES];
};
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
    link_tell(SW_DECISION, &decision, sizeof decision);
}

static uint16_t level(uint16_t reading)
{
    return box.image.rules.flags & SW_RULES_MONITOR ? sw_level_scaled(reading, box.image.rules.feed_level, &state.feed)
                                     : sw_level_plain(reading);
}

static void recognise(const struct sample *sample)
{
    struct sw_event events[SW_EVENTS_PER_TICK];
    uint16_t levels[SW_WIRES];
    uint8_t count, i;

    if (box.image.rules.flags & SW_RULES_MONITOR) {
        sw_feed_take(&state.feed, sample->feed & SAMPLE_READING);
    }
    levels[0] = level(sample->wire[0]);
    levels[1] = level(sample->wire[1]);
    count = sw_recogniser_tick(near(&state.recogniser), near(&box.image.rules), levels, events);
    if (state.recogniser.rejected) {
        counters_reject();
    }
    for (i = 0; i < count; i++) {
        uint8_t command = sending_event(&events[i]);
        if (events[i].kind == SW_EVENT_PRESSED) {
            counters_add(&counters.presses, 1);
        } else if (events[i].kind == SW_EVENT_UNDECIDED) {
            counters_add(&counters.undecided, 1);
        }
        if (state.watching) {
            tell_decision(whole_tick(sample), &events[i], command);
        }
    }
}

static void lose(uint8_t samples)
{
    state.lost = state.lost > UINT8_MAX - samples ? UINT8_MAX : state.lost + samples;
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
    sample->wire[0] |= (uint16_t)((uint16_t)label << SAMPLE_HIGH_SHIFT);
    sample->wire[1] |= (uint16_t)((uint16_t)pressed << SAMPLE_HIGH_SHIFT);
}

static void tell_block(void)
{
    struct block block;
    uint16_t *reading = block.readings;
    uint8_t flags = box_has_image() && box.image.rules.wires < 2 ? 0 : TWO_WIRES;
    uint8_t i;

    if (converter_has_feed()) {
        flags |= WITH_FEED;
    }
    block.tick = whole_tick(converter_sample(0));
    block.lost = state.lost;
    block.flags = flags;
    state.lost = 0;
    for (i = 0; i < BLOCK; i++) {
        const struct sample *sample = converter_sample(i);
        *reading++ = sample->wire[0];
        *reading++ = sample->wire[1];
        if (flags & WITH_FEED) {
            *reading++ = sample->feed & SAMPLE_READING;
        }
    }
    link_tell(SW_SAMPLES, &block, (uint8_t)((uint8_t *)reading - (uint8_t *)&block));
}

static void drop(uint8_t samples)
{
    converter_done(samples);
    state.seen -= samples;
}

void samples_turn(void)
{
    while (state.seen < converter_waiting()) {
        struct sample *sample = converter_sample(state.seen);
        uint8_t tick = tick_of(sample);

        if (state.next_tick <= TICK_LOW && tick != state.next_tick) { /* samples are missing: a block has no holes */
            lose(state.seen + ((uint8_t)(tick - state.next_tick) & TICK_LOW));
            drop(state.seen);
            sample = converter_sample(0);
        }
        state.next_tick = (tick + 1u) & TICK_LOW;
        take(sample);
        state.seen++;
        if (!state.streaming) {
            drop(1);
        } else if (state.seen >= BLOCK && link_has_room(sizeof(struct block))) {
            tell_block();
            drop(BLOCK);
        } else if (converter_waiting() >= TOO_MANY && state.seen >= BLOCK) {
            counters_add(&counters.frames_lost, 1);
            lose(BLOCK);
            drop(BLOCK);
        }
    }
}
