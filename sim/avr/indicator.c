/* What the sensor's wires carry: an indicator's bits, or a voltage. */
#include "inside.h"

static void on_request(avr_irq_t *irq, uint32_t value, void *param)
{
    chip_t *chip = param;
    if (value || !irq->value) return;
    chip->asked = 1;
}

/* The data stand while the clock is low, and change while it is high. */
static avr_cycle_count_t clock_bit(avr_t *avr, avr_cycle_count_t when, void *param)
{
    chip_t *chip = param;
    (void)avr;
    if (chip->bit_low) {
        avr_raise_irq(pin(chip, 'D', CLOCK), 1);
        chip->bit_low = 0;
        chip->bit++;
        if (chip->bit == chip->bits) return 0;
        avr_raise_irq(pin(chip, 'D', DATA), chip->frame >> chip->bit & 1);
    } else {
        avr_raise_irq(pin(chip, 'D', CLOCK), 0);
        chip->bit_low = 1;
    }
    return when + chip->bit_cycles / 2;
}

void indicator_wire(chip_t *chip)
{
    const uint8_t lines = 1 << CLOCK | 1 << DATA | 1 << REQUEST;
    const avr_ioport_external_t pulled_up = {.name = 'D', .mask = lines, .value = lines};
    avr_ioctl(chip->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), (void *)&pulled_up);
    avr_irq_register_notify(pin(chip, 'D', REQUEST), on_request, chip);
    indicator_rest(chip);
}

void indicator_rest(chip_t *chip)
{
    avr_cycle_timer_cancel(chip->avr, clock_bit, chip);
    avr_raise_irq(pin(chip, 'D', CLOCK), 1);
    avr_raise_irq(pin(chip, 'D', REQUEST), 1);
    chip->asked = 0;
}

void chip_reading(chip_t *chip, uint64_t frame, unsigned bits)
{
    avr_cycle_timer_cancel(chip->avr, clock_bit, chip);
    chip->frame = frame;
    chip->bits = bits;
    chip->bit = 0;
    chip->bit_low = 0;
    avr_raise_irq(pin(chip, 'D', CLOCK), 1);
    if (bits == 0) return;
    avr_raise_irq(pin(chip, 'D', DATA), frame & 1);
    avr_cycle_timer_register(chip->avr, chip->wait_cycles, clock_bit, chip);
}

void chip_voltage(chip_t *chip, uint32_t millivolts)
{
    avr_raise_irq(avr_io_getirq(chip->avr, AVR_IOCTL_ADC_GETIRQ, ADC_IRQ_ADC0), millivolts);
}
