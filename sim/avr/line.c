/* The serial line. */
#include "inside.h"

static void on_said(avr_irq_t *irq, uint32_t value, void *param)
{
    chip_t *chip = param;
    (void)irq;
    if (chip->said_count < SAID) chip->said[chip->said_count++] = value;
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

static avr_uart_t *find_uart(avr_t *avr)
{
    for (avr_io_t *io = avr->io_port; io; io = io->next)
        if (!strcmp(io->kind, "uart")) return (avr_uart_t *)io;
    return NULL;
}

void line_wire(chip_t *chip)
{
    const uint32_t no_flags = 0;
    chip->uart = find_uart(chip->avr);
    avr_ioctl(chip->avr, AVR_IOCTL_UART_SET_FLAGS('0'), (void *)&no_flags);
    avr_irq_register_notify(
        avr_io_getirq(chip->avr, AVR_IOCTL_UART_GETIRQ('0'), UART_IRQ_OUTPUT), on_said, chip);
}

void line_rest(chip_t *chip)
{
    avr_cycle_timer_cancel(chip->avr, byte_in, chip);
    chip->unheard_tail = chip->unheard_head;
}

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
