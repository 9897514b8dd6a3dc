#include "commands.h"

#include <avr/pgmspace.h>
#include <string.h>

#include "config.h"
#include "events.h"
#include "line.h"
#include "motion.h"
#include "sampler.h"
#include "serial.h"

namespace commands {

namespace {

using namespace config;

// The fields behind the letter: where each begins, and one more for the end of the last.
constexpr uint8_t MOST_FIELDS = 3;
const char *field[MOST_FIELDS + 1];

// How many there are; more than MOST_FIELDS are counted but not kept.
uint8_t split() {
    uint8_t count = 0;
    const char *at = line::body + 1;
    for (; *at; at++)
        if (*at == ',' && count++ < MOST_FIELDS) field[count - 1] = at + 1;
    field[count < MOST_FIELDS ? count : MOST_FIELDS] = at + 1;
    return count;
}

bool empty(uint8_t number) { return field[number] + 1 == field[number + 1]; }

bool whole(uint8_t number, int32_t &value) {
    return line::whole(field[number], field[number + 1] - 1, value);
}

void accept() {
    line::text(PSTR("A,"));
    line::letter(line::body[0]);
    line::end();
}

void begin_refusal() {
    line::text(PSTR("N,"));
    line::letter(line::body[0]);
    line::letter(',');
}

void refuse(PGM_P reason) {
    begin_refusal();
    line::text(reason);
    line::end();
}

void answer(PGM_P refused) {
    if (refused)
        refuse(refused);
    else
        accept();
}

// A field's number within these; else the refusal that says which are allowed.
bool within(PGM_P name, uint8_t number, int32_t low, int32_t high, int32_t &value) {
    if (!whole(number, value)) {
        begin_refusal();
        line::text(name);
        line::text(PSTR(" is not a whole number"));
        line::end();
        return false;
    }
    if (value >= low && value <= high) return true;
    begin_refusal();
    line::text(name);
    line::letter(' ');
    line::number(value);
    line::text(PSTR(" outside "));
    line::number(low);
    line::text(PSTR(" to "));
    line::number(high);
    line::end();
    return false;
}

void hello() {
    line::text(PSTR("H,1," DEVICE_ID ","));
    line::unsigned_number(HIGHEST_RATE_HZ);
    line::end();
}

void stream() {
    int32_t rate_hz = 0;
    if (!within(PSTR("rate"), 0, 1, HIGHEST_RATE_HZ, rate_hz)) return;
    accept();
    sampler::start(rate_hz);
}

void stop_stream() {
    sampler::stop();
    accept();
}

void move() {
    if (!DRIVE_MOTOR) return refuse(PSTR("no motor"));
    if (!CROSS_SLIDE && !empty(1)) return refuse(PSTR("no cross slide"));
    int32_t x = motion::x(), y = motion::y(), speed = SPEED;
    if (!empty(0) && !within(PSTR("x"), 0, X_LOW, X_HIGH, x)) return;
    if (!empty(1) && !within(PSTR("y"), 1, Y_LOW, Y_HIGH, y)) return;
    if (!empty(2) && !within(PSTR("speed"), 2, 1, FASTEST, speed)) return;
    answer(motion::move(x, y, speed));
}

void halt() {
    accept();
    motion::halt();
}

void obey() {
    const uint8_t fields = split();
    const char letter = line::body[0];
    const uint8_t wanted = letter == 'M' ? 3 : letter == 'G' ? 1 : 0;
    if (!strchr_P(PSTR("HGXMOK"), letter)) return refuse(PSTR("unknown command"));
    if (fields != wanted) return refuse(PSTR("wrong number of fields"));
    switch (letter) {
        case 'H': return hello();
        case 'G': return stream();
        case 'X': return stop_stream();
        case 'M': return move();
        case 'O': return answer(motion::home());
        default: return halt();
    }
}

// One capital letter, alone or before its fields; what is none is no command and has no answer.
bool is_command() {
    const char first = line::body[0], second = line::body[1];
    return first >= 'A' && first <= 'Z' && (second == ',' || second == 0);
}

}  // namespace

void turn() {
    // Samples that wait go first, as long as somebody floods the rig with commands.
    const uint8_t room = line::LONGEST_FRAME + (sampler::waiting() ? sampler::LONGEST : 0);
    if (serial::room() < room || events::waiting()) return;
    for (int16_t byte = serial::hear(); byte >= 0; byte = serial::hear()) {
        if (!line::hear(static_cast<uint8_t>(byte))) continue;
        if (is_command())
            obey();
        else
            line::dropped++;
        return;
    }
}

}  // namespace commands
