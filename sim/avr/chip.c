/* Its life: power, program, time. */
#include "inside.h"

#include <simavr/sim_elf.h>
#include <stdarg.h>
#include <stdlib.h>

static void quiet(struct avr_t *avr, const int level, const char *format, va_list ap)
{
    (void)avr, (void)level, (void)format, (void)ap;
}

/* Never waits for the host's clock: who runs it paces it. */
static void sleeps(avr_t *avr, avr_cycle_count_t how_long)
{
    (void)avr, (void)how_long;
}

static avr_cycle_count_t nothing(avr_t *avr, avr_cycle_count_t when, void *param)
{
    (void)avr, (void)when, (void)param;
    return 0;
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
    chip->axis[0] = *x, chip->axis[1] = *y;
    chip->at[0] = x->at, chip->at[1] = y->at;
    chip->bit_cycles = bit_cycles, chip->wait_cycles = wait_cycles;
    metal_wire(chip);
    indicator_wire(chip);
    line_wire(chip);
    waits_wire(chip);
    return chip;
}

void chip_close(chip_t *chip)
{
    avr_terminate(chip->avr);
    free(chip);
}

void chip_reset(chip_t *chip)
{
    indicator_rest(chip);
    line_rest(chip);
    avr_reset(chip->avr);
    indicator_rest(chip);
    metal_rest(chip);
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

void chip_poke(chip_t *chip, uint16_t address, const uint8_t *bytes, size_t count)
{
    memcpy(chip->avr->data + address, bytes, count);
}

void chip_peek(const chip_t *chip, uint16_t address, uint8_t *bytes, size_t count)
{
    memcpy(bytes, chip->avr->data + address, count);
}
