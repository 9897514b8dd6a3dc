/* How long interrupts wait for one another. */
#include "inside.h"

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

void waits_wire(chip_t *chip)
{
    for (int vector = 1; vector < VECTORS; vector++) {
        avr_irq_t *irq = avr_get_interrupt_irq(chip->avr, vector);
        chip->waits[vector].chip = chip;
        if (!irq) continue;
        avr_irq_register_notify(irq + AVR_INT_IRQ_PENDING, on_pending, &chip->waits[vector]);
        avr_irq_register_notify(irq + AVR_INT_IRQ_RUNNING, on_running, &chip->waits[vector]);
    }
}

uint64_t chip_longest_wait(const chip_t *chip, unsigned vector)
{
    return vector < VECTORS ? chip->waits[vector].longest : 0;
}
