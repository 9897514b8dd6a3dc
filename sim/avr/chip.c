/* The pins are those of rig_configs/firmware/pins.h. */
#include "chip.h"

#include <simavr/avr_adc.h>
#include <simavr/avr_ioport.h>
#include <simavr/avr_uart.h>
#include <simavr/sim_avr.h>
#include <simavr/sim_elf.h>
#include <stdarg.h>
#include <stdlib.h>
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
    uint8_t held;
    uint32_t bit_cycles, wait_cycles;
    uint64_t frame;
    unsigned bit, bits;
    int asked, bit_low;
    uint64_t last_pulse, last_request;
    uint8_t said[SAID], unheard[UNHEARD];
    size_t said_count, unheard_head, unheard_tail;
    chip_step_t steps[STEPS];
    size_t step_count;
    wait_t waits[VECTORS];
};

static void quiet(struct avr_t *avr, const int level, const char *format, va_list ap)
{
    (void)avr, (void)level, (void)format, (void)ap;
}

/* Never waits for the host's clock: who runs it paces it. */
static void sleeps(avr_t *avr, avr_cycle_count_t how_long)
{
    (void)avr, (void)how_long;
}

static avr_irq_t *pin(chip_t *chip, char port, int number)
{
    return avr_io_getirq(chip->avr, AVR_IOCTL_IOPORT_GETIRQ(port), number);
}

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
    if ((chip->jammed && number == 0) || to < chip->axis[number].low
        || to > chip->axis[number].high)
        return;
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

static void on_request(avr_irq_t *irq, uint32_t value, void *param)
{
    chip_t *chip = param;
    if (value || !irq->value) return;
    chip->asked = 1;
    chip->last_request = chip->avr->cycle;
}

static void on_said(avr_irq_t *irq, uint32_t value, void *param)
{
    chip_t *chip = param;
    (void)irq;
    if (chip->said_count < SAID) chip->said[chip->said_count++] = value;
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

/* One after the other, as fast as the line carries them. The simulated receiver holds more bytes
 * than a real one, two, and lets them be read no faster than they come: whether a byte would have
 * been lost is told by how long its interrupt had to wait. */
static avr_cycle_count_t byte_in(avr_t *avr, avr_cycle_count_t when, void *param)
{
    chip_t *chip = param;
    (void)avr;
    avr_raise_irq(avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_INPUT),
                  chip->unheard[chip->unheard_tail]);
    chip->unheard_tail = (chip->unheard_tail + 1) % UNHEARD;
    if (chip->unheard_tail == chip->unheard_head) return 0;
    return when + chip->uart->cycles_per_byte;
}

static avr_cycle_count_t nothing(avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)avr, (void)when, (void)param;
    return 0;
}

static void on_pending(avr_irq_t *irq, uint32_t value, void *param)
{
    wait_t *wait = param;
    if (value && !irq->value) wait->since = wait->chip->avr->cycle;
}

static void on_running(avr_irq_t *irq, uint32_t value, void *param)
{
    wait_t *wait = param;
    (void)irq;
    if (!value) return;
    const uint64_t cycles = wait->chip->avr->cycle - wait->since;
    if (cycles > wait->longest) wait->longest = cycles;
}

static void watch_waits(chip_t *chip)
{
    for (int vector = 1; vector < VECTORS; vector++) {
        avr_irq_t *irq = avr_get_interrupt_irq(chip->avr, vector);
        chip->waits[vector].chip = chip;
        if (!irq) continue;
        avr_irq_register_notify(irq + AVR_INT_IRQ_PENDING, on_pending, &chip->waits[vector]);
        avr_irq_register_notify(irq + AVR_INT_IRQ_RUNNING, on_running, &chip->waits[vector]);
    }
}

static void wire(chip_t *chip)
{
    const avr_ioport_external_t pulled_up = {
        .name = 'D', .mask = 1 << CLOCK | 1 << DATA | 1 << REQUEST, .value = 0x1C};
    const uint32_t no_flags = 0;
    avr_ioctl(chip->avr, AVR_IOCTL_IOPORT_SET_EXTERNAL('D'), (void *)&pulled_up);
    avr_ioctl(chip->avr, AVR_IOCTL_UART_SET_FLAGS('0'), (void *)&no_flags);
    avr_raise_irq(pin(chip, 'D', CLOCK), 1);
    avr_raise_irq(pin(chip, 'D', REQUEST), 1);
    avr_irq_register_notify(pin(chip, 'B', X_STEP), on_x_step, chip);
    avr_irq_register_notify(pin(chip, 'B', Y_STEP), on_y_step, chip);
    avr_irq_register_notify(pin(chip, 'D', REQUEST), on_request, chip);
    avr_irq_register_notify(
        avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_said, chip);
    show_place(chip);
    watch_waits(chip);
}

static avr_uart_t *find_uart(avr_t *avr)
{
    for (avr_io_t *io = avr->io_port; io; io = io->next)
        if (!strcmp(io->kind, "uart")) return (avr_uart_t *)io;
    return NULL;
}

chip_t *chip_open(const char *elf, const chip_axis_t *x, const chip_axis_t *y,
                  uint32_t bit_cycles, uint32_t wait_cycles)
{
    elf_firmware_t program = {0};
    avr_global_logger_set(quiet);
    if (elf_read_firmware(elf, &program) || !program.flash) return NULL;
    avr_t *avr = avr_make_mcu_by_name("atmega328p");
    chip_t *chip = calloc(1, sizeof *chip);
    if (!avr || !chip) return NULL;
    avr_init(avr);
    avr->frequency = 16000000;
    avr->vcc = avr->avcc = avr->aref = 5000;
    avr_load_firmware(avr, &program);
    avr->frequency = 16000000;
    avr->sleep = sleeps;
    chip->avr = avr;
    chip->uart = find_uart(avr);
    chip->axis[0] = *x, chip->axis[1] = *y;
    chip->at[0] = x->at, chip->at[1] = y->at;
    chip->bit_cycles = bit_cycles, chip->wait_cycles = wait_cycles;
    wire(chip);
    return chip;
}

void chip_close(chip_t *chip)
{
    avr_terminate(chip->avr);
    free(chip);
}

void chip_reset(chip_t *chip)
{
    avr_cycle_timer_cancel(chip->avr, clock_bit, chip);
    avr_cycle_timer_cancel(chip->avr, byte_in, chip);
    chip->unheard_tail = chip->unheard_head;
    chip->asked = 0;
    avr_reset(chip->avr);
    avr_raise_irq(pin(chip, 'D', CLOCK), 1);
    avr_raise_irq(pin(chip, 'D', REQUEST), 1);
    avr_raise_irq(pin(chip, 'B', X_STEP), 0);
    avr_raise_irq(pin(chip, 'B', Y_STEP), 0);
    show_place(chip);
}

int chip_run(chip_t *chip, uint64_t until)
{
    avr_t *avr = chip->avr;
    if (until <= avr->cycle) return CHIP_TIME;
    /* So that a sleeping chip wakes there. */
    avr_cycle_timer_register(avr, until - avr->cycle, nothing, chip);
    while (avr->cycle < until) {
        const int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) return CHIP_DEAD;
        if (chip->asked) {
            chip->asked = 0;
            return CHIP_ASKED;
        }
    }
    return CHIP_TIME;
}

uint64_t chip_cycle(const chip_t *chip) { return chip->avr->cycle; }

void chip_hear(chip_t *chip, const uint8_t *bytes, size_t count)
{
    const int still = chip->unheard_head == chip->unheard_tail;
    for (size_t at = 0; at < count; at++) {
        const size_t next = (chip->unheard_head + 1) % UNHEARD;
        if (next == chip->unheard_tail) break;
        chip->unheard[chip->unheard_head] = bytes[at];
        chip->unheard_head = next;
    }
    if (still && chip->unheard_head != chip->unheard_tail)
        avr_cycle_timer_register(chip->avr, chip->uart->cycles_per_byte + 1, byte_in, chip);
}

size_t chip_unheard(const chip_t *chip)
{
    return (chip->unheard_head + UNHEARD - chip->unheard_tail) % UNHEARD;
}

size_t chip_said(chip_t *chip, uint8_t *bytes, size_t most)
{
    const size_t count = chip->said_count < most ? chip->said_count : most;
    memcpy(bytes, chip->said, count);
    memmove(chip->said, chip->said + count, chip->said_count - count);
    chip->said_count -= count;
    return count;
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

size_t chip_steps(chip_t *chip, chip_step_t *steps, size_t most)
{
    const size_t count = chip->step_count < most ? chip->step_count : most;
    memcpy(steps, chip->steps, count * sizeof *steps);
    chip->step_count = 0;
    return count;
}

void chip_jam(chip_t *chip, int on) { chip->jammed = on; }

void chip_where(const chip_t *chip, int32_t *x, int32_t *y)
{
    *x = chip->at[0];
    *y = chip->at[1];
}

uint64_t chip_last_pulse(const chip_t *chip) { return chip->last_pulse; }

uint64_t chip_last_request(const chip_t *chip) { return chip->last_request; }

uint64_t chip_longest_wait(const chip_t *chip, unsigned vector)
{
    return vector < VECTORS ? chip->waits[vector].longest : 0;
}

void chip_poke(chip_t *chip, uint16_t address, const uint8_t *bytes, size_t count)
{
    memcpy(chip->avr->data + address, bytes, count);
}

void chip_peek(const chip_t *chip, uint16_t address, uint8_t *bytes, size_t count)
{
    memcpy(bytes, chip->avr->data + address, count);
}
