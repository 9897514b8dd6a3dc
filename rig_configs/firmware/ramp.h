// How long from step to step: a standing start, an even rise to the rate, an even fall to rest.
#pragma once

#include <stdint.h>

namespace ramp {

// From rest, up to this rate, steps a second.
void begin(uint32_t rate);

// Ticks to the coming step. Only with interrupts off.
uint32_t interval();

// Works out the interval after this one; `left`: steps still to make after the coming one.
void next(uint32_t left);

// Falls HALT_IS_TIMES as fast from now on; how many steps that takes. Only with interrupts off.
uint32_t brake();

}  // namespace ramp
