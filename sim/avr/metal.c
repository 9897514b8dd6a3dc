/* Motors, carriages, end stops, encoder. */
#include "inside.h"

/* Held from outside: stronger than a pull-up that the program turns on later. */
static void hold(chip_t *chip, int number, int level)
{
    const uint8_t bit = 1 << number;
    chip->held = level ? chip->held | bit : chip->held & ~bit;
    const avr_ioport_external_t outside = {
        .name = 'C',
        .mask = 1 << X_STOP | 1 << Y_STOP | 1 << ENCODER_A | 1 << ENCODER_B,
        .value = chip->held};
    avr_ioctl(chip->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('C'), (void *)&outside);
    avr_raise_irq(pin(chip, 'C', number), level);
}

/* The switches open, and their pins rise, where the carriage presses them. */
static void show_place(chip_t *chip)
{
    static const int phases[4] = {0, 1, 3, 2};
    const int phase = phases[chip->at[0] & 3];
    hold(chip, X_STOP, chip->at[0] < chip->axis[0].stop);
    hold(chip, Y_STOP, chip->at[1] < chip->axis[1].stop);
    hold(chip, ENCODER_A, phase & 1);
    hold(chip, ENCODER_B, phase >> 1);
}

static void step(chip_t *chip, int number, int direction_pin)
{
    const uint8_t *data = chip->avr->data;
    chip->last_pulse = chip->avr->cycle;
    if (!(data[DDR_B] >> ENABLE & 1) || data[PORT_B] >> ENABLE & 1) return;
    const int32_t to = chip->at[number] + (data[PORT_B] >> direction_pin & 1 ? -1 : 1);
    if (chip->jammed && number == 0) {
        chip->lost++;
        return;
    }
    if (to < chip->axis[number].low || to > chip->axis[number].high) return;
    chip->at[number] = to;
    if (chip->step_count < STEPS)
        chip->steps[chip->step_count++] =
            (chip_step_t){chip->avr->cycle, chip->at[0], chip->at[1]};
    show_place(chip);
}

static void on_x_step(avr_irq_t *irq, uint32_t value, void *param)
{
    if (value && !irq->value) step(param, 0, X_DIR);
}

static void on_y_step(avr_irq_t *irq, uint32_t value, void *param)
{
    if (value && !irq->value) step(param, 1, Y_DIR);
}

void metal_wire(chip_t *chip)
{
    avr_irq_register_notify(pin(chip, 'B', X_STEP), on_x_step, chip);
    avr_irq_register_notify(pin(chip, 'B', Y_STEP), on_y_step, chip);
    show_place(chip);
}

void metal_rest(chip_t *chip)
{
    avr_raise_irq(pin(chip, 'B', X_STEP), 0);
    avr_raise_irq(pin(chip, 'B', Y_STEP), 0);
    show_place(chip);
}

size_t chip_steps(chip_t *chip, chip_step_t *steps, size_t most)
{
    const size_t count = chip->step_count < most ? chip->step_count : most;
    memcpy(steps, chip->steps, count * sizeof *steps);
    chip->step_count = 0;
    return count;
}

void chip_jam(chip_t *chip, int on)
{
    chip->jammed = on;
    if (!on) chip->lost = 0;
}

uint32_t chip_lost(const chip_t *chip) { return chip->lost; }

void chip_where(const chip_t *chip, int32_t *x, int32_t *y)
{
    *x = chip->at[0];
    *y = chip->at[1];
}

uint64_t chip_last_pulse(const chip_t *chip) { return chip->last_pulse; }
