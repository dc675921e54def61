/* Answers the laptop. */
#ifndef SW_SERVE_H
#define SW_SERVE_H

/* Reads what the chip says of itself, and tells that the box has started. */
void serve_start(void);
/* Once a turn of the main loop. */
void serve_turn(void);

#endif
