"""Rules taken up while the service answers: whole or not at all, the last good ones kept.

The rule sets are invented. The kinds of faults are listed in `rule_faults`.
"""

import asyncio
import os
import shutil
import signal
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

import httpx
import pytest
from prometheus_client.parser import text_string_to_metric_families

from gradefloor.rules.catalog import Catalog, CatalogError, load
from gradefloor.rules.strict_yaml import Fault
from gradefloor.web.access import Keys
from gradefloor.web.app import create_app
from gradefloor.web.renewal import Renewer
from gradefloor.web.service import Service
from rule_faults import FAULTS, NEW, STYLES, Write, begin_version, list_version, moved_over
from running import ASK, running_process
from samples import RULESETS

EVERY: Final = 0.1
# Between two requests of one who asks all the while: most of the time goes into asking, and twice as often
# shows nothing more.
PAUSE: Final = 0.01
PATIENCE: Final = 30.0
REQUEST: Final = {
    "stone": {"shape": "emerald", "carat": 0.9, "color": "G", "clarity": "VS2"},
    "as_of": "2026-06-01",
}


def sound(root: Path) -> Path:
    """A folder that lists the house's first version."""
    root.mkdir(parents=True)
    shutil.copytree(RULESETS / "house" / "1.0.0", root / "house" / "1.0.0")
    line = next(line for line in (RULESETS / "RELEASED").read_text().splitlines() if "house 1.0.0" in line)
    (root / "RELEASED").write_text(f"{line}\nend 1\n")
    return root


# In one process, without waiting


def service_of(catalog: Catalog) -> Service:
    return Service(catalog)


def look_once(service: Service, look: Callable[[Catalog], Catalog]) -> None:
    async def once() -> None:
        await Renewer(service, look, 0).look()

    asyncio.run(once())


def refuse(*faults: Fault) -> Callable[[Catalog], Catalog]:
    def look(_before: Catalog) -> Catalog:
        raise CatalogError(list(faults))

    return look


def test_what_is_whole_takes_the_place_of_what_answered(tmp_path: Path) -> None:
    before, after = load(sound(tmp_path / "a")), load(sound(tmp_path / "b"))
    service = service_of(before)
    look_once(service, lambda _: after)
    assert service.catalog is after
    assert service.renewal.state == "current"
    assert service.renewal.counts == {"adopted": 1}


def test_what_has_faults_leaves_the_last_good_rules_in_force(tmp_path: Path) -> None:
    before = load(sound(tmp_path / "a"))
    service = service_of(before)
    look_once(service, refuse(Fault("/secret/rules/house/1.1.0/ruleset.yaml", 7, "floors[0]", "a", "b")))
    assert service.catalog is before
    assert service.renewal.state == "refused"
    assert service.renewal.reason == "1 fault, the first in house 1.1.0, its rules, line 7"


@pytest.mark.parametrize(
    ("file", "reason"),
    [
        ("/secret/rules/RELEASED", "1 fault, the first in the manifest, line 3"),
        ("rules/RELEASED", "1 fault, the first in the manifest, line 3"),
        ("/secret/rules/house/1.1.0/cases.yaml", "1 fault, the first in house 1.1.0, its cases, line 3"),
    ],
)
def test_a_reason_tells_the_place_and_no_path(tmp_path: Path, file: str, reason: str) -> None:
    service = service_of(load(sound(tmp_path / "a")))
    look_once(service, refuse(Fault(file, 3, "", "a secret", "b")))
    assert service.renewal.reason == reason


def test_a_reason_names_no_private_rule_set(tmp_path: Path) -> None:
    service = service_of(load(sound(tmp_path / "a")))
    service.keys = Keys(private=frozenset({"attic"}))
    look_once(service, refuse(Fault("/secret/rules/attic/1.1.0/ruleset.yaml", 7, "", "a", "b")))
    assert service.renewal.reason == "1 fault, the first in a private rule set, its rules, line 7"


def test_whatever_breaks_while_looking_the_service_goes_on(tmp_path: Path) -> None:
    def look(_before: Catalog) -> Catalog:
        raise RuntimeError("a secret")

    before = load(sound(tmp_path / "a"))
    service = service_of(before)
    look_once(service, look)
    assert service.catalog is before
    assert service.renewal.reason == "the files could not be looked at (RuntimeError)"


def test_a_refusal_clears_although_nothing_has_changed(tmp_path: Path) -> None:
    before = load(sound(tmp_path / "a"))
    service = service_of(before)
    look_once(service, refuse(Fault("RELEASED", 1, "", "a", "b")))
    look_once(service, lambda known: known)
    assert service.renewal.state == "current"
    assert service.renewal.reason is None
    assert service.renewal.counts == {"refused": 1, "unchanged": 1}


def test_since_is_when_the_state_began(tmp_path: Path) -> None:
    moments = iter(datetime(2026, 6, 1, tzinfo=UTC) + timedelta(minutes=n) for n in range(9))
    service = Service(load(sound(tmp_path / "a")), lambda: next(moments))
    broken = refuse(Fault("RELEASED", 1, "", "a", "b"))
    look_once(service, broken)
    look_once(service, broken)
    assert (service.renewal.since.minute, service.renewal.looked_at.minute) == (0, 1)


def test_health_and_metrics_tell_a_refusal_and_stay_ready(tmp_path: Path) -> None:
    service = service_of(load(sound(tmp_path / "a")))
    look_once(service, refuse(Fault("/secret/RELEASED", 1, "", "a secret", "b")))

    async def ask() -> tuple[httpx.Response, httpx.Response]:
        transport = httpx.ASGITransport(create_app(service))
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            return await client.get("/health/ready"), await client.get("/metrics")

    ready, metrics = asyncio.run(ask())
    assert ready.status_code == 200
    assert ready.json()["rules"]["state"] == "refused"
    assert "secret" not in ready.text + metrics.text
    found = {
        (sample.name, frozenset(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(metrics.text)
        for sample in family.samples
    }
    assert found["gradefloor_rules_current", frozenset()] == 0
    assert found["gradefloor_rules_looks_total", frozenset({"refused"})] == 1
    assert found["gradefloor_rules_looks_total", frozenset({"adopted"})] == 0
    (release,) = service.catalog
    assert found["gradefloor_ruleset_info", frozenset({"house", "1.0.0", release.digest})] == 1


# A service that is asked all the while


@dataclass
class Asker:
    """Asks one service without pause, and keeps when it asked, and who answered."""

    address: str
    answers: list[tuple[float, float, int, str]] = field(default_factory=list)
    stopped: threading.Event = field(default_factory=threading.Event)

    def run(self) -> None:
        with httpx.Client(base_url=self.address) as client:
            while not self.stopped.wait(PAUSE):
                asked = time.time()
                answer = client.post("/v1/evaluations", json=REQUEST)
                version = answer.json()["ruleset"]["version"] if answer.is_success else answer.text
                self.answers.append((asked, time.time(), answer.status_code, version))


@dataclass(frozen=True)
class Site:
    """A folder, the service over it, and who asks it."""

    root: Path
    address: str
    pid: int
    asker: Asker

    def rules(self) -> dict[str, Any]:
        told: dict[str, Any] = ASK.get(f"{self.address}/health/ready").raise_for_status().json()["rules"]
        return told

    def wait_for(self, state: str) -> dict[str, Any]:
        deadline = time.monotonic() + PATIENCE
        while (told := self.rules())["state"] != state:
            assert time.monotonic() < deadline, f"not {state}: {told}"
            time.sleep(EVERY / 2)
        return told

    def wait_for_answer(self, version: str) -> None:
        deadline = time.monotonic() + PATIENCE
        while not self.asker.answers or self.asker.answers[-1][3] != version:
            assert time.monotonic() < deadline, self.asker.answers[-1:]
            time.sleep(EVERY / 2)


def site(root: Path, *options: str) -> Iterator[Site]:
    with running_process("--rulesets", str(root), *options) as (address, process):
        asker = Asker(address)
        thread = threading.Thread(target=asker.run)
        thread.start()
        try:
            while not asker.answers:
                time.sleep(EVERY / 2)
            yield Site(root, address, process.pid, asker)
        finally:
            asker.stopped.set()
            thread.join()


@pytest.fixture(scope="module")
def watched(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """A service that looks at its folder all the time, for faults that it refuses."""
    yield from site(sound(tmp_path_factory.mktemp("watched") / "rulesets"), "--look-every", str(EVERY))


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Site]:
    """A service of its own, for versions that it takes up."""
    yield from site(sound(tmp_path / "rulesets"), "--look-every", str(EVERY))


def make_like(root: Path, wanted: Path) -> None:
    """Put the content of another folder in the place of this one's, at once."""
    shutil.rmtree(root)
    shutil.copytree(wanted, root, symlinks=True)


# Every third in the short form: of the manifest, of what was released, of new versions.
KINDS = [k if n % 3 == 0 else pytest.param(k, marks=pytest.mark.long) for n, k in enumerate(FAULTS)]


@pytest.mark.parametrize("kind", KINDS)
def test_a_fault_is_refused_whole_while_the_last_good_version_answers(
    watched: Site, tmp_path: Path, kind: str
) -> None:
    good = tmp_path / "good"
    shutil.copytree(watched.root, good)
    began = len(watched.asker.answers)

    FAULTS[kind](watched.root)
    told = watched.wait_for("refused")
    make_like(watched.root, good)
    watched.wait_for("current")

    answers = watched.asker.answers[began:]
    assert answers
    assert {(status, version) for _, _, status, version in answers} == {(200, "1.0.0")}
    assert "/" not in told["reason"]


SHORT = [style if style is moved_over else pytest.param(style, marks=pytest.mark.long) for style in STYLES]


@pytest.mark.parametrize("write", SHORT, ids=lambda write: write.__name__)
def test_a_new_version_is_taken_up_however_the_manifest_is_updated(own: Site, write: Write) -> None:
    begin_version(own.root)
    write(own.root / "RELEASED", list_version(own.root))
    own.wait_for_answer(NEW)

    assert own.wait_for("current")["reason"] is None
    versions = [version for _, _, _, version in own.asker.answers]
    switch = versions.index(NEW)
    assert set(versions[:switch]) == {"1.0.0"}
    assert set(versions[switch:]) == {NEW}
    assert {status for _, _, status, _ in own.asker.answers} == {200}


@pytest.mark.parametrize("write", STYLES, ids=lambda write: write.__name__)
def test_a_fault_is_refused_however_the_file_is_updated(watched: Site, tmp_path: Path, write: Write) -> None:
    good = tmp_path / "good"
    shutil.copytree(watched.root, good)
    began = len(watched.asker.answers)

    write(watched.root / "RELEASED", b"end 7\n")
    watched.wait_for("refused")
    make_like(watched.root, good)
    watched.wait_for("current")

    seen = {(status, version) for _, _, status, version in watched.asker.answers[began:]}
    assert seen == {(200, "1.0.0")}


@pytest.mark.long
def test_a_mended_version_is_taken_up(own: Site) -> None:
    FAULTS["unknown_grade"](own.root)
    own.wait_for("refused")
    shutil.rmtree(own.root / "house" / NEW)
    begin_version(own.root)
    lines = (own.root / "RELEASED").read_text().splitlines()
    (own.root / "RELEASED").write_text(f"{lines[0]}\nend 1\n")
    (own.root / "RELEASED").write_bytes(list_version(own.root))
    own.wait_for_answer(NEW)
    own.wait_for("current")


def test_a_signal_asks_for_a_look_where_none_is_due(tmp_path: Path) -> None:
    for quiet in site(sound(tmp_path / "rulesets"), "--look-every", "0"):
        begin_version(quiet.root)
        (quiet.root / "RELEASED").write_bytes(list_version(quiet.root))
        time.sleep(0.5)
        assert quiet.asker.answers[-1][3] == "1.0.0"
        os.kill(quiet.pid, signal.SIGHUP)
        quiet.wait_for_answer(NEW)


@pytest.mark.long
def test_the_older_version_still_answers_to_its_name(own: Site) -> None:
    def stored() -> bytes:
        request = {**REQUEST, "ruleset": "house@1.0.0"}
        return ASK.post(f"{own.address}/v1/evaluations", json=request).raise_for_status().content

    before = stored()
    begin_version(own.root)
    (own.root / "RELEASED").write_bytes(list_version(own.root))
    own.wait_for_answer(NEW)
    assert stored() == before


def test_all_processes_switch_at_the_moment_that_the_manifest_names(tmp_path: Path) -> None:
    root = sound(tmp_path / "rulesets")
    for one in site(root, "--look-every", str(EVERY)):
        for other in site(root, "--look-every", "0.35"):
            begin_version(root)
            moment = datetime.now(UTC) + timedelta(seconds=4)
            (root / "RELEASED").write_bytes(list_version(root, moment=moment.isoformat()))
            one.wait_for_answer(NEW)
            other.wait_for_answer(NEW)
            time.sleep(0.2)

            switch = moment.timestamp()
            for asker in (one.asker, other.asker):
                assert {status for _, _, status, _ in asker.answers} == {200}
                assert {v for _, answered, _, v in asker.answers if answered < switch} == {"1.0.0"}
                assert {v for asked, _, _, v in asker.answers if asked > switch} == {NEW}
