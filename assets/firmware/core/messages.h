/* The link's messages, and what the box answers when something is wrong. Frames and layouts are
 * written down in DEVELOPERS.md, "The link"; the library's room `wire` says the same in Rust, and a
 * test holds the two together line by line. */
#ifndef SW_MESSAGES_H
#define SW_MESSAGES_H

#define SW_PROTOCOL 1u

/* Asked by the laptop. The answer has the same number with SW_REPLY set, and begins with a fault. */
#define SW_IDENTIFY 0x01u
#define SW_STREAM 0x02u
#define SW_REFERENCE 0x03u
#define SW_LISTEN 0x04u
#define SW_SEND 0x05u
#define SW_WRITE_BEGIN 0x06u
#define SW_WRITE_DATA 0x07u
#define SW_WRITE_END 0x08u
#define SW_READ 0x09u
#define SW_WATCH 0x0Au
#define SW_COUNTERS 0x0Bu
#define SW_RATE 0x0Cu
#define SW_CALIBRATE 0x0Du
#define SW_RESTART 0x0Eu
#define SW_REPLY 0x80u

/* Told by the box of itself. */
#define SW_BOOTED 0xC0u
#define SW_SAMPLES 0xC1u
#define SW_DECISION 0xC2u
#define SW_CAPTURE 0xC3u
#define SW_SENT 0xC4u

/* Faults. The words are those of the library. */
#define SW_FAULT_NONE 0u          /* Done. */
#define SW_FAULT_UNKNOWN 1u       /* The box does not know this message. */
#define SW_FAULT_LENGTH 2u        /* The message has the wrong length. */
#define SW_FAULT_VALUE 3u         /* A value in the message is out of its range. */
#define SW_FAULT_BUSY 4u          /* The box is busy with something else. */
#define SW_FAULT_SUPPLY 5u        /* The supply is too low to write safely. */
#define SW_FAULT_NO_IMAGE 6u      /* The box holds no image. */
#define SW_FAULT_TOO_LONG 7u      /* The image is longer than a slot. */
#define SW_FAULT_CHECK 8u         /* The image did not arrive whole. */
#define SW_FAULT_FORMAT 9u        /* The image is of a format this firmware does not know. */
#define SW_FAULT_CONTENTS 10u     /* The image holds something the box can't use. */
#define SW_FAULT_REFERENCE 11u    /* The converter's reference has not been named. */
#define SW_FAULT_WORN 12u         /* The memory did not keep what was written. */
#define SW_FAULT_ORDER 13u        /* A write was not begun, or came out of order. */
#define SW_FAULT_CODE 14u         /* The code can't be sent. */

#endif
