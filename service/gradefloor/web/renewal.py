"""Rules taken up while serving: whole or not at all, with the last good ones kept."""

import asyncio
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress

from gradefloor.rules.catalog import Catalog, CatalogError, brief
from gradefloor.web.service import Renewal, Service

# From the catalogue in force to the one that is to follow it, which is the same one if nothing has changed.
Look = Callable[[Catalog], Catalog]


class Renewer:
    """Looks at the rule files now and then, and whenever it is asked to.

    Looking reads, compiles and proves beside the loop that answers; only what is whole takes the place of
    what answers, in one step between two requests.
    """

    def __init__(self, service: Service, look: Look, every_seconds: float) -> None:
        self.service = service
        self._look = look
        self._every_seconds = every_seconds
        self._one_at_a_time = asyncio.Lock()

    async def look(self) -> Renewal:
        """Look once; answers when it is settled which rules are in force."""
        async with self._one_at_a_time:
            now, before = self.service.clock, self.service.catalog
            try:
                found = await asyncio.to_thread(self._look, before)
            except CatalogError as error:
                self.service.keep(now(), brief(error.faults))
            except Exception as error:  # noqa: BLE001 - whatever breaks while looking, the service goes on
                self.service.keep(now(), f"the rule files could not be looked at ({type(error).__name__})")
            else:
                self.service.adopt(found, now())
            return self.service.renewal

    @asynccontextmanager
    async def watching(self, _app: object) -> AsyncIterator[None]:
        """While the application runs: look at every SIGHUP, and in between."""
        loop = asyncio.get_running_loop()
        asked = asyncio.Event()
        loop.add_signal_handler(signal.SIGHUP, asked.set)
        watch = asyncio.create_task(self._watch(asked))
        try:
            yield
        finally:
            loop.remove_signal_handler(signal.SIGHUP)
            watch.cancel()
            with suppress(asyncio.CancelledError):
                await watch

    async def _watch(self, asked: asyncio.Event) -> None:
        while True:
            with suppress(TimeoutError):
                await asyncio.wait_for(asked.wait(), self._every_seconds or None)
            asked.clear()
            await self.look()
