// What happened, waiting for room on the line.
#pragma once

#include <stdint.h>

namespace events {

enum Word : uint8_t { ARRIVED, HOMED, HALTED, ENDSTOP, OVERRANGE, STALLED, NO_STOP, RESET };

// At this moment. `lost` is said with STALLED: counts that the carriage stayed behind.
void happened(Word word, int32_t lost = 0);

// Says at most one, where there is room.
void turn();
bool waiting();

// Says one at once, past those that wait; the caller has looked for room.
void say(Word word, uint32_t t_us, int32_t lost = 0);
constexpr uint8_t LONGEST = 64;

}  // namespace events
