/* The recogniser. */
#include "recogniser.h"
#include <string.h> /* memset */
#include "flash.h"  /* SW_APART */
#include "level.h"

SW_APART static uint16_t middle(uint16_t a, uint16_t b, uint16_t c)
{
    uint16_t low = a < b ? a : b;
    uint16_t high = a < b ? b : a;

    return c < low ? low : c > high ? high : c;
}

/* What a level of a wire, 0 or 1, lies in. Rest comes first: where bands were made to overlap, nothing is
 * pressed. */
static uint8_t label_of(const struct sw_rules *rules, uint8_t wire, uint16_t level)
{
    uint16_t count = level / SW_LEVEL_PER_COUNT;
    const struct sw_band *band = rules->band + wire;
    uint8_t button;

    if (wire >= rules->wires)
        return SW_LABEL_REST;
    if (level == SW_LEVEL_NONE)
        return SW_LABEL_NONE;
    if (count >= band->low && count <= band->high)
        return SW_LABEL_REST;
    band = rules->band + rules->wires;
    for (button = 0; button < rules->buttons; button++, band++) {
        uint16_t low = wire ? band->low ^ SW_ON_SECOND_WIRE : band->low; /* the other wire's is above all counts */
        if (count >= low && count <= band->high)
            return button;
    }
    return SW_LABEL_NONE;
}

/* There is room: a tick has four events at most, where a press rolls over. */
SW_APART static void tell(struct sw_recogniser *r, uint8_t kind, uint8_t button)
{
    struct sw_event *event = &r->event[r->told++];

    event->level = r->settled_level;
    event->ticks = r->away_ticks;
    event->kind = kind;
    event->button = button;
    event->wire = r->owner; /* what is pressed hangs on the wire that owns the press */
    if (kind == SW_EVENT_TAP && button == r->tapped) {
        event->level = r->tapped_level;
        event->wire = r->tapped_wire;
    }
}

/* A tap, where it leads anywhere. */
static void tap(struct sw_recogniser *r, const struct sw_rules *rules, uint8_t button)
{
    if (rules->has[button] & SW_HAS_TAP)
        tell(r, SW_EVENT_TAP, button);
}

/* The first tap of what might have been a double tap stays alone. */
static void tap_alone(struct sw_recogniser *r, const struct sw_rules *rules)
{
    if (r->tapped != SW_NO_BUTTON)
        tap(r, rules, r->tapped);
    r->tapped = SW_NO_BUTTON;
}

static void let_go(struct sw_recogniser *r, const struct sw_rules *rules)
{
    uint8_t button = r->pressed;

    r->pressed = SW_NO_BUTTON;
    tell(r, SW_EVENT_RELEASED, button);
    if (!r->waiting)
        return;
    if (rules->has[button] & SW_HAS_DOUBLE_TAP) {
        r->tapped = button;
        r->tapped_wire = r->owner;
        r->tapped_level = r->settled_level;
        r->since_tap_ticks = 0;
    } else {
        tap(r, rules, button);
    }
}

static void press(struct sw_recogniser *r, const struct sw_rules *rules, uint16_t level)
{
    uint8_t button = r->label;
    uint8_t again = r->tapped == button;

    if (again)
        r->tapped = SW_NO_BUTTON;
    else
        tap_alone(r, rules);
    r->settled_level = level;
    r->pressed = button;
    r->pressed_ticks = 0;
    r->off = 0;
    r->armed = 0;
    r->waiting = 0;
    tell(r, SW_EVENT_PRESSED, button);
    if (again)
        tell(r, SW_EVENT_DOUBLE_TAP, button);
    else if (rules->has[button] & (SW_HAS_HOLD | SW_HAS_DOUBLE_TAP))
        r->waiting = 1;
    else
        tap(r, rules, button);
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
static void follow(struct sw_recogniser *r, const struct sw_rules *rules, const struct sw_wire *wire)
{
    if (wire->label != r->label) {
        r->label = wire->label;
        r->run = 0;
        r->at = 0;
    }
    if (r->run < rules->dwell_ticks)
        r->run++;
    r->ring[r->at] = wire->level;
    r->at++;
    if (r->at >= rules->dwell_ticks)
        r->at = 0;
}

static void at_rest(struct sw_recogniser *r, const struct sw_rules *rules)
{
    if (r->run < rules->dwell_ticks)
        return;
    if (r->pressed != SW_NO_BUTTON)
        let_go(r, rules);
    else if (r->owner && r->armed == 1u && r->away_ticks > rules->dwell_ticks + 1u)
        tell(r, SW_EVENT_UNDECIDED, SW_NO_BUTTON);
    r->owner = 0;
    r->armed = 1;
}

static void away(struct sw_recogniser *r, const struct sw_rules *rules, uint16_t level)
{
    uint16_t at = level;
    uint8_t rollover = rules->flags & SW_RULES_ROLLOVER;
    uint8_t may_press = rollover;
    uint8_t patience = rules->dwell_ticks;

    if (r->pressed == SW_NO_BUTTON) {
        r->settled_level = level;
        may_press = r->armed;
    } else if (r->label == r->pressed) {
        r->off = 0;
        if (r->waiting && (rules->has[r->label] & SW_HAS_HOLD) && r->pressed_ticks >= rules->hold_ticks) {
            r->waiting = 0;
            tell(r, SW_EVENT_HOLD, r->label);
        }
        return;
    }
    if (may_press && r->label < SW_LABEL_REST && settled(r, rules, &at)) {
        if (r->pressed != SW_NO_BUTTON)
            let_go(r, rules);
        press(r, rules, at);
        return;
    }
    if (r->pressed == SW_NO_BUTTON)
        return;
    /* With roll-over the next button gets a dwell of its own to settle in; armed by 2 it is no undecided
     * press if nothing comes of it. */
    r->off++;
    if (rollover)
        patience = (uint8_t)(patience * 2u); /* 128 at most */
    if (r->off >= patience) {
        let_go(r, rules);
        if (rollover)
            r->armed = 2;
    }
}

void sw_recogniser_start(struct sw_recogniser *r)
{
    memset(r, 0, sizeof *r);
    r->label = SW_LABEL_NONE;
    r->pressed = SW_NO_BUTTON;
    r->tapped = SW_NO_BUTTON;
}

/* One tick more, held at the top. */
static void count(uint16_t *ticks)
{
    (*ticks)++;
    if (*ticks == 0)
        *ticks = UINT16_MAX;
}

SW_APART void sw_recogniser_tick(struct sw_recogniser *r, const struct sw_rules *rules,
                                 const uint16_t level[SW_WIRES])
{
    struct sw_wire *wire = r->wire;
    uint8_t resting, i;

    r->told = 0;
    r->rejected = 0;
    for (i = 0; i < SW_WIRES; i++, wire++) {
        wire->level = middle(wire->past[0], wire->past[1], level[i]);
        wire->past[0] = wire->past[1];
        wire->past[1] = level[i];
        wire->label = label_of(rules, i, wire->level);
        if (wire->label == SW_LABEL_NONE)
            r->rejected = 1;
    }
    if (r->filled < 2u) {
        r->filled++;
        r->rejected = 0;
        return;
    }

    count(&r->pressed_ticks);
    count(&r->away_ticks);
    if (r->tapped != SW_NO_BUTTON && r->since_tap_ticks++ >= rules->double_ticks)
        tap_alone(r, rules);

    wire = r->wire;
    resting = wire[0].label == SW_LABEL_REST && wire[1].label == SW_LABEL_REST;
    if (!resting) {
        if (!r->owner) {
            r->owner = wire->label != SW_LABEL_REST ? 1u : 2u;
            r->away_ticks = 0;
        }
        if (r->owner == 2u)
            wire++;
        /* The owner is at rest while the other wire is not: neither rest nor a button. */
        if (wire->label == SW_LABEL_REST)
            wire->label = SW_LABEL_NONE;
    }
    follow(r, rules, wire);
    if (resting)
        at_rest(r, rules);
    else
        away(r, rules, wire->level);
}
