#include "encoder.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <util/atomic.h>

#include "config.h"
#include "pins.h"

namespace encoder {

namespace {

volatile int32_t counts;
uint8_t before;  // B and A as they were, in bits 1 and 0

// From before (bits 3 and 2) to now (1 and 0): on, back, or neither. Two edges at once say
// nothing about the way and are left out: the stall watch sees what is lost so.
constexpr int8_t STEP[16] = {0, 1, -1, 0, -1, 0, 0, 1, 1, 0, 0, -1, 0, -1, 1, 0};

uint8_t phase() {
    const uint8_t seen = PINC;
    return (seen & pins::ENCODER_A ? 1 : 0) | (seen & pins::ENCODER_B ? 2 : 0);
}

}  // namespace

void begin() {
    PORTC |= pins::ENCODER_A | pins::ENCODER_B;
    before = phase();
    PCMSK1 = pins::ENCODER_A | pins::ENCODER_B;
    PCICR = 1 << PCIE1;
}

// With the edge that may be waiting for its interrupt.
int32_t count() { return counts + STEP[before << 2 | phase()]; }

int32_t safe_count() {
    int32_t now = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { now = count(); }
    return now;
}

void set(int32_t to) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        counts = to;
        before = phase();
    }
}

}  // namespace encoder

#if COUNT_ENCODER
ISR(PCINT1_vect) {
    using namespace encoder;
    const uint8_t now = phase();
    counts = counts + STEP[before << 2 | now];
    before = now;
}
#endif
