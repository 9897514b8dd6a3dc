// Steps. A straight move of two axes: the longer one leads, the other follows it step for step;
// the speed rises and falls evenly. The timer's comparator raises the x step pin by itself, so
// that no other interrupt can delay a step of x.
#pragma once

#include <stdint.h>

namespace drive {

void begin();

// Sets off for so many steps at this rate of the leading axis, steps a second. Only at rest.
void go(int32_t dx, int32_t dy, uint32_t rate);

// Slows down as fast as may be without losing a step.
void slow_down();

// No further step.
void cut();

bool moving();

// Where it stands, in steps. `x_now` only with interrupts off: it counts a step whose pulse is
// out but whose interrupt waits.
int32_t x_now();
int32_t y_now();
int32_t safe_x();
int32_t safe_y();
void set_x(int32_t to);
void set_y(int32_t to);

}  // namespace drive
