"""Something a person is to do at the rig before a work goes on."""

from __future__ import annotations

import secrets
import threading
import time
from typing import Literal

from daq.errors import InputError

Answer = Literal["done", "stop", "nobody"]
"""Done; give the work up; nobody is there to do it."""
LONGEST_S = 3600.0


class Question:
    """Waits for one answer, whoever gives it: the command that began the work, or the page.

    unanswered: what is said where nobody is there; the text, and that it was not done, by itself.
    """

    def __init__(self, text: str, unanswered: str = "") -> None:
        self.id = secrets.token_hex(6)
        self.text = text
        self._unanswered = unanswered or f"{text}: nobody is there to do it"
        self._until_s = time.monotonic() + LONGEST_S
        self._answered = threading.Event()
        self._answer: Answer = "nobody"
        self._lock = threading.Lock()

    def answer(self, answer: Answer) -> bool:
        """From any thread. Whether it was the first one: only that counts."""
        with self._lock:
            if self._answered.is_set():
                return False
            self._answer = answer
            self._answered.set()
            return True

    @property
    def is_over(self) -> bool:
        """Whether `wait` would not wait any more."""
        return self._answered.is_set() or time.monotonic() >= self._until_s

    def wait(self) -> None:
        """Returns once it is done. Raises KeyboardInterrupt where the work is given up, InputError
        where nobody is there, or answers for an hour."""
        if not self._answered.wait(max(0.0, self._until_s - time.monotonic())):
            self.answer("nobody")
        if self._answer == "stop":
            raise KeyboardInterrupt
        if self._answer == "nobody":
            raise InputError(f"{self._unanswered}; try again with somebody there")
