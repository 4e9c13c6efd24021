"""The command line: check the rule sets, serve them, judge files, print what is generated from the code."""

import gc
import re
import socket
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Annotated, Final, NoReturn, get_args

import orjson
import typer

from gradefloor import __version__
from gradefloor.judge.cases import prove
from gradefloor.rules.catalog import Catalog, CatalogError, Release, load
from gradefloor.rules.format import RULE_KINDS, RuleSet
from gradefloor.rules.strict_yaml import Fault
from gradefloor.trade.cells import NumberFormat
from gradefloor.trade.columns import FIELDS, propose_columns
from gradefloor.trade.feed import Asking
from gradefloor.trade.stones import Context, Metal, Origin

FAULTY: Final = 1
UNUSABLE: Final = 2
SET_ASIDE: Final = 3
# Requests in flight at SIGTERM may finish; a half-sent one may not hold the process.
GRACE_SECONDS: Final = 3

_ORIGIN: Final = re.compile(r"https?://[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?")

main = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="A jeweller's judgement of stones, answered over JSON.",
)
RuleSets = Annotated[
    Path, typer.Option("--rulesets", envvar="GRADEFLOOR_RULESETS", help="Folder of the rule sets.")
]
Drafts = Annotated[bool, typer.Option("--drafts", help="Versions that are not released, too.")]


@main.command()
def check(rulesets: RuleSets = Path("rulesets"), drafts: Drafts = False) -> None:
    """Read, compile and prove every version; print all faults."""
    catalog = _load(rulesets, drafts=drafts)
    faults = [fault for release in catalog for fault in _faults(release)]
    if faults:
        _complain(faults)
    for release in catalog:
        rules = release.rules
        count = sum(len(getattr(rules, kind)) for kind in RULE_KINDS)
        state = "draft" if release.draft else "released"
        # The first line is what RELEASED lists.
        typer.echo(f"{release.name} {release.version} {release.effective} {release.digest}")
        typer.echo(f"  {state}: {count} rules, {release.cases.count} cases hold")


@main.command()
def serve(
    rulesets: RuleSets = Path("rulesets"),
    host: Annotated[str, typer.Option(help="Address to listen on.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.", min=1, max=65535)] = 8000,
    drafts: Drafts = False,
    allow_origin: Annotated[
        list[str] | None,
        typer.Option(help="Origin whose pages may embed annotations, as https://shop.example; repeatable."),
    ] = None,
) -> None:
    """Serve the rule sets over HTTP until a signal ends it."""
    import uvicorn  # noqa: PLC0415 - the other commands need no server

    from gradefloor.web.app import create_app  # noqa: PLC0415
    from gradefloor.web.service import Service  # noqa: PLC0415

    catalog = _load(rulesets, drafts=drafts)
    unproven = [fault for release in catalog if release.draft for fault in _faults(release)]
    if unproven:
        _complain(unproven)
    listener = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
    except OSError as error:
        typer.echo(f"Cannot listen on {host}:{port}: {error.strerror}. Choose another with --port.", err=True)
        raise typer.Exit(UNUSABLE) from None
    config = uvicorn.Config(
        create_app(Service(catalog, origins=_origins(allow_origin))),
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=GRACE_SECONDS,
    )
    # The catalogue lives as long as the process: the collector need not walk it at every turn.
    gc.freeze()
    typer.echo(f"gradefloor {__version__} answers on http://{host}:{port}/ (how to ask: /docs)")
    uvicorn.Server(config).run(sockets=[listener])


@main.command()
def annotate(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    file: Annotated[Path, typer.Argument(help="CSV, NDJSON or Parquet.")],
    to: Annotated[
        Path | None, typer.Option(help="File to write; NAME.annotated beside it if absent.")
    ] = None,
    ruleset: Annotated[str, typer.Option(help="Name, or name@version.")] = "house",
    as_of: Annotated[str | None, typer.Option(help="Day for which to judge, YYYY-MM-DD.")] = None,
    column: Annotated[
        list[str] | None, typer.Option(help="HEADER=FIELD, as often as needed; proposed if absent.")
    ] = None,
    number_format: Annotated[str | None, typer.Option(help="Decimal mark: point or comma.")] = None,
    origin: Annotated[str | None, typer.Option(help="natural or laboratory_grown, for all rows.")] = None,
    metal: Annotated[str | None, typer.Option(help="Metal of the head, for all rows.")] = None,
    rulesets: RuleSets = Path("rulesets"),
) -> None:
    """Write a file of supplier rows again, each with its verdict, findings, questions and remarks.

    Ends with 3 if any row was set aside, with 2 if the file cannot be used. What was interrupted goes on
    where it stopped.
    """
    from gradefloor.feeds.annotate import annotate as annotate_file  # noqa: PLC0415 - see serve
    from gradefloor.feeds.judging import fingerprint, row_judge  # noqa: PLC0415
    from gradefloor.feeds.rows import TableError  # noqa: PLC0415
    from gradefloor.feeds.summary import show  # noqa: PLC0415
    from gradefloor.feeds.tables import open_table  # noqa: PLC0415

    try:
        now = datetime.now(UTC)
        day = date.fromisoformat(as_of) if as_of else now.date()
        release = _load(rulesets, drafts=False).resolve(ruleset, day, now)
        _known(release.rules.subject, ["stones"])
        rules = release.compiled
        _known(metal, get_args(Metal))
        context = Context.model_validate({"metal": metal}) if metal else None
        table = open_table(file)
        asking = _asking(table.headers, column, number_format, origin)
        note = ", ".join(f"{header} is {field}" for header, field in asking.columns.items())
        if unread := [header for header in table.headers if header not in asking.columns]:
            note += f"; not read: {', '.join(unread)}"
        summary = annotate_file(
            table,
            row_judge(rules, asking, context, day),
            to,
            fingerprint=fingerprint(rules, asking, context, day),
            headers_note=note,
        )
    except (TableError, LookupError, ValueError) as error:
        unknown = isinstance(error, LookupError)
        typer.echo(f"there are no rules {error} on that day" if unknown else str(error), err=True)
        raise typer.Exit(UNUSABLE) from None
    show(summary)
    if summary.set_aside:
        raise typer.Exit(SET_ASIDE)


def _origins(given: list[str] | None) -> frozenset[str]:
    """Origins as browsers send them (RFC 6454): scheme and host, a port if need be, and nothing more."""
    for origin in given or ():
        if not _ORIGIN.fullmatch(origin):
            typer.echo(f"{origin} is no origin: write it as https://shop.example, without a path.", err=True)
            raise typer.Exit(UNUSABLE)
    return frozenset(given or ())


def _known(word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in known:
        raise ValueError(f"{word} is not one of {', '.join(known)}")


def _asking(
    headers: Sequence[str], given: list[str] | None, number_format: str | None, origin: str | None
) -> Asking:
    """How to read the rows; ValueError for a word that is none of ours."""
    _known(number_format, get_args(NumberFormat))
    _known(origin, get_args(Origin))
    if not given:
        return Asking(propose_columns(headers).columns, number_format, origin)
    columns = dict(pair.rpartition("=")[::2] for pair in given)
    for header, field in columns.items():
        if header not in headers:
            raise ValueError(f"there is no column {header!r}; there are {', '.join(headers)}")
        if field not in FIELDS:
            raise ValueError(f"{field} is not one of {', '.join(sorted(FIELDS))}")
    return Asking(columns, number_format, origin)


@main.command()
def contract(rulesets: RuleSets = Path("rulesets")) -> None:
    """Print the OpenAPI contract, as it is committed in openapi/openapi.json."""
    from gradefloor.web import contract as web_contract  # noqa: PLC0415
    from gradefloor.web.app import create_app  # noqa: PLC0415
    from gradefloor.web.service import Service  # noqa: PLC0415

    app = create_app(Service(_load(rulesets, drafts=False)))
    sys.stdout.buffer.write(web_contract.as_bytes(web_contract.build(app)))


@main.command()
def schema() -> None:
    """Print the JSON Schema of ruleset.yaml, as it is committed in rulesets/schema.json."""
    document = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **RuleSet.model_json_schema(by_alias=True),
    }
    sys.stdout.buffer.write(orjson.dumps(document, option=orjson.OPT_INDENT_2) + b"\n")


def _load(rulesets: Path, *, drafts: bool) -> Catalog:
    try:
        return load(rulesets, drafts=drafts)
    except CatalogError as error:
        _complain(error.faults)


def _faults(release: Release) -> Iterator[Fault]:
    """What the compiler refuses; where it refuses nothing, the cases that do not hold."""
    yield from release.faults
    if not release.faults:
        yield from prove(release.compiled, release.cases, release.cases_document)


def _complain(faults: list[Fault]) -> NoReturn:
    for fault in sorted(set(faults)):
        typer.echo(str(fault), err=True)
    count = len(set(faults))
    typer.echo(f"{count} fault{'' if count == 1 else 's'}; nothing is served.", err=True)
    raise typer.Exit(FAULTY)


if __name__ == "__main__":
    main()
