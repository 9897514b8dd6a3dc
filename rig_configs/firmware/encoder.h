// A quadrature encoder on the carriage's screw or rail, four counts a period, by interrupt.
#pragma once

#include <stdint.h>

namespace encoder {

void begin();

// Counts; `count` only with interrupts off.
int32_t count();
int32_t safe_count();
void set(int32_t to);

}  // namespace encoder
