"""The server's end, in two steps: not ready any more, and then no connections any more."""

import os
import signal
import time
from types import FrameType

import uvicorn

from gradefloor.web.load import Load


class Server(uvicorn.Server):
    """Answers on for `drain_seconds` after SIGTERM, so that whoever balances can look elsewhere."""

    def __init__(self, config: uvicorn.Config, load: Load, drain_seconds: float) -> None:
        super().__init__(config)
        self.load = load
        self.drain_seconds = drain_seconds
        self.ends_at: float | None = None
        self.parent = os.getppid()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        if sig != signal.SIGTERM:
            super().handle_exit(sig, frame)
            self._captured_signals.clear()  # it ends as it was asked to, which is no failure
        elif self.ends_at is None:
            self.load.draining = True
            self.ends_at = time.monotonic() + self.drain_seconds

    async def on_tick(self, counter: int) -> bool:
        # A worker whose parent was killed would go on for ever, and nobody could end it.
        orphan = self.parent not in {1, os.getppid()}
        if orphan or (self.ends_at is not None and time.monotonic() >= self.ends_at):
            self.should_exit = True
        return await super().on_tick(counter)
