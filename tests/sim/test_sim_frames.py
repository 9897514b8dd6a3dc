"""Bytes on the wire, against the contract's own words."""

import re


def bitwise_crc(data: bytes) -> int:
    """CRC-16/IBM-3740, a bit at a time, as the contract defines it."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


def closed(body: bytes) -> bytes:
    return body + b"*%04X\n" % bitwise_crc(body)


def test_the_check_value_is_the_published_one():
    assert bitwise_crc(b"123456789") == 0x29B1


def test_hello_is_answered_with_these_bytes(make_host):
    device = make_host(seed=7).device
    device.feed(closed(b"H"))
    assert device.produce(100) == closed(b"H,1,sim-7,2000")


def test_commands_are_accepted_and_ended_with_these_bytes(make_host):
    device = make_host().device
    device.feed(closed(b"M,1000,-50,5000"))
    assert device.produce(100) == closed(b"A,M")
    line = device.produce(100)
    assert re.fullmatch(rb"E,\d+,arrived\*[0-9A-F]{4}\n", line)
    assert line == closed(line.partition(b"*")[0])


def test_samples_are_frames_of_the_contract_with_the_pad_under_the_ball(make_host):
    host = make_host()
    host.run("M,1000,-50,5000")
    host.say("G,400")
    lines = host.device.produce(46 * 20).splitlines(keepends=True)
    assert len(lines) == 20
    for line in lines:
        assert re.fullmatch(rb"S,\d+,\d+,1000,-50,2000\*[0-9A-F]{4}\n", line)
        assert line == closed(line.partition(b"*")[0])


def test_nothing_in_reach_is_an_empty_reading_after_one_event(make_host, take_bodies):
    host = make_host()
    host.say("G,400")
    fields, bad = take_bodies(host.run("M,10000,,5000"))
    assert bad == 0
    words = [each[2] for each in fields if each[0] == "E"]
    assert words == ["overrange", "overrange", "arrived"]
    last = [each for each in fields if each[0] == "S"][-1]
    assert last[3:] == ["10000", "0", ""]


def test_a_carriage_return_is_allowed_and_bad_lines_are_dropped(make_host):
    device = make_host().device
    device.feed(closed(b"X").replace(b"\n", b"\r\n") + b"X*0000\nrubbish\n\n\xff\xfe\n")
    assert device.produce(100) == closed(b"A,X")
    assert device.produce(100) == b""


def test_commands_may_come_byte_by_byte(make_host):
    device = make_host().device
    for byte in closed(b"H"):
        device.feed(bytes([byte]))
    assert device.produce(100) == closed(b"H,1,sim-1,2000")
