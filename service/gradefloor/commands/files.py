"""`annotate`: files of supplier rows, judged."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, get_args

import typer

from gradefloor.commands.catalogue import (
    DEFAULT_FOLDER,
    SET_ASIDE,
    AsOf,
    RuleSets,
    day_of,
    end,
    read_catalog,
    resolve,
)
from gradefloor.trade.cells import NumberFormat
from gradefloor.trade.columns import FIELDS, propose_columns
from gradefloor.trade.feed import Asking
from gradefloor.trade.stones import Context, Metal, Origin

Column = Annotated[
    list[str] | None, typer.Option(help="HEADER=FIELD, as often as needed; proposed if absent.")
]
DecimalMark = Annotated[str | None, typer.Option("--number-format", help="Decimal mark: point or comma.")]
OriginOfAll = Annotated[
    str | None, typer.Option("--origin", help="natural or laboratory_grown, for all rows.")
]
MetalOfAll = Annotated[str | None, typer.Option("--metal", help="Metal of the head, for all rows.")]


def annotate(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    file: Annotated[Path, typer.Argument(help="CSV, NDJSON or Parquet.")],
    to: Annotated[
        Path | None, typer.Option(help="File to write; NAME.annotated beside it if absent.")
    ] = None,
    ruleset: Annotated[str, typer.Option(help="Name, or name@version.")] = "house",
    as_of: AsOf = None,
    column: Column = None,
    number_format: DecimalMark = None,
    origin: OriginOfAll = None,
    metal: MetalOfAll = None,
    rulesets: RuleSets = DEFAULT_FOLDER,
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

    day = day_of(as_of)
    release = resolve(read_catalog(rulesets, drafts=False), ruleset, day)
    try:
        _known(release.rules.subject, ["stones"])
        context = context_of(metal)
        table = open_table(file)
        asking = asking_of(table.headers, column, number_format, origin)
        note = ", ".join(f"{header} is {field}" for header, field in asking.columns.items())
        if unread := [header for header in table.headers if header not in asking.columns]:
            note += f"; not read: {', '.join(unread)}"
        summary = annotate_file(
            table,
            row_judge(release.compiled, asking, context, day),
            to,
            fingerprint=fingerprint(release.compiled, asking, context, day),
            headers_note=note,
        )
    except (TableError, ValueError) as error:
        end(str(error))
    show(summary)
    if summary.set_aside:
        raise typer.Exit(SET_ASIDE)


def context_of(metal: str | None) -> Context | None:
    """What all rows are meant for; ValueError for a word that is no metal."""
    _known(metal, get_args(Metal))
    return Context.model_validate({"metal": metal}) if metal else None


def _known(word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in known:
        raise ValueError(f"{word} is not one of {', '.join(known)}")


def asking_of(
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
