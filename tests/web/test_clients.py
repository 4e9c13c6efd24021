"""Strangers read the contract with tools of their own, and the service answers what was made of it.

The clients are generated anew in every run, into a temporary folder. All stones are invented.
"""

import importlib
import inspect
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import httpx
import pytest

from replay import EXAMPLES, ROOT

CLIENTS: Final = ROOT / "tests" / "clients"
CONTRACT: Final[dict[str, Any]] = json.loads((ROOT / "openapi" / "openapi.json").read_text())
OPERATIONS: Final = {
    operation["operationId"]: operation
    for methods in CONTRACT["paths"].values()
    for operation in methods.values()
}
EXAMPLE: Final = {path.stem: json.loads(path.read_text()) for path in EXAMPLES.glob("*.json")}
EMERALD: Final = {
    "id": "tray-1", "shape": "emerald", "carat": 1.46, "color": "I", "clarity": "VS2",
    "length_mm": 8.21, "width_mm": 5.6,
}  # fmt: skip
PINNED: Final = {"ruleset": "house@1.0.0", "as_of": "2026-11-25"}
# What npm says where the machine has no way to a registry.
NO_WAY: Final = re.compile("ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ETIMEDOUT|ENETUNREACH|ENOTCACHED")


def run(command: list[str], folder: Path) -> str:
    """What the command says, if it succeeds."""
    environment = {**os.environ, "REDOCLY_TELEMETRY": "off", "REDOCLY_SUPPRESS_UPDATE_NOTICE": "true"}
    done = subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


# A client in Python.


class PythonClient:
    """A generated package and the service that it asks."""

    def __init__(self, folder: Path, address: str) -> None:
        self.folder = folder
        self.modules = {
            path.stem: ".".join(path.relative_to(folder.parent).with_suffix("").parts)
            for path in folder.glob("api/*/*.py")
            if path.stem != "__init__"
        }
        self.client = importlib.import_module(f"{folder.name}.client").Client(base_url=address, timeout=30)
        self.models = importlib.import_module(f"{folder.name}.models")

    def ask(self, operation: str, body: dict[str, Any] | None = None, **parameters: Any) -> Any:
        """The parsed answer; the body is made by the generated model."""
        asked = importlib.import_module(self.modules[operation]).sync_detailed
        if body is not None:
            model = inspect.signature(asked, eval_str=True).parameters["body"].annotation
            parameters["body"] = model.from_dict(body)
        return asked(client=self.client, **parameters).parsed


@pytest.fixture(scope="module")
def python_client(server: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[PythonClient]:
    folder = tmp_path_factory.mktemp("python") / "generated_client"
    command = [sys.executable, "-m", "openapi_python_client", "generate", "--fail-on-warning", "--meta=none"]
    options = ["--path", str(ROOT / "openapi/openapi.json"), "--config", str(CLIENTS / "python.yaml")]
    run([*command, *options, "--output-path", str(folder)], folder.parent)
    sys.path.insert(0, str(folder.parent))
    made = PythonClient(folder, server)
    yield made
    made.client.get_httpx_client().close()
    sys.path.remove(str(folder.parent))
    for name in [name for name in sys.modules if name.partition(".")[0] == folder.name]:
        del sys.modules[name]


# The name of the operation in the generated package.
def snake(operation_id: str) -> str:
    return re.sub("(?=[A-Z])", "_", operation_id).lower()


def test_the_python_client_has_every_operation(python_client: PythonClient) -> None:
    # The generator leaves out what it cannot read, and ends with 0 for all that.
    assert python_client.modules.keys() == {snake(operation_id) for operation_id in OPERATIONS}


def test_the_python_client_judges_a_stone(python_client: PythonClient, client: httpx.Client) -> None:
    body = {"stone": EMERALD, **PINNED}
    answer = python_client.ask("evaluate_stone", body)
    assert isinstance(answer, python_client.models.Evaluation)
    assert answer.to_dict() == client.post("/v1/evaluations", json=body).json()


def test_the_python_client_judges_a_stone_from_an_address(python_client: PythonClient) -> None:
    shape = python_client.models.EvaluateStoneFromAddressShape.EMERALD
    answer = python_client.ask("evaluate_stone_from_address", shape=shape, carat=1.46, ruleset="house@1.0.0")
    assert isinstance(answer, python_client.models.Evaluation)
    assert answer.ruleset.version == "1.0.0"


def test_the_python_client_tells_the_faulty_stone_of_a_list(python_client: PythonClient) -> None:
    body = {"stones": [EMERALD, {"shape": "oval", "carat": "two"}], **PINNED}
    good, faulty = python_client.ask("evaluate_stones", body).results
    assert isinstance(good, python_client.models.Evaluation)
    assert isinstance(faulty, python_client.models.Problem)
    assert faulty.errors[0].pointer == "/stones/1/carat"


def test_the_python_client_reads_rows(python_client: PythonClient) -> None:
    answer = python_client.ask("read_rows", EXAMPLE["readRows.two_rows_nobody_cleaned"]["body"])
    assert answer.to_dict() == EXAMPLE["readRows.two_rows_nobody_cleaned"]["answer"]


def test_the_python_client_reads_a_refusal(python_client: PythonClient) -> None:
    problem = python_client.ask("evaluate_stone", {"stone": {**EMERALD, "carat": 10**6}})
    assert isinstance(problem, python_client.models.Problem)
    assert (problem.status, problem.code, problem.errors[0].pointer) == (
        422,
        "request_invalid",
        "/stone/carat",
    )


def test_the_python_client_lists_the_rule_sets(python_client: PythonClient) -> None:
    answer = python_client.ask("list_rule_sets")
    assert {"house", "strict"} <= {ruleset.name for ruleset in answer.rulesets}


def test_the_python_client_sends_lines(python_client: PythonClient) -> None:
    types = importlib.import_module(f"{python_client.folder.name}.types")
    asked = importlib.import_module(python_client.modules["evaluate_stream"]).sync_detailed
    body = types.File(payload=b'{"shape":"oval"}\nnot a stone\n')
    lines = asked(client=python_client.client, body=body).parsed.payload.read().splitlines()
    assert [sorted(json.loads(line)) for line in lines] == [["evaluation", "line"], ["line", "problem"]]


def test_the_python_client_gets_a_drawing(python_client: PythonClient) -> None:
    shape = python_client.models.DrawStoneShape.EMERALD
    drawing = python_client.ask("draw_stone", shape=shape, length_mm=8.21, width_mm=5.6)
    assert drawing.startswith("<svg")


@pytest.mark.parametrize(
    "name", [name for name, example in EXAMPLE.items() if isinstance(example.get("body"), dict)]
)
def test_the_python_client_loses_nothing_of_an_answer(python_client: PythonClient, name: str) -> None:
    example = EXAMPLE[name]
    path = {"name": "house"} if example["operation"] == "measureImpact" else {}
    answer = python_client.ask(snake(example["operation"]), example["body"], **path)
    assert answer.to_dict() == example["answer"]


# A client in TypeScript, and a linter.


@pytest.fixture(scope="module")
def node(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the tools of the lock file and the contract."""
    npm = shutil.which("npm")
    if npm is None or shutil.which("node") is None:
        pytest.skip("this machine has no Node.js")
    folder = tmp_path_factory.mktemp("node") / "clients"
    shutil.copytree(CLIENTS, folder, ignore=shutil.ignore_patterns("node_modules"))
    shutil.copy(ROOT / "openapi" / "openapi.json", folder)
    command = [npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund", "--prefer-offline"]
    done = subprocess.run(
        [*command, "--fetch-retries=0"], cwd=folder, capture_output=True, text=True, timeout=300, check=False
    )
    if done.returncode and NO_WAY.search(done.stderr):
        pytest.skip("no registry of packages for Node.js can be reached from this machine")
    assert done.returncode == 0, done.stderr
    return folder


def test_the_typescript_client_compiles_and_is_answered(
    node: Path, server: str, client: httpx.Client
) -> None:
    types = ["node_modules/openapi-typescript/bin/cli.js", "openapi.json", "--default-non-nullable=false"]
    run(["node", *types, "--output=contract.ts"], node)
    run(["node", "node_modules/typescript/bin/tsc", "--project", "."], node)
    judged = client.post("/v1/evaluations", json={"stone": EMERALD, **PINNED}).json()
    line = f"tray-1 {judged['verdict']} {len(judged['findings'])}"
    names = " ".join(one["name"] for one in client.get("/v1/rulesets").json()["rulesets"])
    assert run(["node", "ask.js", server], node).splitlines() == [
        line,
        line,
        "422 request_invalid /stones/1/carat",
        "422 request_invalid /stone/shape",
        names,
    ]


def test_a_linter_finds_nothing(node: Path) -> None:
    found = run(
        ["node", "node_modules/@redocly/cli/bin/cli.js", "lint", "openapi.json", "--format=json"], node
    )
    assert json.loads(found)["totals"] == {"errors": 0, "warnings": 0, "ignored": 0}


def test_the_lock_file_names_no_registry() -> None:
    packages = json.loads((CLIENTS / "package-lock.json").read_text())["packages"]
    assert [name for name, package in packages.items() if "resolved" in package] == []
    assert all(
        "integrity" in package for name, package in packages.items() if name and "inBundle" not in package
    )


# What else the contract tells a stranger.


def test_every_schema_has_a_plain_name_and_is_used() -> None:
    schemas = CONTRACT["components"]["schemas"]
    used = set(re.findall('"#/components/schemas/([^"]+)"', json.dumps(CONTRACT)))
    assert schemas.keys() == used
    assert [name for name in schemas if not re.fullmatch("[A-Z][A-Za-z]+", name)] == []


@pytest.mark.parametrize(
    ("name", "link"),
    [
        pytest.param(name, link, id=f"{name.partition('.')[0]}-{key}")
        for name, example in EXAMPLE.items()
        for key, link in OPERATIONS[example["operation"]]["responses"]["200"].get("links", {}).items()
        if name == min(other for other in EXAMPLE if other.partition(".")[0] == example["operation"])
    ],
)
def test_a_link_leads_somewhere(client: httpx.Client, name: str, link: dict[str, Any]) -> None:
    (address,) = (
        path
        for path, methods in CONTRACT["paths"].items()
        if methods.get("get", {}).get("operationId") == link["operationId"]
    )
    for parameter, expression in link["parameters"].items():
        value = EXAMPLE[name]["answer"]
        for key in expression.removeprefix("$response.body#/").split("/"):
            value = value[int(key) if isinstance(value, list) else key]
        address = address.replace(f"{{{parameter}}}", value)
    assert client.get(address).status_code == 200


PROBLEMS: Final[dict[str, dict[str, Any]]] = {
    "json_invalid": {"content": "{"},
    "json_duplicate_key": {"content": '{"stone": {}, "stone": {}}'},
    "json_too_deep": {"content": "[" * 33 + "]" * 33},
    "bad_path": {"method": "GET", "url": "/v1/rulesets/a%2Fb"},
    "not_found": {"url": "/v1/nothing"},
    "ruleset_unknown": {"json": {"stone": EMERALD, "ruleset": "nobody"}},
    "version_unknown": {"json": {"stone": EMERALD, "ruleset": "house@99"}},
    "rules_missing": {"json": {"stone": EMERALD, "ruleset": "wording"}},
    "rule_unknown": {"method": "GET", "url": "/v1/rulesets/house/1.0.0/rules/no.such"},
    "method_not_allowed": {"method": "PUT"},
    "body_too_large": {"content": " " * 70_000},
    "address_too_long": {"method": "GET", "url": "/v1/evaluations?shape=" + "x" * 9000},
    "media_type_unsupported": {"content": "{}", "headers": {"content-type": "text/plain"}},
    "encoding_unsupported": {"json": {}, "headers": {"content-encoding": "gzip"}},
    "request_invalid": {"json": {"stone": {"shape": "emerald", "caratt": 1}}},
    "query_invalid": {"method": "GET", "url": "/v1/evaluations?shape=oval&caratt=1"},
}


@pytest.mark.parametrize("code", PROBLEMS)
def test_the_example_of_a_problem_is_what_is_answered(client: httpx.Client, code: str) -> None:
    asked = {"method": "POST", "url": "/v1/evaluations", **PROBLEMS[code]}
    if "content" in asked:
        asked["headers"] = {"content-type": "application/json", **asked.get("headers", {})}
    example = CONTRACT["components"]["examples"][code]["value"]
    # What to do about it may name the very place.
    assert {**client.request(**asked).json(), "detail": ""} == {**example, "detail": ""}


@pytest.mark.parametrize("operation_id", OPERATIONS)
def test_every_problem_that_an_operation_names_has_an_example(operation_id: str) -> None:
    for status, response in OPERATIONS[operation_id]["responses"].items():
        if int(status) < 400:
            continue
        examples = response["content"]["application/problem+json"]["examples"]
        shown = {CONTRACT["components"]["examples"][code]["value"]["status"] for code in examples}
        assert shown == {int(status)}
        assert response["description"] == f"Problem: {', '.join(examples)}."


@pytest.mark.parametrize("operation_id", OPERATIONS)
def test_whatever_has_to_be_sent_has_an_example(operation_id: str) -> None:
    operation = OPERATIONS[operation_id]
    needed = [one for one in operation.get("parameters", ()) if one["required"]]
    assert all(one["examples"] for one in needed)
    assert all(
        content["examples"] for content in operation.get("requestBody", {}).get("content", {}).values()
    )
