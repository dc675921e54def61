/* What hangs on which pin of the ATmega328P. The README's table and the build sheet say the same. */
#ifndef SW_PINS_H
#define SW_PINS_H

#include <avr/io.h>

#define SENSE_WIRE_1 0u         /* converter channel: PC0, ADC0 */
#define SENSE_WIRE_2 1u         /* PC1, ADC1 */
#define SENSE_FEED 2u           /* PC2, ADC2 */
#define SENSES 3u               /* channels 0 to 2 */
#define RECEIVER_PIN PB0        /* ICP1: infrared receiver, low = mark */
#define LINE_PIN PB1            /* OC1A: the output transistor's base, high = line low = mark */
#define LED_PIN PB5             /* status LED, lit when high */
#define INFRARED_PIN PD3        /* OC2B: infrared LED, carrier in marks */
#define RECEIVE_PIN PD0         /* RXD: the link; PD1 is its TXD */

#endif
