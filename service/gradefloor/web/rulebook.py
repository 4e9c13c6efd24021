"""The rule book: every rule of a version with its reason, for whoever answers for the judgement."""

import re
from collections import OrderedDict
from datetime import UTC
from threading import Lock
from typing import Any, Final

from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.rules.catalog import Release
from gradefloor.web.pages import render, respond
from gradefloor.web.problems import ProblemError
from gradefloor.web.rulebook_chapters import begins_told, book_of
from gradefloor.web.rulesets import NAME, VERSION
from gradefloor.web.service import Service

_MAX_KEPT: Final = 16


def routes(app: FastAPI, service: Service) -> None:
    """Pages of the rule book; a page is made when it is asked for, and kept until it would read otherwise."""
    books = _Books(service)

    # No coroutines, so that making a page does not hold up those who ask for a judgement meanwhile.
    def get_front(request: Request) -> Response:
        try:
            release, _ = service.resolve(None, None)
        except ProblemError:
            return respond(request, render("rulebook_list.html", name=None, shelf=_shelf(service)))
        return respond(request, books.page(release, front=True))

    def get_versions(request: Request) -> Response:
        name = request.path_params["name"]
        shelf = [entry for entry in _shelf(service) if entry["name"] == name]
        if not shelf:
            return ProblemError("ruleset_unknown").response()
        return respond(request, render("rulebook_list.html", name=name, shelf=shelf))

    def get_book(request: Request) -> Response:
        try:
            release = _release(service, request.path_params["name"], request.path_params["version"])
        except ProblemError as problem:
            return problem.response()
        return respond(request, books.page(release, front=False))

    def get_paper(request: Request) -> Response:
        try:
            release = _release(service, request.path_params["name"], request.path_params["version"])
        except ProblemError as problem:
            return problem.response()
        return respond(request, _running_head(release), "text/css; charset=utf-8")

    app.add_route("/", get_front, methods=["GET"])
    app.add_route("/rules/{name}", get_versions, methods=["GET"])
    app.add_route("/rules/{name}/{version}", get_book, methods=["GET"])
    app.add_route("/rules/{name}/{version}/paper.css", get_paper, methods=["GET"])


class _Books:
    """Pages of the versions last asked for, by everything that stands in them."""

    def __init__(self, service: Service) -> None:
        self.service = service
        self.one_at_a_time = Lock()
        self.kept: OrderedDict[tuple[object, ...], str] = OrderedDict()

    def page(self, release: Release, *, front: bool) -> str:
        """The page of a version; at the front with all other rule sets beside it."""
        now = self.service.clock().astimezone(UTC)
        today, begins = now.date(), begins_told(release, now)
        before = _before(self.service, release)
        # What a caller may not see is in neither of these two, and both are part of the key.
        others = _shelf(self.service) if front else []
        key = (
            *(release.name, release.version, release.digest, release.draft, begins, today),
            *(before and before.version, before and before.digest),
            repr(others),
        )
        # Pages are made in threads; the second who asks for one waits for the first instead of making it too.
        with self.one_at_a_time:
            if key not in self.kept:
                self.kept[key] = render(
                    "rulebook.html", book=book_of(release, before, today, begins), shelf=others
                )
            self.kept.move_to_end(key)
            while len(self.kept) > _MAX_KEPT:
                self.kept.popitem(last=False)
            return self.kept[key]


def _release(service: Service, name: str, version: str) -> Release:
    """The version itself, or the newest in force that begins so."""
    if re.fullmatch(NAME, name) is None or name not in service.catalog.releases:
        raise ProblemError("ruleset_unknown")
    if re.fullmatch(VERSION, version) is None:
        raise ProblemError("version_unknown")
    release, _ = service.resolve(f"{name}@{version}", None, None)
    return release


def _running_head(release: Release) -> str:
    """A style sheet that writes the version on every page of paper; a name and a version need no escaping."""
    state = "a draft" if release.draft else f"first day in force {release.effective.isoformat()}"
    told = f"{release.name} {release.version}, {state}, fingerprint {release.digest[7:19]}"
    return f'@page {{ @top-left {{ content: "{told}" }} }}\n'


def _before(service: Service, release: Release) -> Release | None:
    """The version of the same name that came before."""
    # Another catalogue may have been taken up since the release was found.
    versions = service.catalog.releases.get(release.name, ())
    return max((found for found in versions if found.key < release.key), key=lambda r: r.key, default=None)


def _shelf(service: Service) -> list[dict[str, Any]]:
    """Every name with its versions, the newest first."""
    return [
        {
            "name": name,
            "title": versions[-1].rules.title,
            "about": versions[-1].rules.about,
            "versions": [
                {
                    "version": release.version,
                    "title": release.rules.title,
                    "effective": release.effective.isoformat(),
                    "draft": release.draft,
                }
                for release in reversed(versions)
            ],
        }
        for name, versions in service.catalog.releases.items()
    ]
