"""What is installed: every package pinned by the hash of its files, and a wheel that serves by itself."""

import base64
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import time
import tomllib
import zipfile
from pathlib import Path

import httpx
import pytest

from running import free_port
from samples import ROOT

PINS = ROOT / "service" / "pins"
_PIN = re.compile(r"^([a-z0-9][a-z0-9.-]*)==([^\s;]+)", re.MULTILINE)
_HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}\b")
# A project with a build of its own, so that nothing but the pinned package has to be found.
PYPROJECT = '[build-system]\nrequires = []\nbuild-backend = "builder"\nbackend-path = ["."]\n'
BUILDER = """
import zipfile
def build_editable(folder, settings=None, metadata=None):
    info = "invented-1.dist-info"
    with zipfile.ZipFile(f"{folder}/invented-1-py3-none-any.whl", "w") as wheel:
        wheel.writestr(f"{info}/METADATA", "Metadata-Version: 2.1\\nName: invented\\nVersion: 1\\n")
        wheel.writestr(f"{info}/WHEEL", "Wheel-Version: 1.0\\nTag: py3-none-any\\n")
        wheel.writestr(f"{info}/RECORD", "")
    return "invented-1-py3-none-any.whl"
"""


def pins(name: str) -> dict[str, str]:
    """Package and version, as one file of pins has them."""
    return dict(_PIN.findall((PINS / f"{name}.txt").read_text()))


def write_wheel(folder: Path) -> str:
    """A wheel `pebble` 1.0 without code; the SHA-256 of its file."""
    file = folder / "pebble-1.0-py3-none-any.whl"
    content = {
        "pebble-1.0.dist-info/METADATA": "Metadata-Version: 2.1\nName: pebble\nVersion: 1.0\n",
        "pebble-1.0.dist-info/WHEEL": "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    digests = (
        f"{name},sha256={base64.urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).decode().rstrip('=')},"
        for name, text in content.items()
    )
    with zipfile.ZipFile(file, "w") as wheel:
        for name, text in content.items():
            wheel.writestr(name, text)
        wheel.writestr("pebble-1.0.dist-info/RECORD", "\n".join([*digests, "pebble-1.0.dist-info/RECORD,,"]))
    return hashlib.sha256(file.read_bytes()).hexdigest()


def install(folder: Path, pin: str) -> subprocess.CompletedProcess[str]:
    """What `service/environment.sh` does in a folder whose only pin is this one, without any network."""
    (folder / "service" / "pins").mkdir(parents=True)
    shutil.copy(ROOT / "service" / "environment.sh", folder / "service")
    (folder / "pyproject.toml").write_text(PYPROJECT)
    (folder / "builder.py").write_text(BUILDER)
    (folder / "service" / "pins" / "serve.txt").write_text(f"{pin}\n")
    (folder / "service" / "pins" / "build.txt").write_text("")
    return subprocess.run(
        ["/bin/sh", "-c", "set -eu; extras=; . service/environment.sh"],
        cwd=folder,
        env={**os.environ, "PIP_NO_INDEX": "1", "PIP_FIND_LINKS": str(folder.parent)},
        capture_output=True,
        text=True,
        check=False,
    )


SERVED = ["serve", "build", "compile", "parquet", "cluster", "tracing"]


@pytest.mark.parametrize("name", [*SERVED, "test", "tools", "bench"])
def test_every_pin_has_the_hashes_of_its_files(name: str) -> None:
    text = (PINS / f"{name}.txt").read_text()
    entries = re.split(
        r"\n(?=[a-z0-9])", re.sub(r"^#.*\n|^--only-binary :all:\n|\n#.*", "", text, flags=re.MULTILINE)
    )
    pinned = [entry for entry in entries if entry.strip()]
    assert len(pinned) == len(pins(name)) > 0
    for entry in pinned:
        assert _PIN.match(entry.strip()), entry
        assert _HASH.search(entry), entry


@pytest.mark.parametrize("name", SERVED)
def test_what_is_served_is_what_is_tested(name: str) -> None:
    assert pins(name).items() <= pins("test").items()


def test_nothing_is_built_from_source_and_no_index_is_named() -> None:
    for file in PINS.iterdir():
        text = file.read_text()
        assert "\n--only-binary :all:\n" in text, file
        assert "://" not in text, file


def test_what_builds_the_project_is_pinned_as_the_project_asks() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    for requirement in project["build-system"]["requires"]:
        name, _, version = requirement.partition("==")
        assert pins("build")[name] == version


def test_everything_that_serving_asks_for_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    optional = project["optional-dependencies"]
    for name, asked in (
        ("serve", project["dependencies"]),
        ("parquet", optional["parquet"]),
        ("cluster", optional["cluster"]),
        ("tracing", [each for each in optional["tracing"] if each not in pins("serve")]),
    ):
        assert {re.split(r"[;=<>\[ ]", each)[0] for each in asked} <= pins(name).keys()


@pytest.mark.long
def test_a_file_of_the_pinned_hash_is_installed(tmp_path: Path) -> None:
    digest = write_wheel(tmp_path)
    done = install(tmp_path / "project", f"pebble==1.0 --hash=sha256:{digest}")
    assert done.returncode == 0, done.stderr
    assert list((tmp_path / "project" / ".venv").glob("lib/*/site-packages/pebble-1.0.dist-info"))


def test_a_file_of_another_hash_is_refused(tmp_path: Path) -> None:
    digest = write_wheel(tmp_path)
    other = digest[:-1] + ("0" if digest[-1] != "0" else "1")
    done = install(tmp_path / "project", f"pebble==1.0 --hash=sha256:{other}")
    assert done.returncode == 2
    assert "DO NOT MATCH THE HASHES" in done.stderr
    assert not (tmp_path / "project" / ".venv").exists()


@pytest.mark.long
def test_a_pin_without_a_hash_is_refused(tmp_path: Path) -> None:
    write_wheel(tmp_path)
    done = install(tmp_path / "project", "pebble==1.0")
    assert done.returncode == 2
    assert "Hashes are required" in done.stderr


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this tree, built by what is installed."""
    pytest.importorskip("hatchling")
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    return next(folder.glob("*.whl"))


def test_the_wheel_holds_all_of_the_package_and_the_rule_sets_and_nothing_else(wheel: Path) -> None:
    def files(folder: Path, below: str) -> set[str]:
        return {
            f"{below}/{file.relative_to(folder).as_posix()}"
            for file in folder.rglob("*")
            if file.is_file() and "__pycache__" not in file.parts
        }

    wanted = files(ROOT / "service" / "gradefloor", "gradefloor") | files(
        ROOT / "rulesets", "gradefloor/rulesets"
    )
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert held == wanted
    assert "gradefloor/py.typed" in held


@pytest.fixture(scope="module")
def environment(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Variables under which the wheel is what runs."""
    site = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    found = {**os.environ, "PYTHONPATH": str(site), "OPENBLAS_NUM_THREADS": "1"}
    found.pop("GRADEFLOOR_RULESETS", None)
    return found


@pytest.mark.long
def test_an_installed_wheel_checks_in_an_empty_folder(environment: dict[str, str], tmp_path: Path) -> None:
    command = [sys.executable, "-m", "gradefloor", "check"]
    subprocess.run(command, cwd=tmp_path, env=environment, check=True, capture_output=True)


def test_an_installed_wheel_serves_from_an_empty_folder(environment: dict[str, str], tmp_path: Path) -> None:
    port = free_port()
    command = [sys.executable, "-m", "gradefloor", "serve", "--port", str(port)]
    with subprocess.Popen(command, cwd=tmp_path, env=environment) as process:
        try:
            with httpx.Client(base_url=f"http://127.0.0.1:{port}", timeout=30) as client:
                assert wait(client, process)["status"] == "ready"
                stone = {"shape": "emerald", "carat": 1.46, "color": "I", "clarity": "VS2"}
                assert client.post("/v1/evaluations", json={"stone": stone}).json()["verdict"] in {
                    "pass",
                    "ask",
                    "fail",
                }
                page = client.get("/").raise_for_status().text
                assets = re.findall(r'"(/assets/[^"]+)"', page)
                assert assets
                for asset in assets:
                    assert client.get(asset).is_success, asset
        finally:
            process.terminate()
            assert process.wait(timeout=15) == 0


def wait(client: httpx.Client, process: subprocess.Popen[bytes]) -> dict[str, object]:
    """The answer of `/health/ready`, as soon as there is one."""
    deadline = time.monotonic() + 60
    while time.monotonic() < deadline and process.poll() is None:
        try:
            answer: dict[str, object] = client.get("/health/ready").raise_for_status().json()
        except httpx.HTTPError:
            time.sleep(0.05)
        else:
            return answer
    raise RuntimeError(f"the server did not get ready; it ended with {process.poll()}")


@pytest.mark.long
def test_the_list_of_what_is_shipped_has_every_pin_of_serving() -> None:
    done = subprocess.run(
        ["/bin/sh", "service/supply", "sbom"], cwd=ROOT, check=True, capture_output=True, text=True
    )
    bill = json.loads(done.stdout)
    assert bill["bomFormat"] == "CycloneDX"
    assert {part["name"]: part["version"] for part in bill["components"]} == pins("serve")
