// Samples: all numbers of one latched in one interrupt, at an even rate, put into text later.
#pragma once

#include <stdint.h>

namespace sampler {

// The first sample is due one period from now; asked anew it begins anew.
void start(uint16_t rate_hz);
void stop();

// Says at most one sample, and before it that the sensor went out of range, where there is room.
void turn();
bool waiting();
constexpr uint8_t LONGEST = 70;

}  // namespace sampler
