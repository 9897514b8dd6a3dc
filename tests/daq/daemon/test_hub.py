"""Events to any number of clients."""

from __future__ import annotations

import threading
from collections import Counter

import pytest

from daq.daemon.hub import LIVE, MOST_CLIENTS, MOST_KEPT, MOST_WAITING, Hub, TooManyClients


def nothing() -> None:
    """Nobody is waiting."""


def test_every_client_hears_everything_in_order() -> None:
    hub = Hub()
    woken: Counter[str] = Counter()
    with (
        hub.subscribed(lambda: woken.update("a"), after=None, live=True) as one,
        hub.subscribed(lambda: woken.update("b"), after=None, live=True) as other,
    ):
        for n in range(3):
            hub.publish("step", {"n": n})
        assert [event.data for event in one.take()] == ['{"n":0}', '{"n":1}', '{"n":2}']
        assert [event.number for event in other.take()] == [1, 2, 3]
        assert one.take() == []
    assert woken == {"a": 3, "b": 3}
    assert hub.clients == 0


def test_live_events_only_for_those_who_want_them_and_never_later() -> None:
    hub = Hub()
    with hub.subscribed(nothing, after=None, live=False) as quiet:
        hub.publish(LIVE, {}, kept=False)
        hub.publish("rig", {})
        assert [event.kind for event in quiet.take()] == ["rig"]
    with hub.subscribed(nothing, after=0, live=True) as late:
        assert [event.kind for event in late.take()] == ["rig"]


def test_who_comes_back_is_told_what_it_missed() -> None:
    hub = Hub()
    for n in range(5):
        hub.publish("step", {"n": n})
    with hub.subscribed(nothing, after=3, live=True) as back:
        assert [event.number for event in back.take()] == [4, 5]
    with hub.subscribed(nothing, after=None, live=True) as new:
        assert new.take() == []


def test_a_number_of_an_earlier_daemon_means_nothing() -> None:
    hub = Hub()
    hub.publish("step", {})
    with hub.subscribed(nothing, after=900, live=True) as back:
        assert [event.number for event in back.take()] == [1]


def test_a_client_that_takes_nothing_is_cut_off_and_holds_nobody_up() -> None:
    hub = Hub()
    with (
        hub.subscribed(nothing, after=None, live=True) as slow,
        hub.subscribed(nothing, after=None, live=True) as quick,
    ):
        heard = 0
        for _ in range(MOST_WAITING + 10):
            hub.publish(LIVE, {}, kept=False)
            heard += len(quick.take())
        assert slow.cut
        assert slow.take() == []
        assert not quick.cut
        assert heard == MOST_WAITING + 10


def test_what_is_kept_is_bounded() -> None:
    hub = Hub()
    for n in range(MOST_KEPT + 5):
        hub.publish("step", {"n": n})
    with hub.subscribed(nothing, after=0, live=True) as late:
        assert late.cut  # more than one client's queue: it is told to come back with a number
    with hub.subscribed(nothing, after=MOST_KEPT, live=True) as late:
        assert [event.number for event in late.take()] == list(range(MOST_KEPT + 1, MOST_KEPT + 6))


def test_clients_are_bounded() -> None:
    hub = Hub()
    held = [hub.subscribed(nothing, after=None, live=True) for _ in range(MOST_CLIENTS)]
    for one in held:
        one.__enter__()
    with pytest.raises(TooManyClients), hub.subscribed(nothing, after=None, live=True):
        pass
    for one in held:
        one.__exit__(None, None, None)


def test_the_end_is_told_to_who_listens_and_who_comes() -> None:
    hub = Hub()
    awake = threading.Event()
    with hub.subscribed(awake.set, after=None, live=True) as one:
        hub.close()
        assert awake.is_set()
        assert one.over
    with hub.subscribed(awake.set, after=None, live=True) as late:
        assert late.over


def test_no_number_that_json_lacks_is_told() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        Hub().publish("step", {"n": float("nan")})
