"""How the cost grows with what there is: stones, rules, rule sets, findings. In process."""

import gc
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import cycle, islice
from typing import Final

from asked import CONTEXT, DAY, ROOT, batch, stone
from figures import Figure, at_most, in_turns, ratios
from gradefloor.judge.stones import Judged
from gradefloor.rules.catalog import Catalog, Release, load
from gradefloor.rules.compile import compile_rules
from gradefloor.rules.format import Guard
from gradefloor.rules.merge import Places
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.stones import Context, Stone
from gradefloor.web import gate
from gradefloor.web.evaluations import BatchRequest

NOW: Final = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC)
STONES: Final = [Stone.model_validate(stone(place)) for place in range(200)]
AROUND: Final = Context.model_validate(CONTEXT)
BODIES: Final = {count: batch(count) for count in (1, 1000)}
# The size of a core's own cache on common servers, and more than that.
BESIDE_MB: Final = (1, 4)
KINDS: Final = ("floors", "windows", "looks", "guards")


def figures(rounds: int) -> list[Figure]:
    catalog = load(ROOT / "rulesets")
    release = catalog.resolve("house", DAY, NOW)
    rules = release.compiled
    count = sum(len(getattr(release.rules, kind)) for kind in KINDS)
    elsewhere = with_more(release, 9 * count, {"materials": ["quartz"]}, release.rules.guards)
    findings = len(_judged(rules, STONES[0]).said)
    speaking = [guard for guard in release.rules.guards if guard.id == "material.kind"]
    talkative = with_more(release, 3 * findings, {}, speaking)
    more = len(_judged(talkative, STONES[0]).said) / findings
    many_names = crowded(catalog, release)
    gc.collect()
    gc.freeze()
    taken = in_turns(
        {
            "plain": lambda: _time(lambda: [_judged(rules, one).written for one in STONES]),
            "elsewhere": lambda: _time(lambda: [_judged(elsewhere, one).written for one in STONES]),
            "talkative": lambda: _time(lambda: [_judged(talkative, one).written for one in STONES]),
            "few names": lambda: _time(lambda: [catalog.resolve("house", DAY, NOW) for _ in range(1000)]),
            "many names": lambda: _time(lambda: [many_names.resolve("house", DAY, NOW) for _ in range(1000)]),
            "one": lambda: _time(lambda: [whole_list(rules, BODIES[1]) for _ in range(200)]) / 200,
            "thousand": lambda: _time(lambda: whole_list(rules, BODIES[1000])) / 1000,
            **{
                f"beside {size} MB": lambda size=size: _beside(rules, size)  # type: ignore[misc]
                for size in BESIDE_MB
            },
        },
        rounds,
    )
    gc.unfreeze()
    return [
        Figure(
            "rules ×10, of which the stone's own are as before: time",
            ratios(taken["elsewhere"], taken["plain"]),
            at_most(1.5),
        ),
        Figure(f"findings ×{more:.1f}: time", ratios(taken["talkative"], taken["plain"])),
        Figure("rule sets ×20: time to find one", ratios(taken["many names"], taken["few names"])),
        Figure("stones ×1,000 in a list: time a stone", ratios(taken["thousand"], taken["one"])),
        *(
            Figure(
                f"{size} MB of other memory used between two stones: time",
                ratios(taken[f"beside {size} MB"], taken["plain"]),
            )
            for size in BESIDE_MB
        ),
    ]


def _beside(rules: CompiledRules, megabytes: int) -> float:
    """Seconds for all stones where something else has used the core's caches before each of them.

    That is how a server judges single requests, and how no loop does.
    """
    read = bytes(megabytes * 512 * 1024)
    written = bytearray(read)
    seconds = 0.0
    for one in STONES:
        written[:] = read
        seconds += _time(lambda one=one: _judged(rules, one).written)  # type: ignore[misc]
    return seconds


def _judged(rules: CompiledRules, one: Stone) -> Judged:
    return Judged(rules, one, AROUND, DAY)


def whole_list(rules: CompiledRules, body: bytes) -> list[bytes]:
    """A list from its bytes to the bytes of its answers."""
    asked = gate.validate(BatchRequest, gate.read_json(body))
    return [_judged(rules, gate.validate(Stone, one)).written for one in asked.stones]


def _time(call: Callable[[], object]) -> float:
    began = time.perf_counter()
    call()
    return time.perf_counter() - began


def with_more(release: Release, count: int, update: dict[str, object], guards: list[Guard]) -> CompiledRules:
    """The same rules and so many guards more, copies of these."""
    copies = [
        guard.model_copy(update={**update, "id": f"copy_{number}.{guard.id}"})
        for number, guard in enumerate(islice(cycle(guards), count))
    ]
    grown = release.rules.model_copy(update={"guards": [*release.rules.guards, *copies]})
    # Copies have no place in a file; a fault of theirs is told where their rule set begins.
    where = Places(
        release.where.own, {**release.where.of_rule, **{c.id: (release.where.own, ()) for c in copies}}
    )
    compiled, faults = compile_rules(grown, where, release.digest)
    if compiled is None:
        raise SystemExit("\n".join(map(str, faults)))
    return compiled


def crowded(catalog: Catalog, release: Release) -> Catalog:
    """Twenty times as many names."""
    more = {
        f"name_{number}": (replace(release, name=f"name_{number}"),)
        for number in range(19 * len(catalog.releases))
    }
    return Catalog({**catalog.releases, **more}, catalog.listed)
