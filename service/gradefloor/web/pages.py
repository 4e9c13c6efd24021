"""What every page for people shares: templates, headers, style sheet and scripts.

Nothing comes from elsewhere, and no page runs a script or applies a style that is not a file of ours.
"""

import hashlib
import re
from collections.abc import Mapping
from importlib.resources import files
from typing import Any, Final

import orjson
from fastapi import FastAPI
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import Response

from gradefloor import __version__
from gradefloor.web.problems import ProblemError
from gradefloor.web.route import matches

_MEDIA_TYPES: Final = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}
_HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
        "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
}
_TEMPLATES: Final = Environment(
    loader=PackageLoader("gradefloor.web"),
    autoescape=select_autoescape(["html"]),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)
_TEMPLATES.filters["json"] = lambda value: orjson.dumps(value, option=orjson.OPT_INDENT_2).decode()


def _inline(text: str) -> Markup:
    """Backticks are the only mark-up that the contract's sentences use."""
    marked = re.sub(r"`([^`]+)`", r"<code>\1</code>", str(escape(text)))
    return Markup(marked)  # noqa: S704 - escaped before it was marked


_TEMPLATES.filters["inline"] = _inline


def render(template: str, **values: Any) -> str:
    """A page's HTML; a value that the template names and nobody gives is an error."""
    return _TEMPLATES.get_template(template).render(version=__version__, **values)


def respond(
    request: Request,
    content: str | bytes,
    media_type: str = "text/html; charset=utf-8",
    fresh: str = "no-cache",
    headers: Mapping[str, str] = _HEADERS,
) -> Response:
    """A page, or what belongs to one, with its tag; 304 to whoever has it already."""
    body = content.encode() if isinstance(content, str) else content
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    headers = {**headers, "ETag": tag, "Cache-Control": fresh}
    if matches(request.headers.getlist("if-none-match"), tag):
        return Response(status_code=304, headers=headers)
    return Response(body, media_type=media_type, headers=headers)


def read_asset(name: str) -> bytes:
    """A style sheet or a script of ours."""
    return (files("gradefloor.web") / "assets" / name).read_bytes()


def serve_assets(app: FastAPI) -> None:
    """Style sheets and scripts of our own pages under `/assets/`."""
    folder = files("gradefloor.web") / "assets"
    assets = {file.name: file.read_bytes() for file in folder.iterdir() if file.name != "stone-note.js"}

    async def get_asset(request: Request) -> Response:
        name = request.path_params["name"]
        if name not in assets:
            return ProblemError("not_found").response()
        suffix = name[name.rindex(".") :]
        return respond(request, assets[name], _MEDIA_TYPES[suffix])

    app.add_route("/assets/{name}", get_asset, methods=["GET"])
