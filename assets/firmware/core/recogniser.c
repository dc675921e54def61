/* The recogniser. */
#include "recogniser.h"
#include "level.h"

static uint16_t middle(uint16_t a, uint16_t b, uint16_t c)
{
    uint16_t low = a < b ? a : b;
    uint16_t high = a < b ? b : a;

    return c < low ? low : c > high ? high : c;
}

static uint8_t holds(const struct sw_band *band, uint16_t count)
{
    return count >= band->low && count <= band->high;
}

static uint8_t wire_of(const struct sw_rules *rules, uint8_t button)
{
    return (rules->second_wire >> button) & 1u ? 2u : 1u;
}

/* What a level of a wire lies in. Rest comes first: where bands were made to overlap, nothing is
 * pressed. */
static uint8_t label_of(const struct sw_rules *rules, uint8_t wire, uint16_t level)
{
    uint16_t count = level / SW_LEVEL_PER_COUNT;
    uint8_t button;

    if (level == SW_LEVEL_NONE)
        return SW_LABEL_NONE;
    if (holds(&rules->rest[wire - 1u], count))
        return SW_LABEL_REST;
    for (button = 0; button < rules->buttons; button++)
        if (wire_of(rules, button) == wire && holds(&rules->band[button], count))
            return button;
    return SW_LABEL_NONE;
}

/* The events of one tick. */
struct told {
    struct sw_event *events;
    uint8_t count;
};

static void tell(struct told *told, const struct sw_recogniser *r, uint8_t kind, uint8_t button, uint8_t wire)
{
    struct sw_event *event;

    if (told->count >= SW_EVENTS_PER_TICK)
        return;
    event = &told->events[told->count++];
    event->level = r->settled_level;
    event->ticks = r->away_ticks;
    event->kind = kind;
    event->button = button;
    event->wire = wire;
    event->spare = 0;
}

/* The first tap of what might have been a double tap stays alone. */
static void tap_alone(struct sw_recogniser *r, const struct sw_rules *rules, struct told *told)
{
    uint8_t button = r->tapped;

    r->tapped = SW_NO_BUTTON;
    if (button != SW_NO_BUTTON && (rules->has[button] & SW_HAS_TAP))
        tell(told, r, SW_EVENT_TAP, button, wire_of(rules, button));
}

static void let_go(struct sw_recogniser *r, const struct sw_rules *rules, struct told *told)
{
    uint8_t button = r->pressed;
    uint8_t wire = wire_of(rules, button);

    r->pressed = SW_NO_BUTTON;
    tell(told, r, SW_EVENT_RELEASED, button, wire);
    if (r->waiting) {
        if (rules->has[button] & SW_HAS_DOUBLE_TAP) {
            r->tapped = button;
            r->since_tap_ticks = 0;
        } else if (rules->has[button] & SW_HAS_TAP) {
            tell(told, r, SW_EVENT_TAP, button, wire);
        }
        r->waiting = 0;
    }
}

static void press(struct sw_recogniser *r, const struct sw_rules *rules, uint8_t button, uint16_t level,
                  struct told *told)
{
    uint8_t has = rules->has[button];
    uint8_t again = r->tapped == button;

    if (!again)
        tap_alone(r, rules, told);
    r->settled_level = level;
    r->pressed = button;
    r->pressed_ticks = 0;
    r->off = 0;
    r->armed = 0;
    tell(told, r, SW_EVENT_PRESSED, button, wire_of(rules, button));
    if (again) {
        r->tapped = SW_NO_BUTTON;
        r->waiting = 0;
        tell(told, r, SW_EVENT_DOUBLE_TAP, button, wire_of(rules, button));
    } else if (has & (SW_HAS_HOLD | SW_HAS_DOUBLE_TAP)) {
        r->waiting = 1;
    } else {
        r->waiting = 0;
        if (has & SW_HAS_TAP)
            tell(told, r, SW_EVENT_TAP, button, wire_of(rules, button));
    }
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
static void follow(struct sw_recogniser *r, const struct sw_rules *rules, uint8_t label, uint16_t level)
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

static void at_rest(struct sw_recogniser *r, const struct sw_rules *rules, struct told *told)
{
    if (r->run < rules->dwell_ticks)
        return;
    if (r->pressed != SW_NO_BUTTON)
        let_go(r, rules, told);
    else if (r->owner && r->armed && r->away_ticks > rules->dwell_ticks + 1u)
        tell(told, r, SW_EVENT_UNDECIDED, SW_NO_BUTTON, r->owner);
    r->owner = 0;
    r->armed = 1;
}

static void away(struct sw_recogniser *r, const struct sw_rules *rules, uint16_t level, struct told *told)
{
    uint16_t at = level;
    uint8_t is_settled = r->label < SW_LABEL_REST && settled(r, rules, &at);

    if (r->pressed == SW_NO_BUTTON) {
        r->settled_level = level;
        if (is_settled && r->armed)
            press(r, rules, r->label, at, told);
        return;
    }
    if (r->label == r->pressed) {
        r->off = 0;
        if (r->waiting && (rules->has[r->pressed] & SW_HAS_HOLD) && r->pressed_ticks >= rules->hold_ticks) {
            r->waiting = 0;
            tell(told, r, SW_EVENT_HOLD, r->pressed, wire_of(rules, r->pressed));
        }
        return;
    }
    if (is_settled && rules->rollover) {
        let_go(r, rules, told);
        press(r, rules, r->label, at, told);
        return;
    }
    /* Two dwells are at most 128. With roll-over the next button gets one of its own to settle in. */
    r->off++;
    if (r->off >= (rules->rollover ? 2u : 1u) * rules->dwell_ticks) {
        let_go(r, rules, told);
        r->armed = rules->rollover;
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

uint8_t sw_recogniser_tick(struct sw_recogniser *r, const struct sw_rules *rules, const uint16_t level[SW_WIRES],
                           struct sw_event events[SW_EVENTS_PER_TICK])
{
    struct told told = { events, 0 };
    uint16_t clean[SW_WIRES];
    uint8_t label[SW_WIRES] = { SW_LABEL_REST, SW_LABEL_REST };
    uint8_t wire;

    for (wire = 0; wire < SW_WIRES; wire++) {
        clean[wire] = middle(r->past[wire][0], r->past[wire][1], level[wire]);
        r->past[wire][0] = r->past[wire][1];
        r->past[wire][1] = level[wire];
    }
    r->rejected = 0;
    if (r->filled < 2u) {
        r->filled++;
        return 0;
    }
    for (wire = 0; wire < rules->wires; wire++) {
        label[wire] = label_of(rules, (uint8_t)(wire + 1u), clean[wire]);
        if (label[wire] == SW_LABEL_NONE)
            r->rejected = 1;
    }

    if (r->pressed != SW_NO_BUTTON && r->pressed_ticks < UINT16_MAX)
        r->pressed_ticks++;
    if ((r->owner || r->tapped != SW_NO_BUTTON) && r->away_ticks < UINT16_MAX)
        r->away_ticks++;
    if (r->tapped != SW_NO_BUTTON) {
        if (r->since_tap_ticks >= rules->double_ticks)
            tap_alone(r, rules, &told);
        else
            r->since_tap_ticks++;
    }

    if (label[0] == SW_LABEL_REST && label[1] == SW_LABEL_REST) {
        follow(r, rules, SW_LABEL_REST, clean[0]);
        at_rest(r, rules, &told);
        return told.count;
    }
    if (!r->owner) {
        r->owner = label[0] != SW_LABEL_REST ? 1u : 2u;
        r->away_ticks = 0;
    }
    /* The owner is at rest while the other wire is not: neither rest nor a button. */
    wire = (uint8_t)(r->owner - 1u);
    if (label[wire] == SW_LABEL_REST)
        label[wire] = SW_LABEL_NONE;
    follow(r, rules, label[wire], clean[wire]);
    away(r, rules, clean[wire], &told);
    return told.count;
}
