"""Page views beside lists: what four clients of single requests notice of two that send lists of 1,000."""

import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from asked import BATCH, REQUESTS
from figures import Figure, at_most, ratios
from load import Asking, latencies, message, on_core, percentile
from served import ASKING, all_of, posts

CLIENTS = 4
SENDERS = 2
SHARES = {"p50": 0.5, "p99": 0.99}


def figures(rounds: int, seconds: float = 3.0) -> list[Figure]:
    requests = posts("/v1/evaluations", REQUESTS)
    alone: dict[str, list[float]] = {name: [] for name in SHARES}
    among: dict[str, list[float]] = {name: [] for name in SHARES}
    listed = []
    with all_of() as ports, on_core(ASKING):
        port = ports["service"]
        latencies(port, requests, CLIENTS, 1.0)
        for _ in range(rounds):
            _measure(latencies(port, requests, CLIENTS, seconds), alone)
            with _senders(port, seconds + 2) as sent:
                time.sleep(1.0)
                _measure(latencies(port, requests, CLIENTS, seconds), among)
            listed.append(sum(sent))
    return [
        *(Figure(f"{name} alone", alone[name], unit="ms") for name in SHARES),
        Figure("p50 beside lists", among["p50"], unit="ms"),
        Figure("p99 beside lists", among["p99"], at_most(6), "ms"),
        Figure("p99 beside lists against p99 alone", ratios(among["p99"], alone["p99"]), at_most(5)),
        Figure("stones a second in those lists", listed),
    ]


def _measure(found: list[float], into: dict[str, list[float]]) -> None:
    for name, share in SHARES.items():
        into[name].append(percentile(found, share) * 1000)


@contextmanager
def _senders(port: int, seconds: float) -> Iterator[list[float]]:
    """Two processes that send one list after the other; how many stones a second each got back."""
    rates: list[float] = []
    command = ["nice", sys.executable, __file__, str(port), str(seconds)]
    senders = [subprocess.Popen(command, stdout=subprocess.PIPE) for _ in range(SENDERS)]
    yield rates
    rates += [float(sender.communicate()[0]) for sender in senders]


def _send(port: int, seconds: float) -> float:
    request, one, count = message("/v1/evaluations/batch", BATCH), Asking(port), 0
    began = time.perf_counter()
    while time.perf_counter() - began < seconds:
        one.ask(request)
        count += 1
    return count * 1000 / (time.perf_counter() - began)


if __name__ == "__main__":
    print(_send(int(sys.argv[1]), float(sys.argv[2])))
