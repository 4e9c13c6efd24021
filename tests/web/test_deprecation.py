"""A call that is to go away says so in the contract and in every answer (RFC 9745, RFC 8594)."""

import asyncio
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Any, Final

import httpx
import pytest
from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.web import contract
from gradefloor.web.app import create_app
from gradefloor.web.deprecation import DEPRECATED, Deprecated, announced
from gradefloor.web.problems import ProblemError
from gradefloor.web.route import JsonRoute
from gradefloor.web.service import Service
from samples import committed_catalog

SINCE: Final = datetime(2026, 12, 1, tzinfo=UTC)
SUNSET: Final = datetime(2027, 12, 1, 12, tzinfo=UTC)
LEAVING: Final = Deprecated(SINCE, SUNSET, "/docs#listRuleSets")


class Telling(JsonRoute):
    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        return announced(self.operation_id, super().get_route_handler())


Ask = Callable[..., httpx.Response]


@pytest.fixture
def get(monkeypatch: pytest.MonkeyPatch) -> Ask:
    """Two calls, of which one is to go away."""
    monkeypatch.setitem(DEPRECATED, "askOld", LEAVING)
    app = FastAPI()
    app.router.route_class = Telling

    @app.get("/old/{name}", operation_id="askOld")
    async def ask_old(name: str) -> dict[str, str]:
        if name == "none":
            raise ProblemError("not_found")
        return {"name": name}

    @app.get("/new", operation_id="askNew")
    async def ask_new() -> dict[str, str]:
        return {}

    async def ask(path: str, headers: dict[str, str]) -> httpx.Response:
        transport = httpx.ASGITransport(app)
        async with httpx.AsyncClient(transport=transport, base_url="http://service.example") as client:
            return await client.get(path, headers=headers)

    return lambda path, **headers: asyncio.run(ask(path, headers))


@pytest.mark.parametrize(("path", "status"), [("/old/a", 200), ("/old/none", 404)])
def test_every_answer_of_the_call_says_that_it_is_to_go_away(get: Ask, path: str, status: int) -> None:
    answer = get(path)
    assert answer.status_code == status
    # RFC 9745, 2: a date of RFC 9651, which is @ and the seconds since 1970.
    assert answer.headers["deprecation"] == f"@{int(SINCE.timestamp())}"
    # RFC 8594, 3: an HTTP date.
    assert answer.headers["sunset"] == "Wed, 01 Dec 2027 12:00:00 GMT"
    assert parsedate_to_datetime(answer.headers["sunset"]) == SUNSET
    assert answer.headers["link"] == '</docs#listRuleSets>; rel="deprecation"; type="text/html"'


def test_no_other_call_says_so(get: Ask) -> None:
    assert not {"deprecation", "sunset", "link"} & set(get("/new").headers)


def test_an_answer_that_was_kept_says_so_too(get: Ask) -> None:
    tag = get("/old/a").headers["etag"]
    answer = get("/old/a", **{"if-none-match": tag})
    assert answer.status_code == 304
    assert "deprecation" in answer.headers


@pytest.mark.parametrize("notice", [timedelta(days=180), timedelta(days=400)])
def test_a_call_stays_at_least_180_days(notice: timedelta) -> None:
    assert Deprecated(SINCE, SINCE + notice, "/docs").sunset == SINCE + notice


@pytest.mark.parametrize("notice", [timedelta(days=180, seconds=-1), timedelta(0), timedelta(days=-200)])
def test_a_shorter_notice_is_refused(notice: timedelta) -> None:
    with pytest.raises(ValueError, match="at least 180 days"):
        Deprecated(SINCE, SINCE + notice, "/docs")


def test_a_moment_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="UTC"):
        Deprecated(SINCE.replace(tzinfo=None), SUNSET, "/docs")


def test_the_contract_marks_the_call_and_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(DEPRECATED, "listRuleSets", LEAVING)
    paths = contract.build(create_app(Service(committed_catalog(drafts=False))))["paths"]
    marked = [one for methods in paths.values() for one in methods.values() if "deprecated" in one]
    assert [one["operationId"] for one in marked] == ["listRuleSets"]
    assert (marked[0]["deprecated"], marked[0]["x-sunset"]) == (True, "2027-12-01")
    assert {"Deprecation", "Sunset", "Link"} <= marked[0]["responses"]["200"]["headers"].keys()


def test_nothing_starts_that_deprecates_an_unknown_call(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(DEPRECATED, "askNobody", LEAVING)
    with pytest.raises(ValueError, match="askNobody"):
        create_app(Service(committed_catalog(drafts=False)))
