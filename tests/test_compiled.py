"""The compiled judge held against the plain one: the same tests, and the same bytes for random requests."""

import hashlib
import os
import re
import subprocess
import sys
from itertools import islice
from pathlib import Path
from typing import Final

import pytest

from gradefloor.judge.stones import Judged
from gradefloor.rules.catalog import load
from samples import ROOT, RULESETS
from test_written_answers import VERSIONS, compiled_rules, models, requests

COMPILE: Final = ROOT / "service" / "compile"
COUNT: Final = 10_000  # of each version
TESTS: Final = ROOT / "tests"


def modules() -> list[str]:
    (listed,) = re.findall(r"^modules='(.*?)'", COMPILE.read_text(), re.DOTALL | re.MULTILINE)
    names: list[str] = listed.split()
    return names


def digest_of_answers(count: int) -> str:
    """One digest over so many answers of each version."""
    catalog, digest = load(RULESETS, proofs=False), hashlib.sha256()
    for name, version in VERSIONS:
        rules = compiled_rules(catalog, name, version)
        for request in islice(requests(name, version, seed=41), count):
            digest.update(Judged(rules, *models(request)).written)
    return digest.hexdigest()


def test_what_is_compiled_is_there() -> None:
    assert len(modules()) > 10
    assert [name for name in modules() if not (ROOT / f"service/gradefloor/{name}.py").is_file()] == []


def test_nothing_is_compiled_into_a_folder_that_holds_something(tmp_path: Path) -> None:
    (tmp_path / "kept.txt").write_text("something")
    done = subprocess.run(
        ["/bin/sh", str(COMPILE), str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert "not empty" in done.stderr
    assert [file.name for file in tmp_path.iterdir()] == ["kept.txt"]


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("compiled")
    environment = {**os.environ, "PYTHON": sys.executable}
    subprocess.run(["/bin/sh", str(COMPILE), str(folder)], env=environment, check=True)
    return folder


def run(compiled: Path, *command: str) -> str:
    """What a Python says that has the compiled package first on its path."""
    paths = map(str, (compiled, TESTS, TESTS / "web", TESTS / "bench"))
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(paths)}
    done = subprocess.run(
        [sys.executable, *command], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-4000:]
    return done.stdout


@pytest.mark.long
def test_every_module_that_is_listed_is_compiled(compiled: Path) -> None:
    names = [f"gradefloor.{name.replace('/', '.')}" for name in modules()]
    told = run(
        compiled, "-c", f"import importlib as i; [print(i.import_module(n).__file__) for n in {names}]"
    )
    files = told.split()
    assert len(files) == len(names)
    assert [file for file in files if not file.startswith(str(compiled)) or not file.endswith(".so")] == []


@pytest.mark.long
def test_compiled_answers_are_the_plain_ones(compiled: Path) -> None:
    told = run(compiled, "-c", f"import test_compiled; print(test_compiled.digest_of_answers({COUNT}))")
    assert told.strip() == digest_of_answers(COUNT)


@pytest.mark.long
def test_all_that_is_tested_of_the_plain_package_holds_of_the_compiled_one(compiled: Path) -> None:
    told = run(compiled, "-m", "pytest", "-q", "-n", "auto", "-m", "not long", "tests", "--ignore=tests/web")
    assert re.search(r"\d{4,} passed", told)
