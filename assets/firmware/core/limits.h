/* What the box can hold and how fine it measures. One place: the laptop is told these by identify,
 * and a test holds the library's own figures against them. */
#ifndef SW_LIMITS_H
#define SW_LIMITS_H

#define SW_WIRES 2u
#define SW_BUTTONS_MAX 16u
#define SW_PAIRS_MAX 48u
#define SW_COMMANDS_MAX 32u

/* A level is a count with its fraction: steps of 1/32 of a 10-bit count. */
#define SW_LEVEL_PER_COUNT 32u
#define SW_COUNT_TOP 1023u

/* One tick is one sample of every wire: 1 kHz. */
#define SW_TICKS_PER_S 1000u
#define SW_DWELL_MAX_TICKS 64u

/* A code: timings of one frame (marks and spaces, mark first), and how many distinct ones. */
#define SW_TIMINGS_MAX 199u
#define SW_DISTINCT_MAX 8u
/* The shortest mark or space that is sent, in microseconds: the output's interrupt has to keep up. */
#define SW_LEAST_PULSE_US 50u

/* A captured remote: edges kept, and the step of a timing in microseconds. */
#define SW_CAPTURE_EDGES 200u
#define SW_CAPTURE_STEP_US 2u
/* A space this long ends a capture, in microseconds: NEC repeats come 40 to 98 ms after a frame. */
#define SW_CAPTURE_GAP_US 125000uL

/* The image: two slots in EEPROM, then what is kept beside them. */
#define SW_SLOT_BYTES 480u
#define SW_SLOT_HEADER 8u
#define SW_BODY_MAX (SW_SLOT_BYTES - SW_SLOT_HEADER)
#define SW_TAIL_START (2u * SW_SLOT_BYTES)

/* A frame of the link: the most bytes of its payload. */
#define SW_PAYLOAD_MAX 96u

#endif
