// The port: two rings of bytes, emptied and filled by interrupts.
#pragma once

#include <stdint.h>

namespace serial {

void begin();

// The next byte that was heard, or -1.
int16_t hear();
bool heard();

// How many bytes can be said without waiting. Nothing here ever waits.
uint8_t room();
void say(uint8_t byte);

}  // namespace serial
