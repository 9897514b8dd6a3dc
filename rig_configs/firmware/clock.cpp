#include "clock.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

namespace clock {

namespace {
volatile uint32_t turns;  // of 32768 us
}

void begin() {
    TCCR1A = 0;
    TCCR1B = 1 << CS11;  // 16 MHz / 8
    TIMSK1 = 1 << TOIE1 | 1 << OCIE1A | 1 << OCIE1B;
}

uint32_t now_us() {
    const uint16_t count = TCNT1;
    uint32_t whole = turns;
    // It may have turned over while interrupts were off.
    if ((TIFR1 & 1 << TOV1) && count < 0x8000) whole++;
    return (whole << 15) + (count >> 1);
}

uint32_t safe_now_us() {
    uint32_t us = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { us = now_us(); }
    return us;
}

uint16_t stretch(uint32_t &ticks) {
    // Never a rest too short to be set up in time.
    const uint16_t part = ticks > 30000 ? 15000 : static_cast<uint16_t>(ticks);
    ticks -= part;
    return part;
}

}  // namespace clock

ISR(TIMER1_OVF_vect) { clock::turns++; }
