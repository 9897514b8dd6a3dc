// The clocked serial output that many digital indicators have: pulled low, the request line has
// the indicator send 52 bits, 13 nibbles, each lowest bit first, to be read where the clock
// falls. Nibbles 1 to 4 are all ones, 5 is the sign (0 or 8), 6 to 11 six digits, the highest
// first, 12 how many digits stand behind the point, 13 the unit (0 mm, 1 inch).
#include "config.h"
#if SENSOR_INDICATOR
#include <avr/interrupt.h>
#include <avr/io.h>

#include "pins.h"
#include "sensor.h"

namespace sensor {

namespace {

constexpr uint8_t BITS = 52;
Taken nowhere = {BITS, {}};
Taken *volatile to = &nowhere;

uint8_t nibble(const Taken &taken, uint8_t number) {
    const uint8_t pair = taken.frame[(number - 1) / 2];
    return number % 2 ? pair & 0xF : pair >> 4;
}

}  // namespace

void begin() {
    PORTD |= pins::CLOCK | pins::DATA;
    PORTD &= ~pins::REQUEST;
    // The edge where the indicator's clock falls, as it arrives here.
    EICRA = config::INDICATOR_INVERTED ? 1 << ISC01 | 1 << ISC00 : 1 << ISC01;
    EIMSK = 1 << INT0;
}

// The request is open drain: low, or left to the indicator's own pull-up. One that is still low
// was not heard: it is let go, so that the next can be.
void ask(Taken &into) {
    into.bits = 0;
    to = &into;
    DDRD ^= pins::REQUEST;
}

bool complete(const Taken &taken) { return taken.bits == BITS; }

// A frame that is cut, shifted or in another unit is no reading; it is not guessed at.
Reading read(const Taken &taken) {
    const Reading none = {0, false};
    if (!complete(taken) || taken.frame[0] != 0xFF || taken.frame[1] != 0xFF) return none;
    const uint8_t sign = nibble(taken, 5);
    if (sign != 0 && sign != 8) return none;
    if (nibble(taken, 12) != config::INDICATOR_DECIMALS || nibble(taken, 13) != 0) return none;
    int32_t raw = 0;
    for (uint8_t number = 6; number <= 11; number++) {
        const uint8_t digit = nibble(taken, number);
        if (digit > 9) return none;
        raw = raw * 10 + digit;
    }
    return {sign ? -raw : raw, true};
}

}  // namespace sensor

// Short: at 40 us a bit it comes 25000 times a second.
ISR(INT0_vect) {
    using namespace sensor;
    const uint8_t seen = PIND;
    DDRD &= ~pins::REQUEST;
    Taken *const taken = to;
    const uint8_t bits = taken->bits;
    if (bits >= BITS) return;
    uint8_t pair = taken->frame[bits >> 3] >> 1;
    if (((seen & pins::DATA) != 0) != (config::INDICATOR_INVERTED != 0)) pair |= 0x80;
    if (bits == BITS - 1) pair >>= 4;
    taken->frame[bits >> 3] = pair;
    taken->bits = bits + 1;
}
#endif
