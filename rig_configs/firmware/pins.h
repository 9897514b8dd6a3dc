// Which pin is what. README.md has the same as a table, with the wiring.
// X_STEP must stay on PB1: the timer itself raises it. CLOCK must stay on PD2 (INT0).
#pragma once

#include <avr/io.h>

namespace pins {

// Port B: the motors. Only the drive writes to it.
constexpr uint8_t X_DIR = 1 << PB0, X_STEP = 1 << PB1, Y_STEP = 1 << PB2, Y_DIR = 1 << PB3;
constexpr uint8_t ENABLE = 1 << PB4;  // low lets the drivers drive

// Port C: analogue in on PC0, switches, encoder.
constexpr uint8_t X_STOP = 1 << PC1, Y_STOP = 1 << PC2;
constexpr uint8_t ENCODER_A = 1 << PC4, ENCODER_B = 1 << PC5;

// Port D: serial on PD0 and PD1, the indicator.
constexpr uint8_t CLOCK = 1 << PD2, DATA = 1 << PD3, REQUEST = 1 << PD4;

}  // namespace pins
