"""Who may ask for what: keys, scopes, quotas, and rule sets that only some may see. All keys are made here.

Bearer: RFC 6750; Basic: RFC 7617; the RateLimit fields: draft-ietf-httpapi-ratelimit-headers.
"""

import asyncio
import base64
import hashlib
import shutil
from pathlib import Path
from typing import Any, Final

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.rules.catalog import load
from gradefloor.web.access import Caller, Keys, KeysError, Quotas, new_key, read_keys, scope_of
from gradefloor.web.app import create_app
from gradefloor.web.problems import ProblemError
from gradefloor.web.service import Service
from samples import RULESETS, release, write_tiny

OVERLAY: Final = Path(__file__).parents[1] / "data" / "overlay"
STONE: Final = {"stone": {"shape": "oval"}}


def key_of(name: str) -> tuple[str, str]:
    """A key and its digest, the same in every run."""
    secret = f"gfk_{hashlib.sha256(name.encode()).hexdigest()}"
    return secret, hashlib.sha256(secret.encode()).hexdigest()


SHOP, KEEPER, EMBED, METER, FAMILY = map(key_of, ("shop", "keeper", "page", "meter", "family"))
FILE: Final = f"""\
private: [attic]
anyone: []
keys:
  - {{id: shop, sha256: "{SHOP[1]}", scopes: [judge]}}
  - {{id: keeper, sha256: "{KEEPER[1]}", scopes: ["rules:read"]}}
  - {{id: page, sha256: "{EMBED[1]}", scopes: [embed], per_minute: 3}}
  - {{id: meter, sha256: "{METER[1]}", scopes: [operate]}}
  - {{id: family, sha256: "{FAMILY[1]}", scopes: [judge, "rules:read", operate, "rules:attic"]}}
...
"""
ANNOTATION: Final = "/v1/annotations?shape=oval&market=UK&origin=natural"


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The house's last version, wording, and a private name that extends the house."""
    folder = tmp_path_factory.mktemp("rules") / "rulesets"
    for name, version in (("house", "1.3.0"), ("wording", "1.0.0")):
        shutil.copytree(RULESETS / name / version, folder / name / version)
    file = write_tiny(folder, "attic", "1.0.0")
    file.write_text(file.read_text().replace("sources:", "extends: house@1.3.0\nsources:", 1))
    release(folder)
    return folder


class Client:
    """Asks an application in this process."""

    def __init__(self, service: Service) -> None:
        self.service = service
        self.app = create_app(service)

    def ask(
        self, path: str, key: str | None = None, method: str = "GET", headers: Any = None, **more: Any
    ) -> httpx.Response:
        given = {"Authorization": f"Bearer {key}"} if key else {}

        async def once() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
                return await client.request(method, path, headers=headers or given, **more)

        return asyncio.run(once())


@pytest.fixture(scope="module")
def closed(root: Path) -> Client:
    return Client(Service(load(root), keys=read_keys(FILE.encode(), "keys.yaml")))


# Keys and scopes


@pytest.mark.parametrize(
    ("path", "method", "scope"),
    [
        ("/health/live", "GET", None),
        ("/health/ready", "GET", None),
        ("/openapi.json", "GET", None),
        ("/docs", "GET", None),
        ("/problems/json_invalid", "GET", None),
        ("/assets/page.css", "GET", None),
        ("/embed/stone-note.js", "GET", None),
        ("/metrics", "GET", "operate"),
        ("/", "GET", "rules:read"),
        ("/rules/house/1.3.0", "GET", "rules:read"),
        ("/bench", "GET", "rules:read"),
        ("/v1/rulesets", "GET", "rules:read"),
        ("/v1/rulesets/house/changes", "GET", "rules:read"),
        ("/v1/rulesets/house/changes", "POST", "judge"),
        ("/v1/vocabulary", "GET", "rules:read"),
        ("/v1/drawings/ratios/oval.svg", "GET", "rules:read"),
        ("/v1/drawings/stone.svg", "GET", "judge"),
        ("/v1/evaluations", "POST", "judge"),
        ("/v1/leads", "POST", "judge"),
        ("/v1/annotations", "GET", "embed"),
        ("/v1/annotations", "POST", "judge"),
        ("/nothing", "GET", "rules:read"),
    ],
)
def test_every_address_has_its_scope(path: str, method: str, scope: str | None) -> None:
    assert scope_of(method, path) == scope


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        ("/v1/vocabulary", {KEEPER, FAMILY}),
        ("/v1/rulesets", {KEEPER, FAMILY}),
        ("/v1/evaluations?shape=oval", {SHOP, FAMILY}),
        (ANNOTATION, {SHOP, EMBED, FAMILY}),
        ("/metrics", {METER, FAMILY}),
        ("/rules/house", {KEEPER, FAMILY}),
    ],
)
def test_a_key_opens_its_scopes_and_no_others(closed: Client, path: str, allowed: Any) -> None:
    for key in (SHOP, KEEPER, EMBED, METER, FAMILY):
        answer = closed.ask(path, key[0])
        assert answer.status_code == (200 if key in allowed else 403), (path, answer.text)
        if key not in allowed:
            assert answer.json()["code"] == "forbidden"


@pytest.mark.parametrize(
    "path", ["/health/live", "/health/ready", "/openapi.json", "/docs", "/assets/page.css"]
)
def test_what_everybody_needs_is_open(closed: Client, path: str) -> None:
    assert closed.ask(path).status_code == 200


_UNKNOWN: Final = [
    None,
    "",
    "Bearer",
    "Bearer ",
    "Bearer wrong",
    f"Bearer {SHOP[0]}x",
    f"Bearer {SHOP[0][:-1]}",
    f"Bearer {SHOP[1]}",
    f"bearer{SHOP[0]}",
    f"Token {SHOP[0]}",
    SHOP[0],
    "Basic",
    "Basic !!!",
    "Basic " + base64.b64encode(b"no colon").decode(),
    "Basic " + base64.b64encode(b"shop:").decode(),
    "Basic " + base64.b64encode(SHOP[0].encode() + b":").decode(),
    "Bearer " + "x" * 8000,
    "Bearer \xe9\xff".encode("latin-1"),
    b"Bearer \x80\x81",
    b"Basic \xff\xfe",
]


@pytest.mark.parametrize("authorization", _UNKNOWN, ids=range(len(_UNKNOWN)))
def test_what_is_no_key_is_answered_with_how_to_send_one(closed: Client, authorization: Any) -> None:
    headers = {} if authorization is None else {"Authorization": authorization}
    answer = closed.ask("/v1/evaluations?shape=oval", headers=headers)
    assert (answer.status_code, answer.json()["code"]) == (401, "unauthorized")
    assert answer.headers["www-authenticate"].startswith('Bearer realm="gradefloor", Basic realm=')
    assert SHOP[0] not in answer.text


def test_two_keys_are_none(closed: Client) -> None:
    headers = [("Authorization", f"Bearer {SHOP[0]}"), ("Authorization", f"Bearer {FAMILY[0]}")]
    assert closed.ask("/v1/evaluations?shape=oval", headers=headers).status_code == 401


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER"])
def test_the_scheme_is_written_in_any_case(closed: Client, scheme: str) -> None:
    headers = {"Authorization": f"{scheme} {SHOP[0]}"}
    assert closed.ask("/v1/evaluations?shape=oval", headers=headers).status_code == 200


def test_a_browser_sends_its_key_as_a_password(closed: Client) -> None:
    basic = base64.b64encode(f"anybody:{KEEPER[0]}".encode()).decode()
    assert closed.ask("/rules/house", headers={"Authorization": f"Basic {basic}"}).status_code == 200


def test_answers_to_keys_are_kept_by_nobody_in_between(closed: Client) -> None:
    answer = closed.ask("/v1/evaluations?shape=oval", SHOP[0])
    assert answer.headers["cache-control"] == "private, max-age=300"
    assert "Authorization" in answer.headers["vary"]


def test_scopes_without_a_key_are_those_that_the_file_gives_to_anyone(root: Path) -> None:
    keys = read_keys(FILE.replace("anyone: []", "anyone: [embed]").encode(), "keys.yaml")
    client = Client(Service(load(root), keys=keys))
    assert client.ask(ANNOTATION).status_code == 200
    assert client.ask("/v1/evaluations?shape=oval").status_code == 401


@given(st.binary(max_size=200))
def test_no_header_breaks_the_look_up(authorization: bytes) -> None:
    keys = Keys({b"digest": Caller("shop", frozenset({"judge"}))})
    try:
        found = keys.find([authorization])
    except ProblemError as problem:
        assert problem.kind.code == "unauthorized"  # noqa: PT017 - any other problem or error is a fault
    else:
        raise AssertionError(found)


# Rule sets that only some may see


IN_THE_ATTIC: Final = [
    ("GET", "/v1/rulesets/attic", None),
    ("GET", "/v1/rulesets/attic/1.0.0", None),
    ("GET", "/v1/rulesets/attic/1.0.0/rules/clarity.steps", None),
    ("GET", "/v1/rulesets/attic/changes?from=1.0.0&to=1.0.0", None),
    ("POST", "/v1/rulesets/attic/changes", {"from": "1.0.0", "to": "1.0.0", "stones": []}),
    ("GET", "/rules/attic", None),
    ("GET", "/rules/attic/1.0.0", None),
    ("GET", "/v1/evaluations?shape=oval&ruleset=attic", None),
    ("GET", "/v1/evaluations?shape=oval&ruleset=attic@1.0.0", None),
    ("GET", "/v1/drawings/ratios/oval.svg?ruleset=attic", None),
    ("POST", "/v1/evaluations", {**STONE, "ruleset": "attic"}),
    ("POST", "/v1/evaluations/batch", {"stones": [], "ruleset": "attic"}),
    ("POST", "/v1/opinions", {**STONE, "rulesets": ["house", "attic"]}),
]
_OUTSIDER: Final = key_of("outsider")


@pytest.fixture(scope="module")
def two_callers(root: Path) -> Client:
    both = f'  - {{id: outsider, sha256: "{_OUTSIDER[1]}", scopes: [judge, "rules:read", operate]}}\n...\n'
    return Client(Service(load(root), keys=read_keys(FILE.replace("...\n", both).encode(), "keys.yaml")))


@pytest.mark.parametrize(("method", "path", "body"), IN_THE_ATTIC)
def test_a_private_rule_set_is_there_for_its_own_and_for_nobody_else(
    two_callers: Client, method: str, path: str, body: Any
) -> None:
    inside = two_callers.ask(path, FAMILY[0], method, json=body)
    outside = two_callers.ask(path, _OUTSIDER[0], method, json=body)
    nowhere = two_callers.ask(path.replace("attic", "nowhere"), FAMILY[0], method, json=_instead(body))
    assert inside.status_code == 200, inside.text
    assert outside.status_code == 404
    assert outside.content == nowhere.content, "as if it were not there"


def _instead(body: Any) -> Any:
    if isinstance(body, dict):
        return {name: _instead(value) for name, value in body.items()}
    if isinstance(body, list):
        return [_instead(value) for value in body]
    return "nowhere" if body == "attic" else body


@pytest.mark.parametrize("path", ["/", "/bench", "/v1/rulesets", "/metrics"])
def test_no_list_names_a_private_rule_set_to_others(two_callers: Client, path: str) -> None:
    for _ in range(2):  # a page that was made for one caller is not shown to the next
        assert "attic" in two_callers.ask(path, FAMILY[0]).text
        assert "attic" not in two_callers.ask(path, _OUTSIDER[0]).text


def test_health_names_no_private_rule_set_to_anybody(two_callers: Client) -> None:
    assert "attic" not in two_callers.ask("/health/ready").text


# The file of keys


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("scopes: [judge]", "scopes: [judgement]", 4),
        ("scopes: [judge]", "scopes: []", 4),
        (f'"{SHOP[1]}"', '"abc"', 4),
        ("id: keeper", "id: shop", 5),
        (KEEPER[1], SHOP[1], 5),
        ("id: keeper", "id: Keeper", 5),
        ("per_minute: 3", "per_minute: 0", 6),
        ("private: [attic]", "private: [Hidden]", 1),
        ("private:", "privat:", 1),
        ("...\n", "", 9),
    ],
)
def test_a_fault_in_the_file_is_told_with_its_line_and_without_content(old: str, new: str, line: int) -> None:
    assert old in FILE
    with pytest.raises(KeysError) as refused:
        read_keys(FILE.replace(old, new, 1).encode(), "keys.yaml")
    assert str(refused.value) == f"1 fault, the first in the keys, line {line}"


def test_keys_are_long_and_never_the_same() -> None:
    keys = {new_key()[0] for _ in range(100)}
    assert len(keys) == 100
    assert all(len(key) >= 40 for key in keys)


# Quotas


def test_a_quota_is_used_up_and_comes_back() -> None:
    now = 0.0
    quotas = Quotas(lambda: now)
    shop = Caller("shop", frozenset(), per_minute=6)
    for left in (5, 4, 3, 2, 1, 0):
        found = quotas.take(shop)
        assert found is not None
        assert found.left == left
    with pytest.raises(ProblemError) as refused:
        quotas.take(shop)
    assert refused.value.headers is not None
    assert refused.value.headers["Retry-After"] == "11"
    now = 9.9
    with pytest.raises(ProblemError):
        quotas.take(shop)
    now = 10.0
    assert quotas.take(shop) is not None


def test_a_quota_never_grows_beyond_itself() -> None:
    now = 0.0
    quotas = Quotas(lambda: now)
    shop = Caller("shop", frozenset(), per_minute=2)
    quotas.take(shop)
    now = 1e6
    found = quotas.take(shop)
    assert found is not None
    assert found.left == 1


def test_one_key_does_not_use_up_what_another_has() -> None:
    quotas = Quotas(lambda: 0.0)
    one, other = (Caller(name, frozenset(), per_minute=1) for name in ("one", "other"))
    quotas.take(one)
    assert quotas.take(other) is not None


def test_a_quota_is_told_with_every_answer(root: Path) -> None:
    client = Client(Service(load(root), keys=read_keys(FILE.encode(), "keys.yaml")))

    async def four() -> list[httpx.Response]:
        transport = httpx.ASGITransport(client.app)
        headers = {"Authorization": f"Bearer {EMBED[0]}"}
        async with httpx.AsyncClient(transport=transport, base_url="http://test", headers=headers) as asking:
            return [await asking.get(ANNOTATION) for _ in range(4)]

    *fine, refused = asyncio.run(four())
    assert [answer.headers["ratelimit"].partition(";t=")[0] for answer in fine] == [
        '"key";r=2', '"key";r=1', '"key";r=0',
    ]  # fmt: skip
    assert fine[0].headers["ratelimit-policy"] == '"key";q=3;w=60'
    assert (refused.status_code, refused.json()["code"]) == (429, "quota_used_up")
    assert 1 <= int(refused.headers["retry-after"]) <= 21
