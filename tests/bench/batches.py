"""Lists over HTTP: against parse, validation, id and serialisation of the same bytes without rules."""

import time

import orjson

import peers
from asked import BATCH, FEW, batch
from figures import Figure, at_least, in_turns, ratios
from load import Asking, message, on_core
from served import ASKING, all_of

PATH = "/v1/evaluations/batch"


def figures(rounds: int) -> list[Figure]:
    found = []
    with all_of("gate", "idiomatic") as ports, on_core(ASKING):
        for count, body, times in ((1000, BATCH, 3), (10_000, batch(10_000), 1)):
            ours, theirs = message(PATH, body), message(peers.MANY, body)
            asked = {
                "rules": (ports["gate"], ours),
                "few": (ports["gate"], message(PATH, batch(count, FEW))),
                "gate": (ports["gate"], theirs),
                "service": (ports["service"], ours),
                "idiomatic": (ports["idiomatic"], theirs),
            }
            _check(asked, count)
            taken = in_turns(
                {
                    name: lambda port=port, request=request, times=times: _seconds(port, request, times)  # type: ignore[misc]
                    for name, (port, request) in asked.items()
                },
                rounds,
            )
            goal = at_least(0.45) if count == 1000 else None
            found += [
                Figure(
                    f"{count:,}: the same bytes without rules", ratios(taken["gate"], taken["rules"]), goal
                ),
                Figure(
                    f"{count:,}: the same, the house's floors and windows alone",
                    ratios(taken["gate"], taken["few"]),
                ),
                Figure(
                    f"{count:,}: idiomatic route that judges nothing",
                    ratios(taken["idiomatic"], taken["service"]),
                    at_least(1.5) if goal else None,
                ),
                Figure(f"{count:,}: stones a second on one core", [count / one for one in taken["service"]]),
            ]
    return found


def _seconds(port: int, request: bytes, times: int) -> float:
    one = Asking(port)
    began = time.perf_counter()
    for _ in range(times):
        one.ask(request)
    took = time.perf_counter() - began
    one.close()
    return took / times


def _check(asked: dict[str, tuple[int, bytes]], count: int) -> None:
    ids = {}
    for name, (port, request) in asked.items():
        one = Asking(port)
        results = orjson.loads(one.ask(request))["results"]
        one.close()
        if len(results) != count:
            raise SystemExit(f"{name} answered {len(results)} of {count}")
        ids[name] = [result["evaluation_id"] for result in results]
    if not ids["rules"] == ids["service"] == ids["gate"]:
        raise SystemExit("the lists that are compared are not answered alike")
