"""How a file of supplier rows is to be read, as options of a command say it."""

from collections.abc import Sequence
from typing import Annotated, get_args

import typer

from gradefloor.feeds.asking import Wanted
from gradefloor.trade.cells import NumberFormat
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


def context_of(metal: str | None) -> Context | None:
    """What all rows are meant for; ValueError for a word that is no metal."""
    known(metal, get_args(Metal))
    return Context.model_validate({"metal": metal}) if metal else None


def known(word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in known:
        raise ValueError(f"{word} is not one of {', '.join(known)}")


def wanted_of(given: list[str] | None, number_format: str | None, origin: str | None) -> Wanted:
    """How to read the rows of files; ValueError for a word that is none of ours."""
    known(number_format, get_args(NumberFormat))
    known(origin, get_args(Origin))
    columns = dict(pair.rpartition("=")[::2] for pair in given) if given else None
    return Wanted(columns, number_format, origin)


def asking_of(
    headers: Sequence[str], given: list[str] | None, number_format: str | None, origin: str | None
) -> Asking:
    """How to read the rows of one file; ValueError for a word that is none of ours or a column it lacks."""
    return wanted_of(given, number_format, origin).asking(headers)
