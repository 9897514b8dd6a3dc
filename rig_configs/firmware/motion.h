// What is asked of the carriage: moves, homing, halts; and what it watches on the way: end stops
// and a carriage that does not follow.
#pragma once

#include <avr/pgmspace.h>
#include <stdint.h>

namespace motion {

void begin();

// Looks after the move under way. Called every few milliseconds at the latest.
void turn();
bool moving();

// Where the carriage stands, in counts.
int32_t x();
int32_t y();

// Why it cannot set off, or null. Whoever asks for what is being done already is told that it is.
PGM_P move(int32_t to_x, int32_t to_y, uint16_t speed);
PGM_P home();

// Always possible; `halted` comes when it stands.
void halt();

}  // namespace motion
