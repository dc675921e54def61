/* Why the program started: see reset.h. */
#include "reset.h"
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/wdt.h>
#include "counters.h"

/* MCUSR as it was, and r2, in which a bootloader that clears MCUSR may hand its value on. This program
 * is compiled to leave r2 alone (Makefile), so that a bootloader that hands nothing on leaves the 0
 * written here. */
static uint8_t flags __attribute__((section(".noinit")));
static uint8_t handed __attribute__((section(".noinit")));
static uint8_t cause;

/* Runs before memory is set up: after a watchdog reset the watchdog runs on at 16 ms. */
__attribute__((naked, used, section(".init3"))) void reset_catch(void);
void reset_catch(void)
{
    __asm__ volatile("mov %0, r2\n\tclr r2" : "=r"(handed));
    flags = MCUSR;
    MCUSR = 0;
    wdt_enable(WDTO_250MS);
}

void reset_start(void)
{
    uint8_t survived = counters_survived();
    uint8_t from = flags;

    if (!from) {                        /* a bootloader has cleared it */
        from = survived ? handed : _BV(PORF);
        if (survived && from & (uint8_t)~(_BV(EXTRF) | _BV(BORF) | _BV(WDRF))) {
            from = 0;                   /* no value of MCUSR, or one that the memory belies */
        }
    }
    cause = from & _BV(PORF)   ? CAUSE_POWER_ON
            : from & _BV(BORF) ? CAUSE_BROWN_OUT
            : from & _BV(WDRF) ? CAUSE_WATCHDOG
                               : CAUSE_EXTERNAL;
    if (!survived || cause == CAUSE_POWER_ON) {
        counters_clear();
    }
    counters_count(COUNT_STARTS + cause);
}

uint8_t reset_cause(void)
{
    return cause;
}

void watchdog_serve(void)
{
    wdt_reset();
}

void reset_now(void)
{
    cli();
    for (;;) {
    }
}
