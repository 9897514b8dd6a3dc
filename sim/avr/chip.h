/* One simulated microcontroller with a rig's wiring about it: motors, end stops, an encoder, an
 * indicator or a voltage, a serial line. Time is the chip's own, in cycles of its clock. Nothing
 * here knows what stands on the rig: who drives it is asked for each reading.
 */
#ifndef CHIP_H
#define CHIP_H

#include <stddef.h>
#include <stdint.h>

typedef struct chip chip_t;

/* A step that moved a carriage: where both axes stand after it, in steps. */
typedef struct {
    uint64_t cycle;
    int32_t x, y;
} chip_step_t;

/* How the metal about it is made, in steps: where each carriage stands at power-on, where it
 * cannot go further, and below which place its end stop is pressed. */
typedef struct {
    int32_t at, low, high, stop;
} chip_axis_t;

/* What a run ended with. */
enum { CHIP_TIME = 0, CHIP_ASKED = 1, CHIP_DEAD = 2 };

/* Null where the file is no program for this chip. bit_cycles: an indicator's bit, half low and
 * half high; wait_cycles: from the request to its first bit. */
chip_t *chip_open(const char *elf, const chip_axis_t *x, const chip_axis_t *y,
                  uint32_t bit_cycles, uint32_t wait_cycles);
void chip_close(chip_t *chip);

/* Power or the reset line lost and back: the program begins anew, the metal stays where it is. */
void chip_reset(chip_t *chip);

/* Up to this cycle, or until a reading is asked for, which then waits for chip_reading. */
int chip_run(chip_t *chip, uint64_t until);
uint64_t chip_cycle(const chip_t *chip);

/* The serial line: bytes on their way in at its own speed, bytes that came out. */
void chip_hear(chip_t *chip, const uint8_t *bytes, size_t count);
size_t chip_unheard(const chip_t *chip);
size_t chip_said(chip_t *chip, uint8_t *bytes, size_t most);

/* The indicator's answer: `bits` of a frame, the first lowest. None: it keeps still. */
void chip_reading(chip_t *chip, uint64_t frame, unsigned bits);
/* What lies on the analogue pin. */
void chip_voltage(chip_t *chip, uint32_t millivolts);

/* Steps since they were last taken; those past what fits are lost. */
size_t chip_steps(chip_t *chip, chip_step_t *steps, size_t most);
/* Holds the carriage fast, whatever steps come. */
void chip_jam(chip_t *chip, int on);
/* The steps that came to nothing since then; none while it moves freely. */
uint32_t chip_lost(const chip_t *chip);
void chip_where(const chip_t *chip, int32_t *x, int32_t *y);
/* The last cycle at which a step pulse came. */
uint64_t chip_last_pulse(const chip_t *chip);

/* The longest that this interrupt ever waited, cycles; vectors by number, 1 INT0. */
uint64_t chip_longest_wait(const chip_t *chip, unsigned vector);

/* Writes into its memory, as a fault or a test would: a counter near its wrap, say. */
void chip_poke(chip_t *chip, uint16_t address, const uint8_t *bytes, size_t count);
void chip_peek(const chip_t *chip, uint16_t address, uint8_t *bytes, size_t count);

#endif
