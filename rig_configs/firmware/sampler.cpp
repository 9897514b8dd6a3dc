#include "sampler.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <util/atomic.h>

#include "clock.h"
#include "config.h"
#include "drive.h"
#include "encoder.h"
#include "events.h"
#include "line.h"
#include "sensor.h"
#include "serial.h"

namespace sampler {

namespace {

struct Sample {
    uint32_t seq, t_us;
    int32_t x, y;
    sensor::Taken taken;
};

// A power of two. Samples are latched where they lie: [tail, head) are there, the newest
// may still lack its reading. One that finds no place is not sent; its number
// is missing.
constexpr uint8_t MOST = 8;
Sample ring[MOST];
volatile uint8_t head, tail;

// A period is `whole` ticks and `rest` parts of `rate` more: they are paid when they make a tick.
volatile bool on;
uint16_t rate;
uint32_t whole;
uint16_t rest, owed;
uint16_t edge;
uint32_t wait;

uint32_t seq;
bool was_valid = true;

uint8_t after(uint8_t place) { return (place + 1) & (MOST - 1); }

uint32_t period() {
    uint32_t ticks = whole;
    owed += rest;
    if (owed >= rate) {
        owed -= rate;
        ticks++;
    }
    return ticks;
}

void schedule(uint32_t ticks) {
    edge += clock::stretch(ticks);
    wait = ticks;
    OCR1B = edge;
}

// Counts of the wire: without an encoder the steps are all there is to count.
int32_t x_counts(int32_t x) { return COUNT_ENCODER ? x : x / config::X_STEPS_PER_COUNT; }

void say(const Sample &sample, const sensor::Reading &reading) {
    line::text(PSTR("S,"));
    line::unsigned_number(sample.seq);
    line::letter(',');
    line::unsigned_number(sample.t_us);
    line::letter(',');
    line::number(x_counts(sample.x));
    line::letter(',');
    if (CROSS_SLIDE) line::number(sample.y / config::Y_STEPS_PER_COUNT);
    line::letter(',');
    if (reading.valid) line::number(reading.raw);
    line::end();
}

}  // namespace

void start(uint16_t rate_hz) {
    stop();
    // The comparator's old mark out of the way; a strike that still waits comes to nothing.
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) { OCR1B = TCNT1 - 1; }
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        rate = rate_hz;
        whole = clock::TICKS_HZ / rate_hz;
        rest = clock::TICKS_HZ % rate_hz;
        owed = 0;
        was_valid = true;
        edge = TCNT1;
        schedule(period());
        on = true;
    }
}

// What was not said yet is forgotten: no sample follows the answer.
void stop() {
    ATOMIC_BLOCK(ATOMIC_RESTORESTATE) {
        on = false;
        head = tail;
    }
}

// The newest waits for its reading, or for the next sample, by when none has come.
bool waiting() {
    const uint8_t to = head;
    if (to == tail) return false;
    return after(tail) != to || sensor::complete(ring[tail].taken);
}

void turn() {
    if (!waiting() || serial::room() < LONGEST + events::LONGEST) return;
    const Sample &first = ring[tail];
    const sensor::Reading reading = sensor::read(first.taken);
    if (was_valid && !reading.valid) events::say(events::OVERRANGE, first.t_us);
    was_valid = reading.valid;
    say(first, reading);
    tail = after(tail);
}

}  // namespace sampler

ISR(TIMER1_COMPB_vect) {
    using namespace sampler;
    if (!on) return;
    if (wait > 0) {
        schedule(wait);
        return;
    }
    Sample &sample = ring[head];
    const uint8_t next = after(head);
    sensor::ask(sample.taken);
    sample.x = COUNT_ENCODER ? encoder::count() : drive::x_now();
    sample.t_us = clock::now_us();
    sample.y = drive::y_now();
    sample.seq = seq++;
    // The place at head is always free: where it is the last, this one is written over.
    if (next != tail) head = next;
    schedule(period());
}
