"""Replays every example of the contract. Run as a program, it writes openapi/examples anew."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import httpx

from running import running_server

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "openapi" / "examples"
STEADY_MOMENT = "2026-11-26T08:00:00Z"


def replay(contract: dict[str, Any], client: httpx.Client) -> Iterator[tuple[str, dict[str, Any]]]:
    """Name and content of each example: what is asked, and what the service answers to it now."""
    for path, methods in contract["paths"].items():
        for method, operation in methods.items():
            for name, asked in _requests(path, operation):
                answer = _ask(client, method, asked)
                yield (
                    name,
                    {
                        "operation": operation["operationId"],
                        "method": method.upper(),
                        **asked,
                        "status": answer.status_code,
                        "answer": _steady(answer, asked),
                    },
                )


def _steady(response: httpx.Response, asked: dict[str, Any]) -> Any:
    """The answer with moments that differ from run to run held still; as text, if it is no JSON."""
    if response.headers["content-type"] != "application/json":
        return response.text
    answer: dict[str, Any] = response.json()
    if "as_of" in answer and "as_of" not in json.dumps(asked):
        answer["as_of"] = STEADY_MOMENT[:10]  # the day on which it was asked
    rules = answer.get("rules")
    if isinstance(rules, dict) and "looked_at" in rules:
        answer["rules"] = {**rules, "since": STEADY_MOMENT, "looked_at": STEADY_MOMENT}
    return answer


def _requests(path: str, operation: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    name = operation["operationId"]
    query = {}
    for parameter in operation.get("parameters", ()):
        value = parameter.get("examples", {}).get("example", {}).get("value")
        if parameter["in"] == "path":
            path = path.replace(f"{{{parameter['name']}}}", value)
        elif value is not None:
            query[parameter["name"]] = json.dumps(value) if isinstance(value, bool) else value
    address = f"{path}?{urlencode(query)}" if query else path
    if "requestBody" in operation:
        (content,) = operation["requestBody"]["content"].values()
        for key, example in content["examples"].items():
            yield f"{name}.{key}", {"address": address, "body": example["value"]}
    else:
        yield name, {"address": address}


def _ask(client: httpx.Client, method: str, asked: dict[str, Any]) -> httpx.Response:
    body = asked.get("body")
    if isinstance(body, str):
        headers = {"content-type": "application/x-ndjson"}
        return client.request(method, asked["address"], content=body, headers=headers)
    return client.request(method, asked["address"], json=body)


def as_text(document: dict[str, Any]) -> str:
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def write_examples() -> None:
    with running_server() as address, httpx.Client(base_url=address) as client:
        contract = client.get("/openapi.json").json()
        for old in EXAMPLES.glob("*.json"):
            old.unlink()
        for name, document in replay(contract, client):
            (EXAMPLES / f"{name}.json").write_text(as_text(document))


if __name__ == "__main__":
    write_examples()
