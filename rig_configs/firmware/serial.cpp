#include "serial.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "config.h"

namespace serial {

namespace {

// Powers of two, so that an index wraps by a mask. Longest gap between two looks at the ring:
// one sample put into text, 0.6 ms, 30 bytes.
constexpr uint8_t IN = 128;
volatile uint8_t in[IN], in_head, in_tail;
// 256: the index wraps by itself.
volatile uint8_t out[256], out_head, out_tail;

constexpr uint16_t DIVISOR = config::CPU_HZ / 8 / config::BAUD - 1;
static_assert(config::CPU_HZ / 8 / (DIVISOR + 1) == config::BAUD, "a baud the clock cannot make");

}  // namespace

void begin() {
    UCSR0A = 1 << U2X0;
    UCSR0C = 1 << UCSZ01 | 1 << UCSZ00;
    UBRR0H = DIVISOR >> 8;
    UBRR0L = DIVISOR & 0xFF;
    UCSR0B = 1 << RXEN0 | 1 << TXEN0 | 1 << RXCIE0;
}

bool heard() { return in_head != in_tail; }

int16_t hear() {
    if (!heard()) return -1;
    const uint8_t byte = in[in_tail];
    in_tail = (in_tail + 1) & (IN - 1);
    return byte;
}

uint8_t room() { return static_cast<uint8_t>(out_tail - out_head - 1); }

void say(uint8_t byte) {
    out[out_head] = byte;
    out_head = out_head + 1;
    UCSR0B |= 1 << UDRIE0;
}

}  // namespace serial

// A byte that finds the ring full is lost, and with it its line: the checksum sees to that.
ISR(USART_RX_vect) {
    using namespace serial;
    const uint8_t byte = UDR0;
    const uint8_t next = (in_head + 1) & (IN - 1);
    if (next == in_tail) return;
    in[in_head] = byte;
    in_head = next;
}

ISR(USART_UDRE_vect) {
    using namespace serial;
    // Looked at first: `say` may have let this interrupt in for a byte that has gone already.
    if (out_tail == out_head) {
        UCSR0B &= ~(1 << UDRIE0);
        return;
    }
    UDR0 = out[out_tail];
    out_tail = out_tail + 1;
}
