// Everything a builder changes: names, pins, rates, lengths. Lengths are in counts of the wire
// unless a name says otherwise; a count of x is 0.005 mm and one of y 0.01 mm as it stands here.
#pragma once

#include <stdint.h>

// What is built in, set by the Makefile: SENSOR=indicator|analogue COUNT=encoder|steps
// DRIVE=motor|hand CROSS=yes|no.
#ifndef SENSOR_INDICATOR
#define SENSOR_INDICATOR 1
#endif
#ifndef COUNT_ENCODER
#define COUNT_ENCODER 1
#endif
#ifndef DRIVE_MOTOR
#define DRIVE_MOTOR 1
#endif
#ifndef CROSS_SLIDE
#define CROSS_SLIDE 1
#endif

namespace config {

// ---- who and how fast -----------------------------------------------------------------------
// The id must hold no comma. Give every board of a rig its own.
#define DEVICE_ID "reference-rig-1"

constexpr uint32_t CPU_HZ = 16000000;
// 16 MHz makes 500000, 250000 and 1000000 exactly, and 115200 only 2 % wrong.
constexpr uint32_t BAUD = 500000;
// The most that can be asked for. An indicator has to send its whole frame between two samples;
// the line carries 50000 bytes a second and a sample takes up to 64 of them.
constexpr uint16_t HIGHEST_RATE_HZ = SENSOR_INDICATOR ? 400 : 700;

// ---- the axes -------------------------------------------------------------------------------
// The steps that the driver needs for one count; a power of two is cheap.
constexpr int32_t X_STEPS_PER_COUNT = 1;
constexpr int32_t Y_STEPS_PER_COUNT = 1;

// Where a move may go.
constexpr int32_t X_LOW = 0, X_HIGH = 128000;
constexpr int32_t Y_LOW = -3000, Y_HIGH = 3000;

// Where the carriage stands when its end stop lets go of it. Zero lies on the inner side.
constexpr int32_t X_STOP_AT = -100;
constexpr int32_t Y_STOP_AT = -3100;

// Speeds in x counts a second; how many x counts are as long as one of y.
constexpr uint16_t SPEED = 5000, FASTEST = 10000;
constexpr uint16_t SEEK_SPEED = 4000, LEAVE_SPEED = 200;
constexpr uint8_t Y_IS_X_COUNTS = 2;

// In x steps a second, a second: 300 mm/s2 to speed up and slow down, five times that to halt.
constexpr uint32_t ACCELERATION = 60000;
constexpr uint32_t HALT_IS_TIMES = 5;

// The carriage has stalled where the encoder stays this far behind the steps, in counts.
constexpr int32_t STALL_COUNTS = 40;

// ---- the sensor -----------------------------------------------------------------------------
// Digits behind the point in an indicator's frame. Another point, or inches, is no reading.
constexpr uint8_t INDICATOR_DECIMALS = 3;
// 1 where the level shifter turns clock and data upside down.
constexpr uint8_t INDICATOR_INVERTED = 0;
// An analogue reading is the sum of this many conversions, the last ones before the sample.
constexpr uint8_t ANALOGUE_CONVERSIONS = 32;
// Sums this close to either end of the converter's range are out of range.
constexpr uint16_t ANALOGUE_MARGIN = 4 * ANALOGUE_CONVERSIONS;

// ---- safety ---------------------------------------------------------------------------------
// 1 where a broken wire to an end stop has to look like the stop: a switch that opens there.
constexpr uint8_t STOP_OPENS = 1;

}  // namespace config
