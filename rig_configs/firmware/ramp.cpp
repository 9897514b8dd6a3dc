// An even acceleration a makes step n after sqrt(2 n / a) seconds. The intervals follow one
// another, to first order in 1/n, as c(n) = c(n-1) - 2 c(n-1) / (4 n + 1); from c(0) that is
// 0.676 of the exact first interval, an error of a few per cent is left in the first steps only.
#include "ramp.h"

#include <util/atomic.h>

#include "clock.h"
#include "config.h"

namespace ramp {

namespace {

constexpr uint32_t root(uint32_t of, uint32_t low = 0, uint32_t high = 65535) {
    return low >= high ? low
           : static_cast<uint64_t>((low + high + 1) / 2) * ((low + high + 1) / 2) <= of
               ? root(of, (low + high + 1) / 2, high)
               : root(of, low, (low + high + 1) / 2 - 1);
}

// In 1/256 ticks: 0.676 * TICKS_HZ * sqrt(2 / a). The root is taken of a scaled by 2^16.
constexpr uint8_t FINE = 8;
constexpr uint32_t ROOT = root((2ULL << 30) / config::ACCELERATION);  // 2^15 * sqrt(2 / a)
constexpr uint32_t FIRST = (676ULL * clock::TICKS_HZ / 1000 * ROOT << FINE) >> 15;

uint32_t now;     // the present interval, 1/256 ticks
uint32_t target;  // that of the rate asked for
uint16_t speed;   // steps from rest to this speed, and from it to rest
volatile uint32_t whole;

}  // namespace

void begin(uint32_t rate) {
    target = (clock::TICKS_HZ << FINE) / rate;
    now = target < FIRST ? FIRST : target;
    speed = 0;
    whole = now >> FINE;
}

uint32_t interval() { return whole; }

void next(uint32_t left) {
    uint16_t steps = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { steps = speed; }
    if (left <= steps) {
        if (steps > 1) steps--;
        if (now < FIRST) now += 2 * now / (4UL * steps + 1);
    } else if (now > target) {
        steps++;
        now -= 2 * now / (4UL * steps + 1);
        if (now < target) now = target;
    } else {
        return;
    }
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        speed = steps;
        whole = now >> FINE;
    }
}

uint32_t brake() {
    speed = (speed + config::HALT_IS_TIMES - 1) / config::HALT_IS_TIMES;
    return speed;
}

}  // namespace ramp
