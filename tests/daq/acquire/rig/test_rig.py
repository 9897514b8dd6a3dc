"""Commands and answers over a scripted rig, and every way they can fail."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from daq.acquire.links.controller import Heard, Hello
from daq.acquire.links.rig_faults import RigRefused, RigStopped
from daq.acquire.rig.rig import Rig
from daq.errors import RigError
from daq.files.rig import RigFile
from daq.wire.line import encode
from daq.wire.records import SampleBlock

OpenRig = Callable[[Any, RigFile], Rig]


def no_answer(rig: Any, fields: list[str]) -> None:
    pass


def test_hello_goes_past_a_first_line_that_lost_its_beginning(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    fake = fake_rig()
    fake.say(b"23,4*9F\r\n", b"boot ok")
    rig = open_rig(fake, rig_file)
    rig.hello()
    assert rig.hellos[0] == Hello(1, "fake-1", 1000.0)
    assert fake.commands[0] == "H"


def test_hello_is_repeated_until_the_board_is_up(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def deaf_twice(rig: Any, fields: list[str]) -> None:
        if len(rig.commands) > 2:
            rig.do_H(fields)

    rig = open_rig(fake_rig({"H": deaf_twice}), rig_file)
    rig.hello(timeout_s=5.0)
    assert rig.hellos[0].device_id == "fake-1"


def test_another_protocol_is_refused(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    newer = {"H": lambda rig, fields: rig.say(encode.frame(b"H,2,fake,1000"))}
    with pytest.raises(RigError, match="speaks protocol 2, and this program only protocol 1"):
        open_rig(fake_rig(newer), rig_file).hello()


def test_a_silent_rig(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    rig = open_rig(fake_rig({"H": no_answer}), rig_file)
    with pytest.raises(RigError, match=r"did not answer hello: nothing came for 0\.1 s"):
        rig.hello(timeout_s=0.1)


def test_a_wrong_baud_rate_is_noise(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    fake = fake_rig({"H": no_answer})
    fake.say(b"\x80\xf8" * 600)
    rig = open_rig(fake, rig_file)
    with pytest.raises(RigError, match=r"sent 1,200 bytes, none of them a good frame, but what a"):
        rig.hello(timeout_s=0.1)


def test_moves_are_sent_in_counts(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig, sink: Any
) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)
    rig.move(50.0, -1.5, 25.0)
    rig.move(None, 0.0, None)
    assert fake.commands == ["M,10000,-150,5000", "M,,0,"]
    assert sink.sent.startswith(b"M,10000,-150,5000*")
    assert (fake.x, fake.y) == (10000, 0)


def test_a_streamed_move_hands_out_every_sample_up_to_its_stop(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig, sink: Any
) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)
    pieces: list[Heard] = []
    late: list[bytes] = []

    def stop_late(rig: Any, fields: list[str]) -> None:
        late.extend(rig.samples(fake.x, 5000))
        rig.say(*late)
        rig.do_X(fields)

    fake.on["X"] = stop_late
    with rig.listening(pieces.append):
        rig.stream(400)
        rig.move(20.0, None, 25.0)
        rig.stop()
    samples = SampleBlock.concatenate(heard.batch.samples for heard in pieces)
    assert len(samples) == 320 + len(late)
    assert samples.x[-1] == 4000
    assert rig.place.x_mm == pytest.approx(20.0)
    assert sink.received.count(b"S,") == len(samples)
    assert sink.stamps == sorted(sink.stamps)


def test_a_refusal_carries_the_rigs_reason(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    full = {"M": lambda rig, fields: rig.say(encode.refuse("M", "x 99 outside 0 to 50"))}
    rig = open_rig(fake_rig(full), rig_file)
    with pytest.raises(RigRefused, match="refused a move: x 99 outside 0 to 50"):
        rig.move(1.0, None, None)


def test_answers_to_other_commands_are_no_answers(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    fake = fake_rig(
        {"G": lambda rig, fields: rig.say(encode.accept("X"), encode.hello_reply("a", 1))}
    )
    with pytest.raises(RigError, match="did not answer streaming"):
        open_rig(fake, rig_file).stream(400)


def test_an_answer_lost_on_its_way_is_asked_for_again(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def lose_first(rig: Any, fields: list[str]) -> None:
        if rig.commands.count("X") > 1:
            rig.do_X(fields)

    fake = fake_rig({"X": lose_first})
    open_rig(fake, rig_file).stop()
    assert fake.commands == ["X", "X"]


def test_a_lost_arrival_is_seen_from_the_samples(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def without_end(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("M"))
        rig.say(*rig.travel(fields))
        rig.say(*rig.samples(rig.x + 1, 1), *rig.samples(rig.x, 1))

    fake = fake_rig({"M": without_end})
    rig = open_rig(fake, rig_file)
    rig.stream(400)
    fake.rate_hz = 400
    rig.move(20.0, None, 25.0)
    assert fake.commands.count("M,4000,,5000") == 1


def test_a_lost_arrival_without_samples_is_asked_for_again(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def lose_first(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("M"))
        rig.travel(fields)
        if len(rig.commands) > 1:
            rig.say(rig.event("arrived"))

    fake = fake_rig({"M": lose_first})
    rig = open_rig(fake, rig_file)
    rig.place.homed()
    rig.move(0.0, None, 25.0)
    assert fake.commands == ["M,0,,5000"] * 2


@pytest.mark.parametrize(
    ("word", "line"),
    [
        ("stalled", "the carriage stalled: free its way"),
        ("endstop", "the carriage ran into its end stop"),
        ("reset", "the rig reset itself and lost its place"),
        ("halted", "the rig was halted"),
    ],
)
def test_what_stops_a_move_is_named(
    word: str, line: str, fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def stop_half_way(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5), rig.event(word, "its words"))

    rig = open_rig(fake_rig({"M": stop_half_way}), rig_file)
    rig.stream(400)
    with pytest.raises(RigStopped, match=line) as caught:
        rig.move(20.0, None, 25.0)
    assert "(the rig says: its words)" in str(caught.value)


def test_out_of_range_stops_nothing(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    def over(rig: Any, fields: list[str]) -> None:
        rig.say(rig.event("overrange"))
        rig.do_M(fields)

    fake = fake_rig({"M": over})
    open_rig(fake, rig_file).move(20.0, None, 25.0)
    assert fake.x == 4000


def test_a_rig_that_was_reset_must_be_homed(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    fake = fake_rig({"X": lambda rig, fields: rig.say(rig.event("reset"), encode.accept("X"))})
    rig = open_rig(fake, rig_file)
    rig.stop()
    assert rig.lost_its_place
    with pytest.raises(RigStopped, match="lost its place"):
        rig.move(20.0, None, 25.0)
    with pytest.raises(RigStopped, match="lost its place"):
        rig.stream(400)
    assert fake.commands == ["X"]
    rig.home()
    rig.move(20.0, None, 25.0)
    assert fake.x == 4000


def test_an_end_stop_belongs_to_homing(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    def find(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("O"), rig.event("endstop"), rig.event("homed"))

    rig = open_rig(fake_rig({"O": find}), rig_file)
    rig.home()
    assert rig.place.x_mm == 0.0


def test_a_rig_that_goes_silent_in_a_stream(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    def hang(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5))

    rig = open_rig(fake_rig({"M": hang}), rig_file)
    rig.stream(400)
    with pytest.raises(RigError, match=r"finish a move: nothing came for 0\.15 s"):
        rig.move(20.0, None, 25.0)


def test_the_cable_in_the_middle_of_a_move(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig, sink: Any
) -> None:
    def come_loose(rig: Any, fields: list[str]) -> None:
        rig.say(encode.accept("M"), *rig.travel(fields, 0.5))
        rig.pull()

    rig = open_rig(fake_rig({"M": come_loose}), rig_file)
    rig.stream(400)
    with pytest.raises(RigError, match="the cable to /dev/fake came loose"):
        rig.move(20.0, None, 25.0)
    assert sink.received.count(b"S,") == 160


def test_places_the_rig_cannot_go(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)
    with pytest.raises(RigError, match=r"x = 100.1 mm is outside the carriage's travel, 0 to 100"):
        rig.move(100.1, None, None)
    assert fake.commands == []


def test_a_slide_set_by_hand_cannot_be_moved(
    fake_rig: Any, hand_rig_file: RigFile, open_rig: OpenRig
) -> None:
    with pytest.raises(RigError, match="set by hand"):
        open_rig(fake_rig(), hand_rig_file).move(10.0, 1.0, None)


def test_pump_gives_what_comes_and_ends_on_silence(
    fake_rig: Any, rig_file: RigFile, open_rig: OpenRig
) -> None:
    fake = fake_rig()
    rig = open_rig(fake, rig_file)
    rig.stream(400)
    fake.say(*fake.samples(100, 5000))
    batches = rig.pump()
    assert len(next(batches).batch.samples) == 8
    with pytest.raises(RigError, match="did not go on sending"):
        next(batches)


def test_close_lets_the_port_go(fake_rig: Any, rig_file: RigFile, open_rig: OpenRig) -> None:
    fake = fake_rig()
    open_rig(fake, rig_file).close()
    assert fake.closed
