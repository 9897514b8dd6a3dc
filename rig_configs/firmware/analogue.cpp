// An analogue sensor on ADC0: converted without a pause, 19231 times a second, and summed over
// the last ANALOGUE_CONVERSIONS before the sample. The delay that this adds is always the same,
// half the sum's length, and is found with the sensor's own.
#include "config.h"
#if !SENSOR_INDICATOR
#include <avr/interrupt.h>
#include <avr/io.h>

#include "sensor.h"

namespace sensor {

namespace {

uint16_t last[config::ANALOGUE_CONVERSIONS];
uint8_t at, full;
uint16_t sum;

constexpr uint16_t TOP = 1023U * config::ANALOGUE_CONVERSIONS - config::ANALOGUE_MARGIN;
static_assert(1023UL * config::ANALOGUE_CONVERSIONS <= 65535, "the sum has 16 bits");

}  // namespace

// The supply as reference, 16 MHz / 64 as clock, free running.
void begin() {
    ADMUX = 1 << REFS0;
    DIDR0 = 1 << ADC0D;
    ADCSRB = 0;
    ADCSRA = 1 << ADEN | 1 << ADSC | 1 << ADATE | 1 << ADIE | 1 << ADPS2 | 1 << ADPS1;
}

void ask(Taken &to) { to = {full >= config::ANALOGUE_CONVERSIONS, sum}; }

bool complete(const Taken &) { return true; }

Reading read(const Taken &taken) {
    return {taken.sum, taken.whole && taken.sum >= config::ANALOGUE_MARGIN && taken.sum <= TOP};
}

}  // namespace sensor

ISR(ADC_vect) {
    using namespace sensor;
    const uint16_t read = ADC;
    sum += read - last[at];
    last[at] = read;
    if (++at == config::ANALOGUE_CONVERSIONS) at = 0;
    if (full < config::ANALOGUE_CONVERSIONS) full++;
}
#endif
