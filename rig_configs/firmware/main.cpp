// The rig's firmware: see README.md. Interrupts latch and step; this loop talks and watches. It
// never waits: what finds no room on the line is left for the next turn.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>

#include "clock.h"
#include "commands.h"
#include "config.h"
#include "encoder.h"
#include "events.h"
#include "motion.h"
#include "sampler.h"
#include "sensor.h"
#include "serial.h"

// After its own bite the watchdog goes on running, at its shortest: off before anything else.
__attribute__((naked, used, section(".init3"))) void quiet_watchdog() {
    MCUSR = 0;
    wdt_disable();
}

namespace {

// Any interrupt wakes it. Looked at with interrupts off: what comes after that is not slept over.
void rest() {
    cli();
    if (!serial::heard() && !sampler::waiting() && !events::waiting()) {
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    sei();
}

}  // namespace

int main() {
    clock::begin();
    serial::begin();
    motion::begin();
    if (COUNT_ENCODER) encoder::begin();
    sensor::begin();
    wdt_enable(WDTO_250MS);
    set_sleep_mode(SLEEP_MODE_IDLE);
    sei();
    events::happened(events::RESET);
    for (;;) {
        wdt_reset();
        motion::turn();
        events::turn();
        commands::turn();
        sampler::turn();
        rest();
    }
}
