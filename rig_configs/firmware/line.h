// Frames of the line protocol: BODY*CCCC. Said piece by piece straight into the serial ring,
// heard byte by byte until a line is whole.
#pragma once

#include <avr/pgmspace.h>
#include <stdint.h>

namespace line {

// The longest body, and a whole frame: *, four digits, line feed.
constexpr uint8_t LONGEST_BODY = 90, LONGEST_FRAME = LONGEST_BODY + 6;

// Saying: every piece goes into the checksum, `end` says it. Whoever begins has looked for room.
void text(PGM_P piece);
void letter(char one);
void number(int32_t value);
void unsigned_number(uint32_t value);
void end();

// Hearing: true once a good frame is whole; its body is then in `body`, ended by a 0.
// Anything else is counted in `dropped` and forgotten.
bool hear(uint8_t byte);
extern char body[LONGEST_BODY + 1];
extern uint16_t dropped;

// A whole number over all of [from, to): false where it is none or does not fit.
bool whole(const char *from, const char *to, int32_t &value);

}  // namespace line
