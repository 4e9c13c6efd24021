"""Pieces of one file judged by other processes of this machine, in the order of the file."""

import multiprocessing
import os
import signal
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import Any, Final

from gradefloor.feeds.parts import Parts
from gradefloor.feeds.rows import Judge, Table, TableError
from gradefloor.feeds.tally import Tally

ENDED: Final = (
    "a process that judged rows was ended from outside, or ran out of memory; "
    "what was done stays done: run the same command again to go on"
)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """So many processes; each calls `begin`, which has to be something to send, once for its judge."""

    processes: int
    begin: Callable[[], Judge]


def written_elsewhere(
    table: Table, pieces: Iterable[Any], elsewhere: Elsewhere, parts: Parts
) -> Generator[Tally]:
    """What each part counted, in order, as soon as its draft is written.

    The parent reads and cuts; a process judges a piece and writes it. Few pieces wait at a time, so memory
    does not grow with the file. TableError if a process is gone.
    """
    waiting: deque[Future[Tally]] = deque()
    with pool(elsewhere.processes, _begin, table, elsewhere.begin) as executor:
        try:
            for piece in pieces:
                waiting.append(executor.submit(_write, piece, parts.draft(len(waiting))))
                if len(waiting) > elsewhere.processes + 1:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        except BrokenProcessPool:
            raise TableError(f"{table.path.name}: {ENDED}") from None
        finally:
            executor.shutdown(cancel_futures=True)


def pool(processes: int, *begin: Any) -> ProcessPoolExecutor:
    """Processes that start afresh, as on every system, and never outlive this one.

    `begin` is what each calls first, and what it calls that with.
    """
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(processes, context, _settle, begin)


def _settle(begin: Callable[..., None] | None = None, *given: Any) -> None:
    """An interruption from the keyboard reaches the parent, which ends the others in order."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()
    if begin is not None:
        begin(*given)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


@dataclass(slots=True)
class _Work:
    table: Table
    begin: Callable[[], Judge]
    judge: Judge | None = None


# What this process is there for; none in the parent, one in each of the others.
_WORK: Final[list[_Work]] = []


def _begin(table: Table, begin: Callable[[], Judge]) -> None:
    _WORK.append(_Work(table, begin))


def _write(piece: Any, path: Path) -> Tally:
    (work,) = _WORK
    # The judge is made here and not at the beginning, so that the reason why it cannot be reaches the parent.
    if work.judge is None:
        work.judge = work.begin()
    tally = Tally()
    work.table.write(piece, work.judge, tally, path)
    return tally
