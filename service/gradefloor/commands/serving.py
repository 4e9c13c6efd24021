"""`serve`: answer over HTTP until a signal ends it; `key`: who may ask."""

import gc
import ipaddress
import logging
import os
import re
import shutil
import signal
import socket
import sys
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from gradefloor import __version__
from gradefloor.commands.folder import (
    DEFAULT_FOLDER,
    Drafts,
    RuleSets,
    TrustedKey,
    complain,
    end,
    read_key,
)
from gradefloor.commands.looking import RuleFolder
from gradefloor.commands.workers import Supervisor
from gradefloor.rules.catalog import Catalog

if TYPE_CHECKING:
    from gradefloor.web.access import Keys
    from gradefloor.web.app import Lifespan
    from gradefloor.web.service import Service
    from gradefloor.web.tracing import Tracer

# Requests in flight at SIGTERM may finish; a half-sent one may not hold the process.
GRACE_SECONDS: Final = 3
BACKLOG: Final = 2048
# Beyond draining and grace, for whatever else ending takes.
STOP_SECONDS: Final = 2

_APPEND: Final = os.O_WRONLY | os.O_APPEND | os.O_CREAT

_ORIGIN: Final = re.compile(r"https?://[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?")


def _env(name: str) -> str:
    return f"GRADEFLOOR_{name}"


def serve(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    rulesets: RuleSets = DEFAULT_FOLDER,
    host: Annotated[str, typer.Option(envvar=_env("HOST"), help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[
        int, typer.Option(envvar=_env("PORT"), help="Port to listen on.", min=1, max=65535)
    ] = 8000,
    workers: Annotated[
        int, typer.Option(envvar=_env("WORKERS"), help="Processes that answer.", min=1, max=64)
    ] = 1,
    drafts: Drafts = False,
    keys: Annotated[
        Path | None,
        typer.Option(envvar=_env("KEYS"), help="File of the keys that may ask; anybody may, if absent."),
    ] = None,
    open_access: Annotated[
        bool,
        typer.Option(
            "--open-access",
            envvar=_env("OPEN_ACCESS"),
            help="Let anybody ask although others than this machine can reach it.",
        ),
    ] = False,
    trusted_key: TrustedKey = None,
    allow_origin: Annotated[
        list[str] | None,
        typer.Option(
            envvar=_env("ALLOW_ORIGIN"),
            help="Origin whose pages may read answers, as https://shop.example; repeatable.",
        ),
    ] = None,
    look_every: Annotated[
        float,
        typer.Option(
            envvar=_env("LOOK_EVERY"),
            help="Seconds between two looks at rule files and keys; 0 looks at SIGHUP only.",
            min=0,
            max=86400,
        ),
    ] = 5,
    drain_seconds: Annotated[
        float,
        typer.Option(
            envvar=_env("DRAIN_SECONDS"),
            help="Seconds after SIGTERM in which it still answers, but is not ready.",
            min=0,
            max=300,
        ),
    ] = 1,
    metrics_port: Annotated[
        int | None,
        typer.Option(
            envvar=_env("METRICS_PORT"),
            help="Port of its own for /metrics, on the same address; the other has none then.",
            min=1,
            max=65535,
        ),
    ] = None,
    decisions: Annotated[
        Path | None,
        typer.Option(
            envvar=_env("DECISIONS"),
            help="File to which every evaluation is added: its id, rules and verdicts, no stone.",
        ),
    ] = None,
    tracing: Annotated[
        bool,
        typer.Option(
            "--tracing",
            envvar=_env("TRACING"),
            help="Send a span for every request by OTLP; where to, the OTEL_ variables say.",
        ),
    ] = False,
    request_log: Annotated[
        bool,
        typer.Option(envvar=_env("REQUEST_LOG"), help="Write one JSON line a request to standard output."),
    ] = True,
) -> None:
    """Serve the rule sets over HTTP until a signal ends it.

    Newer rule files and keys are taken up while it runs, whole or not at all: at SIGHUP, and in between.
    """
    # Nearly all that is made before the first answer lives as long as the process.
    gc.disable()
    # Until there is something to look at anew: a signal that comes while starting must not end it.
    signal.signal(signal.SIGHUP, signal.SIG_IGN)
    trusted = read_key(trusted_key)
    if keys is None and not open_access and not _is_loopback(host):
        end(
            f"{host} can be reached from elsewhere, and anybody could ask: name the keys with --keys, or say "
            "that this is meant with --open-access"
        )
    folder = RuleFolder(rulesets, drafts=drafts, trusted=trusted)
    worker = _Worker(
        catalog=folder.read(),
        look=folder.look,
        keys=keys,
        origins=_origins(allow_origin),
        ports=[port] if metrics_port is None else [port, metrics_port],
        host=host,
        shared=workers > 1,
        look_every=look_every,
        drain_seconds=drain_seconds,
        request_log=request_log,
        decisions=decisions,
        tracing=tracing,
    )
    worker.check_keys()
    worker.check_files()
    for one in worker.ports:
        _listen(host, one, shared=False).close()  # taken by somebody else? a shared port would not tell
    typer.echo(f"gradefloor {__version__} answers on http://{host}:{port}/ (how to ask: /docs)")
    sys.stdout.flush()
    if workers == 1:
        raise typer.Exit(worker.run())
    raise typer.Exit(_run_all(worker, workers))


def key(
    name: Annotated[str, typer.Argument(help="Who is to have it: small letters, digits, - . _")],
    scope: Annotated[
        list[str], typer.Option(help="judge, embed, rules:read, rules:NAME or operate; repeatable.")
    ] = ["judge", "rules:read"],  # noqa: B006 - never changed; the command line wants a list
    per_minute: Annotated[int | None, typer.Option(help="Requests a minute; no limit if absent.")] = None,
) -> None:
    """Make a key: print it once, and the line of it for the file of keys."""
    from gradefloor.web.access import entry_of, new_key  # noqa: PLC0415 - the other commands need no keys

    secret, digest = new_key()
    try:
        line = entry_of(name, digest, scope, per_minute)
    except ValueError as error:
        end(str(error))
    typer.echo(f"Give this to {name}; it is shown only now:\n\n  {secret}\n")
    typer.echo(f"Put this under keys:\n\n{line}")


@dataclass
class _Worker:
    """One process that answers, and everything it needs to begin."""

    catalog: Catalog
    look: Callable[[Catalog], Catalog]
    keys: Path | None
    origins: frozenset[str]
    ports: list[int]
    host: str
    shared: bool
    look_every: float
    drain_seconds: float
    request_log: bool
    decisions: Path | None
    tracing: bool

    def read_keys(self) -> "Keys":
        """The keys in their file; KeysError with every fault in it."""
        from gradefloor.web.access import OPEN, read_keys  # noqa: PLC0415 - see `key`

        return OPEN if self.keys is None else read_keys(self.keys.read_bytes(), str(self.keys))

    def check_files(self) -> None:
        """The end of the command, if what it would write to cannot be opened."""
        if self.decisions is not None:
            try:
                self.decisions.open("ab").close()
            except OSError as error:
                end(f"{self.decisions}: {error.strerror}")

    def tracer(self) -> "Tracer | None":
        """What sends spans, if they are wanted; the end of the command, if it is not installed."""
        if not self.tracing:
            return None
        try:
            from gradefloor.web.tracing import Tracer  # noqa: PLC0415 - an extra that few have
        except ImportError:
            end("tracing needs more packages: they are pinned in service/pins/tracing.txt")
        return Tracer.by_environment()

    def check_keys(self) -> None:
        """The end of the command, if the keys cannot be used."""
        from gradefloor.web.access import KeysError  # noqa: PLC0415 - see `key`

        try:
            self.read_keys()
        except KeysError as error:
            complain(error.faults)
        except OSError as error:
            end(f"{self.keys}: {error.strerror}")

    def run(self) -> int:
        """Answer until a signal ends it."""
        import uvicorn  # noqa: PLC0415 - the other commands need no server

        from gradefloor.web.app import create_app  # noqa: PLC0415
        from gradefloor.web.journal import ServerLog  # noqa: PLC0415
        from gradefloor.web.protocol import protocol_of  # noqa: PLC0415
        from gradefloor.web.server import Server  # noqa: PLC0415
        from gradefloor.web.service import Service  # noqa: PLC0415

        service = Service(
            self.catalog,
            origins=self.origins,
            keys=self.read_keys(),
            metrics_port=self.ports[1] if len(self.ports) > 1 else None,
        )
        for teller in ("gradefloor", "uvicorn"):
            logging.getLogger(teller).addHandler(ServerLog(sys.stderr.fileno()))
        tracer = self.tracer()
        config = uvicorn.Config(
            create_app(service, self.lifespan(service, tracer), tracer),
            http=protocol_of(service.load),
            ws="none",
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            backlog=BACKLOG,
            timeout_graceful_shutdown=GRACE_SECONDS,
        )
        # The collector need not walk at every turn what was made until now.
        gc.freeze()
        gc.enable()
        server = Server(config, service.load, self.drain_seconds)
        server.run(sockets=[_listen(self.host, port, shared=self.shared) for port in self.ports])
        return 0 if server.started else 1

    def lifespan(self, service: "Service", tracer: "Tracer | None") -> "Lifespan":
        """What goes on beside answering: looking at files, writing lines."""
        from gradefloor.web.journal import Journal  # noqa: PLC0415 - see `run`
        from gradefloor.web.renewal import Renewer  # noqa: PLC0415

        renewer = Renewer(service, self.look, self.look_every, self.read_keys)

        @asynccontextmanager
        async def lifespan(app: object) -> AsyncIterator[None]:
            if self.request_log:
                service.journal = Journal(sys.stdout.fileno())
            if self.decisions is not None:
                service.decisions = Journal(os.open(self.decisions, _APPEND, 0o640))
            async with renewer.watching(app):
                yield
            for journal in filter(None, (service.journal, service.decisions)):
                await journal.close()
            if tracer is not None:
                tracer.close()

        return lifespan


def _run_all(worker: _Worker, count: int) -> int:
    """Several workers; what they count is put together in a folder that goes away with them."""
    counts = tempfile.mkdtemp(prefix="gradefloor-counts-")
    # Read when the library is imported, which is why nothing above imports it.
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = counts
    # Made once by the parent, so that its workers have them in common, those that come later, too.
    for release in worker.catalog.in_force(datetime.now(UTC)):
        release.make()
    reserved = [_listen(worker.host, port, shared=True) for port in worker.ports]
    try:
        return Supervisor(count, worker.run, worker.drain_seconds + GRACE_SECONDS + STOP_SECONDS).run()
    finally:
        for one in reserved:
            one.close()
        shutil.rmtree(counts, ignore_errors=True)


def _listen(host: str, port: int, *, shared: bool) -> socket.socket:
    """A socket bound to an address; `shared` with the others of this service, each of which gets its part."""
    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    if shared:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        end(f"Cannot listen on {host}:{port}: {error.strerror}. Choose another with --port.")
    return listener


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _origins(given: list[str] | None) -> frozenset[str]:
    """Origins as browsers send them (RFC 6454): scheme and host, a port if need be, and nothing more."""
    for origin in given or ():
        if not _ORIGIN.fullmatch(origin):
            end(f"{origin} is no origin: write it as https://shop.example, without a path.")
    return frozenset(given or ())
