"""Rules and keys taken up while serving: whole or not at all, with the last good ones kept."""

import asyncio
import gc
import logging
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from typing import Final

from gradefloor.rules.catalog import Catalog, CatalogError, brief
from gradefloor.rules.strict_yaml import Fault
from gradefloor.web.access import Keys, KeysError
from gradefloor.web.service import Renewal, Service

MAX_TOLD: Final = 20
_LOG: Final = logging.getLogger("gradefloor")

# From the catalogue in force to the one that is to follow it, which is the same one if nothing has changed.
Look = Callable[[Catalog], Catalog]


class Renewer:
    """Looks at the rule files and the keys now and then, and whenever it is asked to.

    Looking reads, compiles and proves beside the loop that answers; only what is whole takes the place of
    what answers, in one step between two requests.
    """

    def __init__(
        self,
        service: Service,
        look: Look,
        every_seconds: float,
        read_keys: Callable[[], Keys] | None = None,
    ) -> None:
        self.service = service
        self._look = look
        self._every_seconds = every_seconds
        self._read_keys = read_keys

    async def look(self) -> Renewal:
        """Look once; answers when it is settled which rules and keys are in force."""
        reason = found = None
        faults: list[Fault] = []
        try:
            found = await asyncio.to_thread(self._look, self.service.whole)
            if self._read_keys is not None:
                self.service.keys = await asyncio.to_thread(self._read_keys)
        except CatalogError as error:
            reason, faults = brief(error.faults, self.service.keys.private), error.faults
        except KeysError as error:
            reason, faults = str(error), error.faults
        except Exception as error:  # noqa: BLE001 - whatever breaks while looking, the service goes on
            reason = f"the files could not be looked at ({type(error).__name__})"
        if reason != self.service.renewal.reason:
            self._tell(reason, faults)
        self.service.renew(found, reason)
        return self.service.renewal

    def _tell(self, reason: str | None, faults: list[Fault]) -> None:
        """Write down that the state has changed, with everything that its keeper has to mend."""
        if reason is None:
            _LOG.warning("the files are in order again, and in force")
            return
        _LOG.warning("refused, the last good rules and keys answer: %s", reason)
        for fault in faults[:MAX_TOLD]:
            _LOG.warning("%s", fault)

    @asynccontextmanager
    async def watching(self, _app: object) -> AsyncIterator[None]:
        """While the application runs: look once before the first answer, at every SIGHUP, and in between."""
        loop = asyncio.get_running_loop()
        asked = asyncio.Event()
        loop.add_signal_handler(signal.SIGHUP, asked.set)
        # A worker that takes the place of another begins with what its parent has read long ago.
        await self.look()
        tasks = [asyncio.create_task(self._watch(asked)), asyncio.create_task(self._make())]
        try:
            yield
        finally:
            loop.remove_signal_handler(signal.SIGHUP)
            for task in tasks:
                task.cancel()
            await asyncio.gather(*tasks, return_exceptions=True)

    async def _make(self) -> None:
        """Make the tables of what is in force before anybody has to wait for them."""
        for release in self.service.whole.in_force(self.service.clock()):
            await self.service.prepare(release)
        # They live as long as the process, like all that was there when it began.
        gc.freeze()

    async def _watch(self, asked: asyncio.Event) -> None:
        while True:
            with suppress(TimeoutError):
                await asyncio.wait_for(asked.wait(), self._every_seconds or None)
            asked.clear()
            await self.look()
