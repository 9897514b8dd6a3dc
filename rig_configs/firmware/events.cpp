#include "events.h"

#include <avr/pgmspace.h>

#include "clock.h"
#include "line.h"
#include "serial.h"

namespace events {

namespace {

struct Event {
    Word word;
    uint32_t t_us;
    int32_t lost;
};

// A power of two. Each command brings at most two, and is not obeyed while four wait.
constexpr uint8_t MOST = 8;
Event queue[MOST];
uint8_t head, tail;

PGM_P name(Word word) {
    switch (word) {
        case ARRIVED: return PSTR(",arrived");
        case HOMED: return PSTR(",homed");
        case HALTED: return PSTR(",halted");
        case ENDSTOP: return PSTR(",endstop");
        case OVERRANGE: return PSTR(",overrange");
        case STALLED: return PSTR(",stalled,x lost ");
        case NO_STOP: return PSTR(",stalled,no end stop found");
        default: return PSTR(",reset");
    }
}

}  // namespace

void happened(Word word, int32_t lost) {
    const uint8_t next = (head + 1) & (MOST - 1);
    if (next == tail) return;
    queue[head] = {word, clock::safe_now_us(), lost};
    head = next;
}

bool waiting() { return head != tail; }

void turn() {
    if (!waiting() || serial::room() < LONGEST) return;
    const Event &first = queue[tail];
    say(first.word, first.t_us, first.lost);
    tail = (tail + 1) & (MOST - 1);
}

void say(Word word, uint32_t t_us, int32_t lost) {
    line::text(PSTR("E,"));
    line::unsigned_number(t_us);
    line::text(name(word));
    if (word == STALLED) {
        line::number(lost);
        line::text(PSTR(" counts"));
    }
    line::end();
}

}  // namespace events
