/* Flash is short, and a variable reached by its address costs four bytes of it each time. A part that
 * keeps much keeps it in one structure and reaches it through a pointer the compiler can't see
 * through: two bytes each time. */
#ifndef SW_NEAR_H
#define SW_NEAR_H

static inline void *near(void *object)
{
    __asm__("" : "+r"(object));
    return object;
}

#endif
