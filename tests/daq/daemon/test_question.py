"""What is asked of a person: one answer counts, and no answer is one too."""

from __future__ import annotations

import threading

import pytest

from daq.daemon.hub import Hub
from daq.daemon.question import Question
from daq.daemon.work import LookWork
from daq.daemon.works import Busy, Works
from daq.errors import InputError


def test_done_lets_the_work_go_on() -> None:
    question = Question("set the cross slide")
    threading.Thread(target=question.answer, args=("done",)).start()
    question.wait()


def test_the_first_answer_counts() -> None:
    question = Question("set the cross slide")
    assert question.answer("stop")
    assert not question.answer("done")
    with pytest.raises(KeyboardInterrupt):
        question.wait()


def test_nobody_for_long_is_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("daq.daemon.question.LONGEST_S", 0.0)
    question = Question("set the cross slide")
    with pytest.raises(InputError, match="set the cross slide: nobody is there to do it"):
        question.wait()
    assert not question.answer("done")


def test_works_are_remembered_and_forgotten() -> None:
    works = Works(Hub())
    ids = []
    for _ in range(25):
        work = works.give(LookWork(device_s=1.0))
        with pytest.raises(Busy, match=r"a look at the sensor \("):
            works.give(LookWork(device_s=1.0))
        assert works.take() is work
        assert works.take() is None
        works.end(work, "done", [])
        ids.append(work.id)
    assert [work.id for work in works.all()] == ids[-20:]
    assert works.find(ids[0]) is None


def test_a_work_is_stopped_once() -> None:
    works = Works(Hub())
    work = works.give(LookWork(device_s=1.0))
    works.take()
    assert works.stopping(work)
    assert not works.stopping(work)
    with pytest.raises(KeyboardInterrupt):
        works.ask("set the cross slide")
    works.end(work, "stopped")
    assert not works.stopping(work)


@pytest.mark.parametrize("cancelled", [True, False])
def test_what_has_not_begun_when_the_rig_goes_never_will(cancelled: bool) -> None:
    works = Works(Hub())
    question = Question("Go on?")
    work = works.give(LookWork(device_s=1.0), question)
    assert not works.due
    if cancelled:
        assert not works.stopping(work)
        assert works.due
    works.give_up("the rig went away")
    assert (work.state, str(work.error)) == (
        ("stopped", "None") if cancelled else ("failed", "the rig went away")
    )
    assert work.question is None
    works.give_up("nothing waits")
