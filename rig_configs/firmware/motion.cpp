#include "motion.h"

#include <avr/io.h>

#include "config.h"
#include "drive.h"
#include "encoder.h"
#include "events.h"
#include "pins.h"

namespace motion {

namespace {

using namespace config;

// In the order homing takes them.
enum Task : uint8_t { REST, MOVE, X_SEEK, X_LEAVE, X_ZERO, Y_SEEK, Y_LEAVE, ZERO };

Task task = REST;
// Why the move under way is to end before its time.
enum Cause : uint8_t { NONE, HALT, STOP };
Cause cause;
bool homed;
int32_t goal_x, goal_y;
int8_t x_way, y_way;
uint8_t halts;  // how often it was asked to halt: each is told

bool at_stop(uint8_t pin) { return ((PINC & pin) != 0) == (STOP_OPENS != 0); }

int32_t behind() {
    return COUNT_ENCODER ? drive::safe_x() / X_STEPS_PER_COUNT - encoder::safe_count() : 0;
}

// From where the carriage stands, not from where the last move was to end.
void set_off(Task next, int32_t dx, int32_t dy, uint16_t speed) {
    task = next;
    cause = NONE;
    x_way = dx < 0 ? -1 : dx > 0;
    y_way = dy < 0 ? -1 : dy > 0;
    const int32_t steps_x = dx * X_STEPS_PER_COUNT, steps_y = dy * Y_STEPS_PER_COUNT;
    const bool x_leads = (dx < 0 ? -dx : dx) >= (dy < 0 ? -dy : dy);
    const uint32_t slow = speed / Y_IS_X_COUNTS ? speed / Y_IS_X_COUNTS : 1;
    drive::go(steps_x, steps_y,
              x_leads ? speed * static_cast<uint32_t>(X_STEPS_PER_COUNT)
                      : slow * static_cast<uint32_t>(Y_STEPS_PER_COUNT));
}

void rest(events::Word word, int32_t lost = 0) {
    task = REST;
    if (COUNT_ENCODER) drive::set_x(encoder::safe_count() * X_STEPS_PER_COUNT);
    events::happened(word, lost);
}

void tell_halts() {
    for (; halts > 0; halts--) rest(events::HALTED);
}

// The stop has let go: that is a known place.
void found(bool of_x) {
    if (of_x) {
        drive::set_x(X_STOP_AT * X_STEPS_PER_COUNT);
        encoder::set(X_STOP_AT);
    } else {
        drive::set_y(Y_STOP_AT * Y_STEPS_PER_COUNT);
    }
}

// A stop that is run into ends a move; homing looks for it, and then for the place where it ends.
void watch_stops() {
    if (cause != NONE) return;
    const bool x_on = at_stop(pins::X_STOP), y_on = at_stop(pins::Y_STOP);
    if (task == X_LEAVE || task == Y_LEAVE) {
        if (task == X_LEAVE ? x_on : y_on) return;
        drive::cut();
        found(task == X_LEAVE);
    } else if (!((x_on && x_way < 0) || (CROSS_SLIDE && y_on && y_way < 0))) {
        return;
    } else {
        drive::slow_down();
    }
    cause = STOP;
}

// The whole travel and a tenth more.
int32_t beyond(int32_t low, int32_t high) { return high - low + (high - low) / 10; }

void home_is_here(bool struck) {
    homed = !struck;
    rest(struck ? events::ENDSTOP : events::HOMED);
}

// The drive stands: what comes next, or what it has come to.
void ended() {
    if (cause == HALT) {
        tell_halts();
        return;
    }
    const bool struck = cause == STOP;
    switch (task) {
        case MOVE: rest(struck ? events::ENDSTOP : events::ARRIVED); return;
        case X_SEEK:
            if (!struck) break;
            set_off(X_LEAVE, beyond(X_LOW, X_HIGH) / 10, 0, LEAVE_SPEED);
            return;
        case X_LEAVE:
            if (!struck) break;
            set_off(X_ZERO, -X_STOP_AT, 0, LEAVE_SPEED * 5);
            return;
        case X_ZERO:
            if (!CROSS_SLIDE) {
                home_is_here(struck);
                return;
            }
            set_off(Y_SEEK, 0, -beyond(Y_LOW, Y_HIGH), SEEK_SPEED);
            return;
        case Y_SEEK:
            if (!struck) break;
            set_off(Y_LEAVE, 0, beyond(Y_LOW, Y_HIGH) / 10, LEAVE_SPEED);
            return;
        case Y_LEAVE:
            if (!struck) break;
            set_off(ZERO, 0, -Y_STOP_AT, SEEK_SPEED);
            return;
        default: home_is_here(struck); return;
    }
    rest(events::NO_STOP);
}

}  // namespace

void begin() {
    drive::begin();
    PORTC |= pins::X_STOP | pins::Y_STOP;
}

void turn() {
    if (task == REST) return;
    const int32_t lost = behind();
    if (lost > STALL_COUNTS || lost < -STALL_COUNTS) {
        drive::cut();
        homed = homed && task == MOVE;
        rest(events::STALLED, lost);
        tell_halts();
        return;
    }
    watch_stops();
    if (!drive::moving()) ended();
}

bool moving() { return task != REST; }

int32_t x() {
    return COUNT_ENCODER ? encoder::safe_count() : drive::safe_x() / X_STEPS_PER_COUNT;
}

int32_t y() { return drive::safe_y() / Y_STEPS_PER_COUNT; }

PGM_P move(int32_t to_x, int32_t to_y, uint16_t speed) {
    if (task == MOVE && cause == NONE && to_x == goal_x && to_y == goal_y) return nullptr;
    if (task != REST) return PSTR("still moving: wait for the end of the move or send K");
    if (!homed) return PSTR("not homed: send O first");
    const int32_t dx = to_x - x(), dy = to_y - y();
    if ((dx < 0 && at_stop(pins::X_STOP)) || (CROSS_SLIDE && dy < 0 && at_stop(pins::Y_STOP)))
        return PSTR("endstop");
    goal_x = to_x;
    goal_y = to_y;
    set_off(MOVE, dx, dy, speed);
    return nullptr;
}

PGM_P home() {
    if (!DRIVE_MOTOR) {
        // A hand holds the carriage against its stop.
        encoder::set(0);
        home_is_here(false);
        return nullptr;
    }
    if (task > MOVE && cause != HALT) return nullptr;
    if (task != REST) return PSTR("still moving: wait for the end of the move or send K");
    homed = false;
    // Whatever the counts were: homing is how they come to mean something.
    if (COUNT_ENCODER) drive::set_x(encoder::safe_count() * X_STEPS_PER_COUNT);
    set_off(X_SEEK, -beyond(X_LOW, X_HIGH), 0, SEEK_SPEED);
    return nullptr;
}

void halt() {
    if (halts < 255) halts++;
    if (task == REST) {
        tell_halts();
        return;
    }
    if (task != MOVE) homed = false;
    cause = HALT;
    drive::slow_down();
}

}  // namespace motion
