// One 16-bit timer for all: it counts half microseconds, its overflows make the clock, its two
// comparators the steps (A, drive.cpp) and the samples (B, sampler.cpp).
#pragma once

#include <stdint.h>

namespace clock {

constexpr uint32_t TICKS_HZ = 2000000;

void begin();

// Microseconds since the reset; wraps after 4294967295. Only with interrupts off.
uint32_t now_us();

// The same, from anywhere.
uint32_t safe_now_us();

// One stretch of a wait that a 16-bit comparator can make; what is left over stays in `ticks`.
uint16_t stretch(uint32_t &ticks);

}  // namespace clock
