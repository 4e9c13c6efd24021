"""`annotate`: files of supplier rows, judged."""

from pathlib import Path
from typing import Annotated

import typer

from gradefloor.commands.folder import (
    DEFAULT_FOLDER,
    SET_ASIDE,
    AsOf,
    RuleSets,
    day_of,
    end,
    read_catalog,
    resolve,
)
from gradefloor.commands.rows import (
    Column,
    DecimalMark,
    MetalOfAll,
    OriginOfAll,
    asking_of,
    context_of,
    known,
)
from gradefloor.feeds.annotate import annotate as annotate_file
from gradefloor.feeds.judging import fingerprint, row_judge
from gradefloor.feeds.rows import TableError
from gradefloor.feeds.summary import show
from gradefloor.feeds.tables import open_table


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
    day = day_of(as_of)
    release = resolve(read_catalog(rulesets, drafts=False), ruleset, day)
    try:
        known(release.rules.subject, ["stones"])
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
