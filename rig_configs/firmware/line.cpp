#include "line.h"

#include <util/crc16.h>

#include "serial.h"

namespace line {

char body[LONGEST_BODY + 1];
uint16_t dropped;

namespace {

constexpr uint16_t CRC_START = 0xFFFF;
uint16_t said_crc = CRC_START;

// What has come of a line: its length counts on past the buffer, so that too long stays known.
constexpr uint8_t LONGEST_LINE = LONGEST_BODY + 6;  // and a carriage return
char coming[LONGEST_LINE];
uint8_t came;

void put(char one) {
    said_crc = _crc_xmodem_update(said_crc, one);
    serial::say(one);
}

char hex(uint8_t nibble) { return nibble < 10 ? '0' + nibble : 'A' + nibble - 10; }

// Whether coming[0, length) is BODY*CCCC with the right CCCC, in ASCII.
bool good(uint8_t length) {
    if (length < 6 || length > LONGEST_BODY + 5 || coming[length - 5] != '*') return false;
    uint16_t crc = CRC_START;
    for (uint8_t at = 0; at < length - 5; at++) {
        if (coming[at] < ' ' || coming[at] > '~') return false;
        crc = _crc_xmodem_update(crc, coming[at]);
    }
    for (uint8_t at = length - 1; at > length - 5; at--, crc >>= 4)
        if (coming[at] != hex(crc & 0xF)) return false;
    return true;
}

bool ended() {
    uint8_t length = came;
    came = 0;
    if (length && length <= LONGEST_LINE && coming[length - 1] == '\r') length--;
    if (!good(length)) {
        dropped++;
        return false;
    }
    for (uint8_t at = 0; at < length - 5; at++) body[at] = coming[at];
    body[length - 5] = 0;
    return true;
}

constexpr uint32_t TENS[] PROGMEM = {1000000000, 100000000, 10000000, 1000000, 100000,
                                     10000,      1000,      100,      10};

}  // namespace

void text(PGM_P piece) {
    while (const char one = pgm_read_byte(piece++)) put(one);
}

void letter(char one) { put(one); }

// By subtraction: a division of 32 bits for each digit would take four times as long.
void unsigned_number(uint32_t value) {
    bool begun = false;
    for (uint8_t place = 0; place < sizeof TENS / sizeof TENS[0]; place++) {
        const uint32_t ten = pgm_read_dword(&TENS[place]);
        char digit = '0';
        for (; value >= ten; value -= ten) digit++;
        begun |= digit != '0';
        if (begun) put(digit);
    }
    put('0' + static_cast<uint8_t>(value));
}

void number(int32_t value) {
    if (value < 0) put('-');
    unsigned_number(value < 0 ? -static_cast<uint32_t>(value) : value);
}

void end() {
    const uint16_t crc = said_crc;
    said_crc = CRC_START;
    serial::say('*');
    for (int8_t shift = 12; shift >= 0; shift -= 4) serial::say(hex(crc >> shift & 0xF));
    serial::say('\n');
}

bool hear(uint8_t byte) {
    if (byte == '\n') return ended();
    if (came < LONGEST_LINE) coming[came] = byte;
    if (came < 255) came++;
    return false;
}

bool whole(const char *from, const char *to, int32_t &value) {
    const bool minus = from < to && *from == '-';
    if (minus) from++;
    if (from >= to || to - from > 9) return false;
    value = 0;
    for (; from < to; from++) {
        if (*from < '0' || *from > '9') return false;
        value = value * 10 + (*from - '0');
    }
    if (minus) value = -value;
    return true;
}

}  // namespace line
