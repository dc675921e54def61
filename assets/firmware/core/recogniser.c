/* The recogniser. */
#include "recogniser.h"
#include "flash.h" /* SW_APART */
#include "level.h"

static uint16_t middle(uint16_t a, uint16_t b, uint16_t c)
{
    uint16_t low = a < b ? a : b;
    uint16_t high = a < b ? b : a;

    return c < low ? low : c > high ? high : c;
}

/* The wire of a button, 1 or 2. */
static uint8_t wire_of(const struct sw_rules *rules, uint8_t button)
{
    return rules->band[rules->wires + button].low & SW_ON_SECOND_WIRE ? 2u : 1u;
}

/* What a level of a wire, 0 or 1, lies in. Rest comes first: where bands were made to overlap, nothing is
 * pressed. */
static uint8_t label_of(const struct sw_rules *rules, uint8_t wire, uint16_t level)
{
    uint16_t count = level / SW_LEVEL_PER_COUNT;
    const struct sw_band *band = rules->band;
    uint8_t button;

    if (level == SW_LEVEL_NONE)
        return SW_LABEL_NONE;
    if (count >= band[wire].low && count <= band[wire].high)
        return SW_LABEL_REST;
    band += rules->wires;
    for (button = 0; button < rules->buttons; button++, band++) {
        uint16_t low = wire ? band->low ^ SW_ON_SECOND_WIRE : band->low; /* the other wire's is above all counts */
        if (count >= low && count <= band->high)
            return button;
    }
    return SW_LABEL_NONE;
}

/* Where the next event of this tick goes. There are four at most: a press rolls over. */
typedef struct sw_event *told;

static void tell(told *next, const struct sw_recogniser *r, const struct sw_rules *rules, uint8_t kind,
                 uint8_t button)
{
    struct sw_event *event = (*next)++;

    event->level = kind == SW_EVENT_TAP && button == r->tapped ? r->tapped_level : r->settled_level;
    event->ticks = r->away_ticks;
    event->kind = kind;
    event->button = button;
    event->wire = button == SW_NO_BUTTON ? r->owner : wire_of(rules, button);
    event->spare = 0;
}

/* A tap, where it leads anywhere. */
static void tap(told *next, const struct sw_recogniser *r, const struct sw_rules *rules, uint8_t button)
{
    if (rules->has[button] & SW_HAS_TAP)
        tell(next, r, rules, SW_EVENT_TAP, button);
}

/* The first tap of what might have been a double tap stays alone. */
static void tap_alone(told *next, struct sw_recogniser *r, const struct sw_rules *rules)
{
    if (r->tapped != SW_NO_BUTTON)
        tap(next, r, rules, r->tapped);
    r->tapped = SW_NO_BUTTON;
}

static void let_go(told *next, struct sw_recogniser *r, const struct sw_rules *rules)
{
    uint8_t button = r->pressed;

    r->pressed = SW_NO_BUTTON;
    tell(next, r, rules, SW_EVENT_RELEASED, button);
    if (!r->waiting)
        return;
    if (rules->has[button] & SW_HAS_DOUBLE_TAP) {
        r->tapped = button;
        r->tapped_level = r->settled_level;
        r->since_tap_ticks = 0;
    } else {
        tap(next, r, rules, button);
    }
}

static void press(told *next, struct sw_recogniser *r, const struct sw_rules *rules, uint16_t level)
{
    uint8_t button = r->label;
    uint8_t again = r->tapped == button;

    if (again)
        r->tapped = SW_NO_BUTTON;
    else
        tap_alone(next, r, rules);
    r->settled_level = level;
    r->pressed = button;
    r->pressed_ticks = 0;
    r->off = 0;
    r->armed = 0;
    r->waiting = 0;
    tell(next, r, rules, SW_EVENT_PRESSED, button);
    if (again)
        tell(next, r, rules, SW_EVENT_DOUBLE_TAP, button);
    else if (rules->has[button] & (SW_HAS_HOLD | SW_HAS_DOUBLE_TAP))
        r->waiting = 1;
    else
        tap(next, r, rules, button);
}

/* Whether the last dwell of levels stayed within the settle limit; `at` is their middle. */
static uint8_t settled(const struct sw_recogniser *r, const struct sw_rules *rules, uint16_t *at)
{
    uint16_t low = r->ring[0];
    uint16_t high = r->ring[0];
    uint8_t i;

    if (r->run < rules->dwell_ticks)
        return 0;
    for (i = 1; i < rules->dwell_ticks; i++) {
        uint16_t level = r->ring[i];

        if (level < low)
            low = level;
        if (level > high)
            high = level;
    }
    *at = (uint16_t)(low + (high - low) / 2u);
    return high - low <= rules->settle_levels;
}

/* One label more: how long it has held, and the levels it held with. */
SW_APART static void follow(struct sw_recogniser *r, const struct sw_rules *rules, uint8_t label, uint16_t level)
{
    if (label != r->label) {
        r->label = label;
        r->run = 0;
        r->at = 0;
    }
    if (r->run < rules->dwell_ticks)
        r->run++;
    r->ring[r->at] = level;
    r->at++;
    if (r->at >= rules->dwell_ticks)
        r->at = 0;
}

static void at_rest(told *next, struct sw_recogniser *r, const struct sw_rules *rules)
{
    if (r->run < rules->dwell_ticks)
        return;
    if (r->pressed != SW_NO_BUTTON)
        let_go(next, r, rules);
    else if (r->owner && r->armed == 1u && r->away_ticks > rules->dwell_ticks + 1u)
        tell(next, r, rules, SW_EVENT_UNDECIDED, SW_NO_BUTTON);
    r->owner = 0;
    r->armed = 1;
}

static void away(told *next, struct sw_recogniser *r, const struct sw_rules *rules, uint16_t level)
{
    uint16_t at = level;
    uint8_t rollover = rules->flags & SW_RULES_ROLLOVER;
    uint8_t may_press = rollover;

    if (r->pressed == SW_NO_BUTTON) {
        r->settled_level = level;
        may_press = r->armed;
    } else if (r->label == r->pressed) {
        r->off = 0;
        if (r->waiting && (rules->has[r->label] & SW_HAS_HOLD) && r->pressed_ticks >= rules->hold_ticks) {
            r->waiting = 0;
            tell(next, r, rules, SW_EVENT_HOLD, r->label);
        }
        return;
    }
    if (may_press && r->label < SW_LABEL_REST && settled(r, rules, &at)) {
        if (r->pressed != SW_NO_BUTTON)
            let_go(next, r, rules);
        press(next, r, rules, at);
        return;
    }
    if (r->pressed == SW_NO_BUTTON)
        return;
    /* Two dwells are at most 128. With roll-over the next button gets one of its own to settle in;
     * armed by 2 it is no undecided press if nothing comes of it. */
    r->off++;
    if (r->off >= (uint8_t)(rules->dwell_ticks << (rollover != 0u))) {
        let_go(next, r, rules);
        if (rollover)
            r->armed = 2;
    }
}

void sw_recogniser_start(struct sw_recogniser *r)
{
    uint8_t *bytes = (uint8_t *)r;
    uint16_t i;

    for (i = 0; i < sizeof *r; i++)
        bytes[i] = 0;
    r->label = SW_LABEL_NONE;
    r->pressed = SW_NO_BUTTON;
    r->tapped = SW_NO_BUTTON;
}

SW_APART uint8_t sw_recogniser_tick(struct sw_recogniser *r, const struct sw_rules *rules, const uint16_t level[SW_WIRES],
                           struct sw_event events[SW_EVENTS_PER_TICK])
{
    struct sw_event *next = events;
    uint16_t clean[SW_WIRES];
    uint8_t label[SW_WIRES];
    uint8_t wire;

    r->rejected = 0;
    for (wire = 0; wire < SW_WIRES; wire++) {
        uint16_t *past = r->past[wire];

        clean[wire] = middle(past[0], past[1], level[wire]);
        past[0] = past[1];
        past[1] = level[wire];
        label[wire] = wire < rules->wires ? label_of(rules, wire, clean[wire]) : SW_LABEL_REST;
        if (label[wire] == SW_LABEL_NONE)
            r->rejected = 1;
    }
    if (r->filled < 2u) {
        r->filled++;
        r->rejected = 0;
        return 0;
    }

    if (r->pressed_ticks < UINT16_MAX)
        r->pressed_ticks++;
    if (r->away_ticks < UINT16_MAX)
        r->away_ticks++;
    if (r->tapped != SW_NO_BUTTON && r->since_tap_ticks++ >= rules->double_ticks)
        tap_alone(&next, r, rules);

    if (label[0] == SW_LABEL_REST && label[1] == SW_LABEL_REST) {
        follow(r, rules, SW_LABEL_REST, clean[0]);
        at_rest(&next, r, rules);
    } else {
        if (!r->owner) {
            r->owner = label[0] != SW_LABEL_REST ? 1u : 2u;
            r->away_ticks = 0;
        }
        /* The owner is at rest while the other wire is not: neither rest nor a button. */
        wire = (uint8_t)(r->owner - 1u);
        if (label[wire] == SW_LABEL_REST)
            label[wire] = SW_LABEL_NONE;
        follow(r, rules, label[wire], clean[wire]);
        away(&next, r, rules, clean[wire]);
    }
    return (uint8_t)(next - events);
}
