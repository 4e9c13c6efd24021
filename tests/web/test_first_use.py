"""Tables of a version are made once, and nobody who asks for something else waits for it."""

import asyncio
import threading
from datetime import UTC, datetime

import pytest

from gradefloor.rules.catalog import Catalog, Release, load
from gradefloor.web.renewal import Renewer
from gradefloor.web.service import Service
from samples import RULESETS

NOW = datetime(2026, 11, 26, tzinfo=UTC)


@pytest.fixture
def fresh() -> Catalog:
    """A catalogue of which nobody has asked anything."""
    return load(RULESETS)


def test_tables_are_made_beside_the_loop(fresh: Catalog, monkeypatch: pytest.MonkeyPatch) -> None:
    threads, make = [], Release.make

    def told(release: Release) -> None:
        threads.append(threading.get_ident())
        make(release)

    monkeypatch.setattr(Release, "make", told)
    release = fresh.releases["strict"][0]
    service = Service(fresh)

    async def ask() -> None:
        await asyncio.gather(service.prepare(release), service.prepare(release))

    asyncio.run(ask())
    asyncio.run(ask())
    assert service.making == {}
    assert release.is_compiled
    assert len(threads) == 1
    assert threads[0] != threading.get_ident()


def test_what_the_names_mean_today_is_made_at_start_and_nothing_else(fresh: Catalog) -> None:
    service = Service(fresh, clock=lambda: NOW)

    async def start() -> None:
        async with Renewer(service, lambda catalog: catalog, 0).watching(None):
            while not all(  # noqa: ASYNC110 - a thread makes them and tells nobody
                release.is_compiled for release in fresh.in_force(NOW)
            ):
                await asyncio.sleep(0.01)

    asyncio.run(asyncio.wait_for(start(), 60))
    made = {(release.name, release.version) for release in fresh if release.is_compiled}
    assert made == {(release.name, release.version) for release in fresh.in_force(NOW)}


def test_in_force_is_the_newest_version_whose_day_has_come(fresh: Catalog) -> None:
    found = {release.name: release for release in fresh.in_force(NOW)}
    assert found == {name: fresh.resolve(name, NOW.date(), NOW) for name in fresh.releases}
    assert list(fresh.in_force(datetime(2025, 12, 31, tzinfo=UTC))) == []
