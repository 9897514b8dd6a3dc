#include "drive.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

#include "clock.h"
#include "pins.h"
#include "ramp.h"

namespace drive {

namespace {

volatile bool running;
volatile int32_t x, y;
int8_t x_way, y_way;

// The leading axis steps every time; the other whenever the error runs over.
volatile uint32_t left;
uint32_t lead, other, error;
bool x_leads;
bool x_steps, y_steps;  // what the coming step moves
bool x_after, y_after;  // and the one after it

uint16_t edge;           // when the comparator strikes next
volatile uint32_t wait;  // ticks from there to the step itself
volatile bool thinking;  // the next interval is being worked out

constexpr uint8_t RAISE = 1 << COM1A1 | 1 << COM1A0, LOWER = 1 << COM1A1;

void choose_after() {
    error += other;
    const bool both = error >= lead;
    if (both) error -= lead;
    x_after = x_leads || both;
    y_after = !x_leads || both;
}

void take_after() {
    x_steps = x_after;
    y_steps = y_after;
}

// The comparator strikes after so many ticks from the last edge, or a stretch of them first.
void schedule(uint32_t ticks) {
    edge += clock::stretch(ticks);
    wait = ticks;
    // Too late already: better a step a little late than one 33 ms late.
    const uint16_t soonest = TCNT1 + 12;
    if (static_cast<int16_t>(edge - soonest) < 0) edge = soonest;
    TCCR1A = wait == 0 && x_steps ? RAISE : 0;
    OCR1A = edge;
}

// The pulses are some microseconds old by now. Forcing a compare lowers the comparator's own
// output, which would stand again on the pin the next time it is let through.
void end_pulses() {
    if (x_steps) {
        TCCR1A = LOWER;
        TCCR1C = 1 << FOC1A;
        TCCR1A = 0;
    }
    PORTB &= ~(pins::X_STEP | pins::Y_STEP);
}

void count_step() {
    if (x_steps) x = x + x_way;
    if (y_steps) y = y + y_way;
    left = left - 1;
}

// Only with interrupts off. A step whose pulse is out is still counted, by the interrupt that
// waits for it.
void stop_here() {
    if (wait == 0 && (TIFR1 & 1 << OCF1A)) {
        left = 1;
        return;
    }
    TCCR1A = 0;
    running = false;
}

}  // namespace

void begin() {
    PORTB = 0;
    DDRB = pins::X_DIR | pins::X_STEP | pins::Y_STEP | pins::Y_DIR | pins::ENABLE;
}

void go(int32_t dx, int32_t dy, uint32_t rate) {
    const uint32_t far_x = dx < 0 ? -dx : dx, far_y = dy < 0 ? -dy : dy;
    x_way = dx < 0 ? -1 : 1;
    y_way = dy < 0 ? -1 : 1;
    x_leads = far_x >= far_y;
    lead = x_leads ? far_x : far_y;
    other = x_leads ? far_y : far_x;
    if (lead == 0) return;
    PORTB = (dx < 0 ? pins::X_DIR : 0) | (dy < 0 ? pins::Y_DIR : 0);
    error = lead / 2;
    ramp::begin(rate);
    // The comparator's old mark out of the way, and a strike that still waits done with: it would
    // count as a step.
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { OCR1A = TCNT1 - 1; }
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        left = lead;
        thinking = true;
        choose_after();
        take_after();
        choose_after();
        edge = TCNT1;
        schedule(ramp::interval());
        running = true;
    }
    ramp::next(lead - 1);
    thinking = false;
}

void slow_down() {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (running) {
            const uint32_t needs = ramp::brake();
            if (needs == 0)
                stop_here();
            else if (needs < left)
                left = needs;
        }
    }
}

void cut() {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        if (running) stop_here();
    }
}

bool moving() { return running; }

int32_t x_now() {
    const bool out = running && wait == 0 && x_steps && (TIFR1 & 1 << OCF1A);
    return out ? x + x_way : x;
}

int32_t y_now() { return y; }

int32_t safe_x() {
    int32_t now = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { now = x_now(); }
    return now;
}

int32_t safe_y() {
    int32_t now = 0;
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { now = y; }
    return now;
}

void set_x(int32_t to) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { x = to; }
}

void set_y(int32_t to) {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { y = to; }
}

}  // namespace drive

ISR(TIMER1_COMPA_vect) {
    using namespace drive;
    if (!running) return;
    if (wait > 0) {
        schedule(wait);
        return;
    }
    if (y_steps) PORTB |= pins::Y_STEP;
    count_step();
    end_pulses();
    if (left == 0) {
        running = false;
        return;
    }
    take_after();
    schedule(ramp::interval());
    // The rest takes 40 us: others may come in between. Where even the next step does, it goes by
    // the interval there is.
    if (thinking) return;
    thinking = true;
    const uint32_t after = left - 1;
    sei();
    choose_after();
    ramp::next(after);
    cli();
    thinking = false;
}
