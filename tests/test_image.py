"""The image without an engine: what it copies is there, and its steps lead to a service that runs as told."""

import fnmatch
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.main import get_command

from gradefloor.__main__ import main
from gradefloor.commands.serving import GRACE_SECONDS
from running import free_port
from samples import ROOT

USER = 10001


@dataclass(frozen=True)
class Step:
    """One instruction of the Dockerfile, its continued lines joined, and the stage it stands in, from 0."""

    stage: int
    name: str
    text: str


def steps() -> list[Step]:
    lines = [
        line for line in (ROOT / "Dockerfile").read_text().splitlines() if not line.lstrip().startswith("#")
    ]
    found: list[Step] = []
    for line in filter(None, re.sub(r"\\\n", " ", "\n".join(lines)).splitlines()):
        name, _, text = line.partition(" ")
        stage = found[-1].stage if found else -1
        found.append(Step(stage + (name == "FROM"), name, text.strip()))
    return found


def only(name: str) -> str:
    (text,) = [step.text for step in steps() if step.name == name]
    return text


def copied(stage: int) -> list[tuple[list[str], str]]:
    """Sources and target of each COPY from the project."""
    words = [step.text.split() for step in steps() if step.name == "COPY" and step.stage == stage]
    return [(each[:-1], each[-1]) for each in words if not each[0].startswith("--from")]


def ignored(path: str) -> bool:
    """Whether .dockerignore keeps a path of the project out: its last line that matches decides."""
    kept_out = False
    for line in (ROOT / ".dockerignore").read_text().split():
        pattern = line.removeprefix("!")
        parts = path.split("/")
        above = ["/".join(parts[: end + 1]) for end in range(len(parts))]
        if pattern.startswith("**/"):
            hit = any(fnmatch.fnmatch(part, pattern[3:]) for part in parts)
        else:
            hit = any(
                fnmatch.fnmatch(each, pattern) and each.count("/") == pattern.count("/") for each in above
            )
        if hit:
            kept_out = not line.startswith("!")
    return kept_out


@pytest.mark.parametrize("stage", [0, 1])
def test_all_that_is_copied_is_there_and_reaches_the_build(stage: int) -> None:
    sources = [source for each, _ in copied(stage) for source in each]
    assert sources
    for source in sources:
        path = source.removeprefix("./")
        assert (ROOT / path).exists(), path
        assert not ignored(path), path


@pytest.mark.parametrize(
    "path", [".git/config", ".venv/bin/python", "tests/run", "rulesets/__pycache__/x.pyc"]
)
def test_what_no_image_needs_stays_out_of_the_build(path: str) -> None:
    assert ignored(path)


def test_every_package_in_the_image_is_installed_by_its_hash() -> None:
    for step in steps():
        for command in re.findall(r"pip install [^&|;]*", step.text) if step.name == "RUN" else ():
            assert "--no-deps" in command
            assert ("--require-hashes" in command) != ("--no-index" in command), command


def test_the_image_runs_as_a_numbered_user_that_is_not_root() -> None:
    assert int(only("USER")) == USER


def test_the_image_does_not_open_itself() -> None:
    assert "GRADEFLOOR_OPEN_ACCESS" not in (ROOT / "Dockerfile").read_text()


def manifest() -> dict[str, Any]:
    """The deployment in README."""
    (block,) = re.findall(r"```yaml\n(apiVersion.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)
    deployment, service = yaml.safe_load_all(block)
    assert (deployment["kind"], service["kind"]) == ("Deployment", "Service")
    assert service["spec"]["selector"] == deployment["spec"]["template"]["metadata"]["labels"]
    found: dict[str, Any] = deployment["spec"]
    return found


def test_the_cluster_replaces_one_instance_at_a_time_and_lets_it_drain() -> None:
    spec = manifest()
    pod = spec["template"]["spec"]
    (container,) = pod["containers"]
    drain = next(one["value"] for one in container["env"] if one["name"] == "GRADEFLOOR_DRAIN_SECONDS")
    ready = container["readinessProbe"]
    assert spec["replicas"] >= 2
    assert spec["strategy"]["rollingUpdate"]["maxUnavailable"] == 0
    assert float(drain) > ready["periodSeconds"] * ready["failureThreshold"] + ready["timeoutSeconds"]
    assert pod["terminationGracePeriodSeconds"] > float(drain) + GRACE_SECONDS
    assert container["readinessProbe"]["httpGet"]["path"] == "/health/ready"
    assert container["livenessProbe"]["httpGet"]["path"] == "/health/live"


def test_the_cluster_gives_the_service_no_more_than_it_needs() -> None:
    pod = manifest()["template"]["spec"]
    (container,) = pod["containers"]
    assert pod["securityContext"]["runAsNonRoot"] is True
    assert pod["securityContext"]["runAsUser"] == USER
    assert pod["automountServiceAccountToken"] is False
    assert container["securityContext"] == {
        "allowPrivilegeEscalation": False,
        "readOnlyRootFilesystem": True,
        "capabilities": {"drop": ["ALL"]},
    }
    assert {"name": "spool", "mountPath": "/tmp"} in container["volumeMounts"]  # noqa: S108 - the image's own


def test_the_cluster_sets_only_settings_that_there_are() -> None:
    (container,) = manifest()["template"]["spec"]["containers"]
    serve = get_command(main).commands["serve"]  # type: ignore[attr-defined] # a group of commands
    assert {one["name"] for one in container["env"]} <= {option.envvar for option in serve.params}


@pytest.fixture(scope="module")
def image() -> Iterator[Path]:
    """A folder that holds what the last stage holds, made by the steps of the file.

    Left out are the two steps that would change this machine: its own pip goes, a user comes.
    """
    root = Path(tempfile.mkdtemp(prefix="image"))
    try:
        root.chmod(0o755)
        _replay(root)
        subprocess.run(["/bin/chmod", "-R", "a-w,a+rX", str(root)], check=True)
        yield root
    finally:
        subprocess.run(["/bin/chmod", "-R", "u+w", str(root)], check=True)
        shutil.rmtree(root)


def _replay(root: Path) -> None:
    folder = root
    environment = {**os.environ, "WITH": "", "PATH": f"{root}/bin:{os.environ['PATH']}"}
    (root / "bin").mkdir()
    (root / "bin" / "python").write_text(f'#!/bin/sh\nexec "{_interpreter(root)}" "$@"\n')
    (root / "bin" / "python").chmod(0o755)
    for step in steps():
        if step.name == "WORKDIR":
            folder = root / step.text.lstrip("/")
            folder.mkdir(parents=True, exist_ok=True)
        elif step.name == "ENV":
            environment |= dict(word.split("=", 1) for word in step.text.split())
        elif step.name == "COPY" and not step.text.startswith("--from"):
            *sources, target = step.text.split()
            for source in sources:
                _copy(ROOT / source, folder / target)
        elif step.name == "RUN" and step.stage == 0:
            subprocess.run(
                ["/bin/sh", "-c", step.text.replace("/opt/", f"{root}/opt/")],
                cwd=folder,
                env=environment,
                check=True,
            )


def _interpreter(root: Path) -> Path:
    """A Python that any user may run: this one, or its copy where it lies in somebody's home."""
    home = Path(sys.base_prefix)
    name = f"bin/python{sys.version_info.major}.{sys.version_info.minor}"
    if all(folder.stat().st_mode & 0o001 for folder in (home, *home.parents)):
        return home / name
    left_out = shutil.ignore_patterns("__pycache__", "site-packages", "test", "*.a")
    shutil.copytree(home, root / "python", symlinks=True, ignore=left_out)
    return root / "python" / name


def _copy(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(source, target)


@pytest.mark.long
@pytest.mark.skipif(os.geteuid() != 0, reason="only root can become the image's user")
def test_the_image_serves_read_only_as_its_user_and_ends_at_a_signal(image: Path) -> None:
    port = free_port()

    def here(text: str) -> list[str]:
        words: list[str] = json.loads(text)
        return [word.replace("/opt/", f"{image}/opt/").replace(":8000", f":{port}") for word in words]

    environment = {"PATH": "/usr/bin:/bin", "GRADEFLOOR_OPEN_ACCESS": "1"}
    if (image / "python").exists():  # a copied Python looks for its library where it was built
        environment["LD_LIBRARY_PATH"] = str(image / "python" / "lib")
    for step in steps():
        if step.name == "ENV" and step.stage == 1:
            environment |= dict(word.split("=", 1) for word in step.text.split())
    folder = image / "srv" / "gradefloor"
    healthy = here(only("HEALTHCHECK").partition("CMD ")[2])
    with subprocess.Popen(
        [*here(only("ENTRYPOINT")), "--port", str(port)],
        cwd=folder,
        env=environment,
        user=USER,
        group=USER,
        extra_groups=[],
    ) as process:
        try:
            deadline = time.monotonic() + 60
            while _run(healthy, environment) != 0:
                assert process.poll() is None
                assert time.monotonic() < deadline
                time.sleep(0.2)
            assert list((image / "opt" / "gradefloor").rglob("gradefloor/judge/stones.*.so"))
            assert f"Uid:\t{USER}\t" in Path(f"/proc/{process.pid}/status").read_text()
        finally:
            process.terminate()
            assert process.wait(timeout=15) == 0
    assert _run(healthy, environment) != 0


def _run(command: list[str], environment: dict[str, str]) -> int:
    return subprocess.run(
        command, env=environment, user=USER, group=USER, stderr=subprocess.DEVNULL, check=False
    ).returncode
