"""Everything that is measured, as one table.

    sh tests/bench/run [--rounds N] [--rows N] [--streamed N] [PART ...]

Every ratio is taken in rounds that take turns within one run, and answers are checked equal before anything
is timed. Figures with a unit are this machine's; ratios travel.
"""

import argparse
import os
import platform
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT / "tests" / part) for part in ("bench", "web", ".")]

import batches  # noqa: E402 - what is measured lies beside this file
import beside  # noqa: E402
import engines  # noqa: E402
import files  # noqa: E402
import growth  # noqa: E402
import single  # noqa: E402
import workers  # noqa: E402
from figures import Figure, show  # noqa: E402
from gradefloor.judge import stones  # noqa: E402

_LIBRARIES: Final = ("pydantic", "orjson", "fastapi", "uvicorn", "uvloop", "httptools")


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--rounds", type=int, default=7)
    reader.add_argument("--rows", type=int, default=200_000, help="rows of the files that are annotated")
    reader.add_argument("--streamed", type=int, default=1_000_000, help="stones of the long stream")
    reader.add_argument("parts", nargs="*", metavar="PART")
    asked = reader.parse_args()
    parts: dict[str, tuple[str, Callable[[], list[Figure]]]] = {
        "engines": (
            "Evaluation with whole findings against general engines that answer codes: their time over ours",
            lambda: engines.figures(asked.rounds),
        ),
        "single": ("One request over HTTP: our rate over the other's", lambda: single.figures(asked.rounds)),
        "batches": ("Lists over HTTP: the other's time over ours", lambda: batches.figures(asked.rounds)),
        "beside": ("Page views beside lists", lambda: beside.figures(asked.rounds)),
        "workers": ("Workers", lambda: workers.scaling(asked.rounds)),
        "starting": ("Start", lambda: workers.starting(asked.rounds)),
        "memory": ("Memory", lambda: workers.memory(asked.streamed)),
        "growth": ("Growth: the cost of much over the cost of little", lambda: growth.figures(asked.rounds)),
        "files": ("Files", lambda: files.figures(asked.rows, asked.rounds)),
    }
    unknown = set(asked.parts) - parts.keys()
    if unknown:
        reader.error(f"no part is called {', '.join(sorted(unknown))}; there are {', '.join(parts)}")
    _tell_machine(asked.rounds)
    for name, (title, measure) in parts.items():
        if not asked.parts or name in asked.parts:
            show(f"{title} [{name}]", measure())
            sys.stdout.flush()


def _tell_machine(rounds: int) -> None:
    processor = next(
        (
            line.partition(":")[2].strip()
            for line in Path("/proc/cpuinfo").read_text().splitlines()
            if line.startswith("model name")
        ),
        platform.processor(),
    )
    now = datetime.now(UTC)
    print(f"{now:%Y-%m-%d %H:%M} UTC, {processor}, {len(os.sched_getaffinity(0))} cores, {rounds} rounds")
    print(f"load before: {os.getloadavg()[0]:.2f}; Python {platform.python_version()}; ", end="")
    print(", ".join(f"{name} {version(name)}" for name in _LIBRARIES))
    plain = str(stones.__file__).endswith(".py")
    print(f"gradefloor {version('gradefloor')}, its judge {'plain' if plain else 'compiled'}")


if __name__ == "__main__":
    main()
