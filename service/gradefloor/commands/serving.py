"""`serve`: answer over HTTP until a signal ends it."""

import gc
import re
import socket
from typing import Annotated, Final

import typer

from gradefloor import __version__
from gradefloor.commands.catalogue import (
    DEFAULT_FOLDER,
    Drafts,
    RuleSets,
    TrustedKey,
    complain,
    end,
    faults_of,
    read_catalog,
    read_key,
)
from gradefloor.rules.catalog import Catalog, CatalogError, load

# Requests in flight at SIGTERM may finish; a half-sent one may not hold the process.
GRACE_SECONDS: Final = 3

_ORIGIN: Final = re.compile(r"https?://[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?")


def serve(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    rulesets: RuleSets = DEFAULT_FOLDER,
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.", min=1, max=65535)] = 8000,
    drafts: Drafts = False,
    trusted_key: TrustedKey = None,
    allow_origin: Annotated[
        list[str] | None,
        typer.Option(help="Origin whose pages may embed annotations, as https://shop.example; repeatable."),
    ] = None,
    look_every: Annotated[
        float,
        typer.Option(
            help="Seconds between two looks at the rule files; 0 looks at SIGHUP only.", min=0, max=86400
        ),
    ] = 5,
) -> None:
    """Serve the rule sets over HTTP until a signal ends it.

    Newer rule files are taken up while it runs, whole or not at all: at SIGHUP, and in between.
    """
    import uvicorn  # noqa: PLC0415 - the other commands need no server

    from gradefloor.web.app import create_app  # noqa: PLC0415
    from gradefloor.web.renewal import Renewer  # noqa: PLC0415
    from gradefloor.web.service import Service  # noqa: PLC0415

    key = read_key(trusted_key)
    catalog = read_catalog(rulesets, drafts=drafts, trusted=key)
    if unproven := [fault for release in catalog if release.draft for fault in faults_of(release)]:
        complain(unproven)

    def look(before: Catalog) -> Catalog:
        """What is there now; what is new in it is proved before anybody is answered by it."""
        found = load(rulesets, drafts=drafts, trusted=key, before=before)
        if list(found) == list(before):
            return before
        known = set(map(id, before))
        new = (release for release in found if id(release) not in known)
        if faults := [fault for release in new for fault in faults_of(release)]:
            raise CatalogError(faults)
        return found

    service = Service(catalog, origins=_origins(allow_origin))
    listener = _listen(host, port)
    config = uvicorn.Config(
        create_app(service, Renewer(service, look, look_every).watching),
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=GRACE_SECONDS,
    )
    # The catalogue lives as long as the process: the collector need not walk it at every turn.
    gc.freeze()
    typer.echo(f"gradefloor {__version__} answers on http://{host}:{port}/ (how to ask: /docs)")
    uvicorn.Server(config).run(sockets=[listener])


def _listen(host: str, port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        end(f"Cannot listen on {host}:{port}: {error.strerror}. Choose another with --port.")
    return listener


def _origins(given: list[str] | None) -> frozenset[str]:
    """Origins as browsers send them (RFC 6454): scheme and host, a port if need be, and nothing more."""
    for origin in given or ():
        if not _ORIGIN.fullmatch(origin):
            end(f"{origin} is no origin: write it as https://shop.example, without a path.")
    return frozenset(given or ())
