"""How much a worker has to do, and when that is too much."""

import asyncio
from dataclasses import dataclass
from time import perf_counter
from typing import Final

from gradefloor.web.problems import ProblemError


@dataclass(slots=True)
class Load:
    """What goes on in one worker at this moment, and the most that may."""

    # Requests that have come whole and are not answered: at some 2,500 a second, a tenth of one.
    max_waiting: int = 256
    # Lists and streams at once; each may hold a body of 16 MB.
    max_lists: int = 16
    max_connections: int = 2000
    waiting: int = 0
    lists: int = 0
    # No new work is sought any more: the process is about to end.
    draining: bool = False

    def check(self) -> None:
        """ProblemError if another request would have to wait too long."""
        if self.waiting > self.max_waiting:
            raise overloaded()

    def __enter__(self) -> None:
        """One list more, if there is room for it."""
        if self.lists >= self.max_lists:
            raise overloaded()
        self.lists += 1

    def __exit__(self, *_: object) -> None:
        self.lists -= 1


# How long a list or a stream works on before it gives way, so that page views beside it stay quick.
TURN_SECONDS: Final = 0.0003


class Turn:
    """The loop's time, taken in turns: who works through many items asks before each if his is over."""

    def __init__(self) -> None:
        self._ends = perf_counter() + TURN_SECONDS

    @property
    def over(self) -> bool:
        return perf_counter() >= self._ends

    async def next(self) -> None:
        """Let all others go first."""
        await asyncio.sleep(0)
        self._ends = perf_counter() + TURN_SECONDS


def overloaded() -> ProblemError:
    return ProblemError("overloaded", headers={"Retry-After": "1"})
