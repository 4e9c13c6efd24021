"""Fixtures that several test files share."""

import gc
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from hypothesis import HealthCheck, settings

from gradefloor.rules.catalog import Catalog
from gradefloor.rules.tables import CompiledRules
from raw import Wire
from running import running_server
from samples import Tree, committed, committed_catalog, release, write_tiny

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


def pytest_collection_finish() -> None:
    """What was collected stays to the end; let nobody look through all of it for garbage again and again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def catalog() -> Catalog:
    return committed_catalog()


@pytest.fixture(scope="session")
def house() -> CompiledRules:
    return committed("house")


@pytest.fixture(scope="session")
def strict() -> CompiledRules:
    return committed("strict")


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
def elsewhere() -> Iterator[httpx.Client]:
    """Asks another process with another hash seed, for answers that must not depend on either."""
    with running_server(hash_seed="12345") as address, httpx.Client(base_url=address, timeout=30) as client:
        yield client


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """Two released versions of an invented rule set without rules."""
    write_tiny(tmp_path, "tiny", "1.0.0")
    write_tiny(tmp_path, "tiny", "1.1.0", "2026-03-01")
    release(tmp_path)
    return tmp_path
