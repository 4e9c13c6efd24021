"""Several workers under one parent: started, begun again when they die, stopped together."""

import os
import signal
import sys
import time
from collections import deque
from collections.abc import Callable
from types import FrameType
from typing import Final

import typer

# So many deaths in so many seconds are no accidents; whoever runs the service has to look.
MAX_DEATHS: Final = 5
DEATH_SECONDS: Final = 10.0
PAUSE_SECONDS: Final = 0.1

GAVE_UP: Final = 1


class Supervisor:
    """The parent. `work` runs one worker to its end and gives its exit code."""

    def __init__(self, count: int, work: Callable[[], int], stop_seconds: float) -> None:
        self.count = count
        self.work = work
        self.stop_seconds = stop_seconds
        self.workers: set[int] = set()
        self.stopping = False
        self.deaths: deque[float] = deque(maxlen=MAX_DEATHS)

    def run(self) -> int:
        """Until a signal ends it, or too many workers die; gives the exit code."""
        for sig in (signal.SIGTERM, signal.SIGINT):
            signal.signal(sig, self._stop)
        signal.signal(signal.SIGHUP, self._pass_on)
        signal.signal(signal.SIGALRM, self._kill)
        code = 0
        while len(self.workers) < self.count and not self.stopping:
            self._start()
        while self.workers:
            pid, status = os.wait()
            self.workers.discard(pid)
            if self.stopping:
                continue
            typer.echo(f"worker {pid} ended ({_ending(status)})", err=True)
            if self._too_many():
                typer.echo(f"{MAX_DEATHS} workers ended within {DEATH_SECONDS:.0f} s: giving up", err=True)
                code = GAVE_UP
                self._stop(signal.SIGTERM, None)
            else:
                time.sleep(PAUSE_SECONDS)
                if not self.stopping:
                    self._start()
        return code

    def _start(self) -> None:
        sys.stdout.flush()
        sys.stderr.flush()
        pid = os.fork()
        if pid == 0:
            for sig in (signal.SIGTERM, signal.SIGINT, signal.SIGALRM):
                signal.signal(sig, signal.SIG_DFL)
            # Until it listens for it: whoever asks for a look just now must not end it.
            signal.signal(signal.SIGHUP, signal.SIG_IGN)
            code = 1
            try:
                code = self.work()
            finally:
                os._exit(code)
        self.workers.add(pid)
        if self.stopping:  # a signal came between
            os.kill(pid, signal.SIGTERM)

    def _too_many(self) -> bool:
        now = time.monotonic()
        self.deaths.append(now)
        return len(self.deaths) == MAX_DEATHS and now - self.deaths[0] < DEATH_SECONDS

    def _stop(self, sig: int, _frame: FrameType | None) -> None:
        if not self.stopping:
            self.stopping = True
            signal.alarm(max(1, round(self.stop_seconds)))
        self._signal_all(sig)

    def _kill(self, _sig: int, _frame: FrameType | None) -> None:
        """Whoever has not ended by now never will."""
        self._signal_all(signal.SIGKILL)

    def _pass_on(self, sig: int, _frame: FrameType | None) -> None:
        self._signal_all(sig)

    def _signal_all(self, sig: int) -> None:
        for pid in tuple(self.workers):
            os.kill(pid, sig)


def _ending(status: int) -> str:
    code = os.waitstatus_to_exitcode(status)
    return f"signal {-code}" if code < 0 else f"exit code {code}"
