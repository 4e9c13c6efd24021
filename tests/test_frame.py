"""The frame: layout, imports, types, style, the commands, and what README says of them."""

import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()


def run(*command: str, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300, **more)


def gradefloor(*arguments: str) -> subprocess.CompletedProcess[str]:
    return run(sys.executable, "-m", "gradefloor", *arguments)


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(("ruff", "check"), id="lint"),
        pytest.param(("ruff", "format", "--check"), id="format"),
        pytest.param(("mypy",), id="types"),
    ],
)
def test_the_code_is_clean(command: tuple[str, ...]) -> None:
    done = run(sys.executable, "-m", *command)
    assert done.returncode == 0, done.stdout + done.stderr


def test_imports_run_downwards_and_the_judge_is_pure() -> None:
    done = run(str(Path(sys.executable).with_name("lint-imports")), "--no-cache")
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("library", ["rich", "charset_normalizer", "numpy", "shapely", "pyarrow"])
def test_what_few_requests_need_is_not_loaded_by_a_service_that_starts(library: str) -> None:
    loads = "import gradefloor.__main__, gradefloor.web.app, gradefloor.web.server, gradefloor.web.renewal"
    done = run(sys.executable, "-c", f"import sys; {loads}; print({library!r} in sys.modules)")
    assert done.stdout == "False\n", done.stderr


def test_the_top_level_holds_what_it_should() -> None:
    named = {"README.md", "DEVELOPERS.md", "Dockerfile", "pyproject.toml"}
    named |= {"service", "rulesets", "tests", "openapi"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found == named


def test_check_proves_every_released_version() -> None:
    done = gradefloor("check")
    assert done.returncode == 0
    checked = [line for line in done.stdout.splitlines() if not line.startswith(" ")]
    listed = (ROOT / "rulesets" / "RELEASED").read_text().splitlines()
    assert checked == [line for line in listed if not line.startswith(("#", "end"))]


def test_one_wrong_value_stops_the_service_with_file_line_found_and_allowed(tmp_path: Path) -> None:
    rulesets = tmp_path / "rulesets"
    run("cp", "-r", "rulesets", str(rulesets))
    file = rulesets / "house" / "1.0.0" / "ruleset.yaml"
    text = file.read_text()
    file.write_text(text.replace("on_paper: VVS2, if_seen: VS1", "on_paper: VVS3, if_seen: VS1", 1))

    done = gradefloor("serve", "--rulesets", str(rulesets), "--port", "1")

    assert done.returncode == 1
    line = text[: text.index("on_paper: VVS2, if_seen: VS1")].count("\n") + 1
    assert f"{file}:{line}:" in done.stderr
    assert "found 'VVS3'" in done.stderr
    assert "allowed: one of FL, IF, VVS1, VVS2" in done.stderr


def test_a_taken_port_is_told_in_a_clear_word() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        done = gradefloor("serve", "--port", port)

    assert done.returncode == 2
    assert f"Cannot listen on 127.0.0.1:{port}: Address already in use. Choose another" in done.stderr


def test_the_schema_of_rule_files_is_the_committed_one() -> None:
    assert gradefloor("schema").stdout == (ROOT / "rulesets" / "schema.json").read_text()


@pytest.mark.parametrize("script", ["service/run", "tests/run", ".ci/run"])
def test_the_scripts_are_plain_shell(script: str) -> None:
    assert run("sh", "-n", script).returncode == 0


def test_the_gate_runs_the_readme_s_test_command() -> None:
    assert "exec sh tests/run" in (ROOT / ".ci" / "run").read_text()
    assert "sh tests/run" in README


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def test_readme_s_request_gets_readme_s_answer_and_a_signal_ends_the_service() -> None:
    port = free_port()
    request = re.search(r"-d '(\{.*?\n\})'", README, re.DOTALL)
    shown = re.search(r"```json\n(.*?)```", README, re.DOTALL)
    assert request
    assert shown
    command = [sys.executable, "-m", "gradefloor", "serve", "--port", str(port)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as process:
        try:
            answer = _post(f"http://127.0.0.1:{port}/v1/evaluations", request[1].encode())
        finally:
            process.send_signal(signal.SIGTERM)
            ended = time.monotonic()
            process.wait(timeout=15)

    expected = json.loads(shown[1])
    assert {key: answer[key] for key in ("verdict", "questions", "measures")} == {
        key: expected[key] for key in ("verdict", "questions", "measures")
    }
    first = {key: answer["findings"][0][key] for key in expected["findings"][0]}
    assert first == expected["findings"][0]
    assert time.monotonic() - ended < 10


def _post(address: str, body: bytes) -> dict[str, Any]:
    request = urllib.request.Request(address, body, {"content-type": "application/json"})  # noqa: S310
    for _ in range(300):
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310 - our own address
                body_of: dict[str, Any] = json.loads(answer.read())
                return body_of
        except OSError:
            time.sleep(0.1)
    raise AssertionError("the service did not answer")


def test_readme_s_rule_is_the_rule_in_the_file() -> None:
    shown = re.search(r"```yaml\n(  - id: .*?)```", README, re.DOTALL)
    assert shown
    assert shown[1] in (ROOT / "rulesets" / "house" / "1.0.0" / "ruleset.yaml").read_text()


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "rulesets/README.md"])
def test_links_lead_somewhere(document: str) -> None:
    path = ROOT / document
    for link in re.findall(r"\]\((?!https?:)([^)#]+)\)", path.read_text()):
        assert (path.parent / link).exists(), link


def test_the_image_has_two_stages_and_serves_as_nobody_in_particular() -> None:
    stages = (ROOT / "Dockerfile").read_text().split("\nFROM ")
    last = stages[-1]
    assert len(stages) == 3
    assert "USER 10001" in last
    assert "HEALTHCHECK" in last
    assert "gradefloor check && exec" in last
    assert "pip install" not in last
