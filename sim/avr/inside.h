/* What the parts of the chip share. The pins are those of rig_configs/firmware/pins.h. */
#ifndef INSIDE_H
#define INSIDE_H

#include "chip.h"

#include <simavr/avr_adc.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <string.h>

enum { X_DIR = 0, X_STEP = 1, Y_STEP = 2, Y_DIR = 3, ENABLE = 4 };
enum { X_STOP = 1, Y_STOP = 2, ENCODER_A = 4, ENCODER_B = 5 };
enum { CLOCK = 2, DATA = 3, REQUEST = 4 };
enum { PORT_B = 0x25, DDR_B = 0x24 };
enum { SAID = 65536, UNHEARD = 65536, STEPS = 65536, VECTORS = 26 };

/* How long an interrupt had to wait for those before it. */
typedef struct {
    chip_t *chip;
    uint64_t since, longest;
} wait_t;

struct chip {
    avr_t *avr;
    avr_uart_t *uart;
    chip_axis_t axis[2];
    int32_t at[2];
    int jammed;
    uint32_t lost;
    uint8_t held;
    uint32_t bit_cycles, wait_cycles;
    uint64_t frame;
    unsigned bit, bits;
    int asked, bit_low;
    uint64_t last_pulse;
    uint8_t said[SAID], unheard[UNHEARD];
    size_t said_count, unheard_head, unheard_tail;
    chip_step_t steps[STEPS];
    size_t step_count;
    wait_t waits[VECTORS];
};

static inline avr_irq_t *pin(chip_t *chip, char port, int number)
{
    return avr_io_getirq(chip->avr, AVR_IOCTL_IOPORT_GETIRQ(port), number);
}

/* Each joins its part to the chip's pins; `rest` puts it as after power-on. */
void metal_wire(chip_t *chip);
void metal_rest(chip_t *chip);
void indicator_wire(chip_t *chip);
void indicator_rest(chip_t *chip);
void line_wire(chip_t *chip);
void line_rest(chip_t *chip);
void waits_wire(chip_t *chip);

#endif
