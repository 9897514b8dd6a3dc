// What reads: an indicator or an analogue input, whichever is built in.
#pragma once

#include <stdint.h>

#include "config.h"

namespace sensor {

// As it came, taken down in an interrupt; made a reading of later.
#if SENSOR_INDICATOR
struct Taken {
    uint8_t bits;      // how many of the frame came
    uint8_t frame[7];  // two nibbles a byte, the first one low
};
#else
struct Taken {
    bool whole;
    uint16_t sum;
};
#endif

struct Reading {
    int32_t raw;
    bool valid;
};

void begin();

// From the sampler's interrupt, at the moment of the sample: what there is to take goes to `to`,
// at once or until the next is asked for.
void ask(Taken &to);

// Whether it is all there.
bool complete(const Taken &taken);

Reading read(const Taken &taken);

}  // namespace sensor
