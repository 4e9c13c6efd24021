"""One request over HTTP: against the same route without rules, and against what a tutorial would write."""

import orjson

import peers
from asked import FEW, REQUESTS, requests
from figures import Figure, at_least, in_turns, ratios
from load import Asking, latencies, on_core, percentile
from served import ASKING, all_of, posts

CONNECTIONS = 16
PATH = "/v1/evaluations"


def figures(rounds: int, seconds: float = 1.0) -> list[Figure]:
    ours, theirs = posts(PATH, REQUESTS), posts(peers.SINGLE, REQUESTS)
    with all_of("gate", "idiomatic", "constant") as ports, on_core(ASKING):
        _check(ports, ours[0], theirs[0])
        served = {
            "service": (ports["service"], ours),
            # In one process with the route that judges nothing, so that nothing else differs.
            "rules": (ports["gate"], ours),
            "few": (ports["gate"], posts(PATH, requests(FEW))),
            "gate": (ports["gate"], theirs),
            "idiomatic": (ports["idiomatic"], theirs),
            "constant": (ports["constant"], theirs),
        }
        for port, messages in served.values():
            latencies(port, messages, CONNECTIONS, 0.5)
        rates = in_turns(
            {
                name: lambda port=port, asked=asked: (
                    len(latencies(port, asked, CONNECTIONS, seconds)) / seconds
                )  # type: ignore[misc]
                for name, (port, asked) in served.items()
            },
            rounds,
        )
        alone = in_turns({"service": lambda: _alone(ports["service"], ours)}, rounds)["service"]
    return [
        Figure("the same route without rules", ratios(rates["rules"], rates["gate"]), at_least(0.75)),
        Figure(
            "the same, the house's floors and windows alone (7 checks of 34)",
            ratios(rates["few"], rates["gate"]),
        ),
        Figure(
            "idiomatic route that judges nothing", ratios(rates["service"], rates["idiomatic"]), at_least(1.3)
        ),
        Figure("constant answer", ratios(rates["service"], rates["constant"])),
        Figure("one connection, median latency", alone, unit="ms"),
        Figure("requests a second on one core", rates["service"]),
    ]


def _alone(port: int, requests: list[bytes]) -> float:
    return percentile(latencies(port, requests, 1, 0.5), 0.5) * 1000


def _check(ports: dict[str, int], ours: bytes, theirs: bytes) -> None:
    """The same answers with rules; without them the same but for the findings, id and all."""
    answers = {}
    for name, asked in {"service": ours, "gate": ours}.items():
        one = Asking(ports[name])
        answers[name] = one.ask(asked)
        one.close()
    one = Asking(ports["gate"])
    unjudged = orjson.loads(one.ask(theirs))
    one.close()
    judged = orjson.loads(answers["service"])
    if answers["service"] != answers["gate"] or judged["evaluation_id"] != unjudged["evaluation_id"]:
        raise SystemExit("the routes that are compared do not answer alike")
