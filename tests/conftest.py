"""Fixtures that several test files share."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path

import httpx
import pytest
from hypothesis import HealthCheck, settings

from gradefloor.rules.catalog import Catalog, Release, load
from gradefloor.rules.tables import CompiledRules
from raw import Wire
from running import running_server
from samples import RULESETS, Tree, release, write_tiny

# The same examples in every run: a gate that fails must fail again when it is run again.
settings.register_profile(
    "gate",
    max_examples=150,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("gate")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Files of the long run are not even read by the short one."""
    short = config.getoption("markexpr") == "not long"
    return True if short and collection_path.stem.endswith("_long") else None


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    return load(RULESETS, drafts=True)


def _only(catalog: Catalog, name: str) -> Release:
    return next(release for release in catalog.releases[name] if release.version == "1.0.0")


@pytest.fixture(scope="session")
def house(catalog: Catalog) -> CompiledRules:
    return _only(catalog, "house").compiled


@pytest.fixture(scope="session")
def strict(catalog: Catalog) -> CompiledRules:
    return _only(catalog, "strict").compiled


@pytest.fixture
def tree(tmp_path: Path) -> Tree:
    """A copy of the committed rule sets that a test may damage."""
    return Tree.copy(tmp_path / "rulesets")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    with running_server() as address:
        yield address


@pytest.fixture(scope="session")
def client(server: str) -> Iterator[httpx.Client]:
    with httpx.Client(base_url=server, timeout=30) as client:
        yield client


@pytest.fixture(scope="session")
def wire(server: str) -> Wire:
    return Wire(server)


@pytest.fixture(scope="session")
def second_server() -> Callable[[], AbstractContextManager[str]]:
    """Another process with another hash seed, for answers that must not depend on either."""
    return lambda: running_server(hash_seed="12345")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """Two released versions of an invented rule set without rules."""
    write_tiny(tmp_path, "tiny", "1.0.0")
    write_tiny(tmp_path, "tiny", "1.1.0", "2026-03-01")
    release(tmp_path)
    return tmp_path
