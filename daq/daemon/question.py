"""Something a person is to do at the rig before a work goes on."""

from __future__ import annotations

import secrets
import threading
from typing import Literal

from daq.errors import InputError

Answer = Literal["done", "stop", "nobody"]
"""Done; give the work up; nobody is there to do it."""
LONGEST_S = 3600.0


class Question:
    """Waits for one answer, whoever gives it: the command that began the work, or the page."""

    def __init__(self, text: str) -> None:
        self.id = secrets.token_hex(6)
        self.text = text
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

    def wait(self, longest_s: float = LONGEST_S) -> None:
        """Returns once it is done. Raises KeyboardInterrupt where the work is given up, InputError
        where nobody is there, or answers for an hour."""
        if not self._answered.wait(longest_s):
            self.answer("nobody")
        if self._answer == "stop":
            raise KeyboardInterrupt
        if self._answer == "nobody":
            raise InputError(
                f"{self.text}: nobody is there to do it; try again with somebody there"
            )
