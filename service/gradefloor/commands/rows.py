"""How a file of supplier rows is to be read, as options of a command say it."""

from collections.abc import Sequence
from typing import Annotated, get_args

import typer

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


def context_of(metal: str | None) -> Context | None:
    """What all rows are meant for; ValueError for a word that is no metal."""
    known(metal, get_args(Metal))
    return Context.model_validate({"metal": metal}) if metal else None


def known(word: str | None, known: Sequence[str]) -> None:
    if word is not None and word not in known:
        raise ValueError(f"{word} is not one of {', '.join(known)}")


def asking_of(
    headers: Sequence[str], given: list[str] | None, number_format: str | None, origin: str | None
) -> Asking:
    """How to read the rows; ValueError for a word that is none of ours."""
    known(number_format, get_args(NumberFormat))
    known(origin, get_args(Origin))
    if not given:
        return Asking(propose_columns(headers).columns, number_format, origin)
    columns = dict(pair.rpartition("=")[::2] for pair in given)
    for header, field in columns.items():
        if header not in headers:
            raise ValueError(f"there is no column {header!r}; there are {', '.join(headers)}")
        if field not in FIELDS:
            raise ValueError(f"{field} is not one of {', '.join(sorted(FIELDS))}")
    return Asking(columns, number_format, origin)
