"""`annotate`: files of supplier rows, judged."""

from dataclasses import replace
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
    context_of,
    known,
    wanted_of,
)
from gradefloor.feeds.annotate import annotate as annotate_file
from gradefloor.feeds.asking import Wanted, how_read
from gradefloor.feeds.cluster import by_cluster
from gradefloor.feeds.folders import Errand, annotate_all, by_processes, one_after_another
from gradefloor.feeds.judging import Judgement, row_judge
from gradefloor.feeds.processes import Elsewhere
from gradefloor.feeds.rows import TableError
from gradefloor.feeds.tables import open_table
from gradefloor.rules.catalog import Release
from gradefloor.trade.feed import Asking


def annotate(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    files: Annotated[
        list[Path], typer.Argument(help="CSV, NDJSON or Parquet; several, or a folder, with --to.")
    ],
    to: Annotated[
        Path | None,
        typer.Option(help="File or folder to write; of one file NAME.annotated beside it if absent."),
    ] = None,
    ruleset: Annotated[str, typer.Option(help="Name, or name@version.")] = "house",
    as_of: AsOf = None,
    column: Column = None,
    number_format: DecimalMark = None,
    origin: OriginOfAll = None,
    metal: MetalOfAll = None,
    processes: Annotated[int, typer.Option(min=1, max=256, help="Processes that judge at once.")] = 1,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Scheduler of dask.distributed whose workers judge the files."),
    ] = None,
    rulesets: RuleSets = DEFAULT_FOLDER,
) -> None:
    """Write files of supplier rows again, each row with its verdict, findings, questions and remarks.

    Ends with 3 if any row was set aside, with 2 if a file cannot be used. What was interrupted goes on where
    it stopped.
    """
    day = day_of(as_of)
    release = resolve(read_catalog(rulesets, drafts=False, proofs=False), ruleset, day)
    try:
        known(release.rules.subject, ["stones"])
        wanted = wanted_of(column, number_format, origin)
        judgement = Judgement.of(rulesets, release, Asking({}), context_of(metal), day)
        if len(files) == 1 and cluster is None and not files[0].is_dir() and not _is_folder(to):
            set_aside = _one(files[0], to, judgement, wanted, release, processes)
        else:
            set_aside = _all(files, to, judgement, wanted, processes, cluster)
    except (TableError, ValueError) as error:
        end(str(error))
    if set_aside:
        raise typer.Exit(SET_ASIDE)


def _is_folder(to: Path | None) -> bool:
    """A name without an ending is no file of ours."""
    return to is not None and (to.is_dir() or not to.suffix)


def _one(  # noqa: PLR0913, PLR0917 - what the options say
    file: Path, to: Path | None, judgement: Judgement, wanted: Wanted, release: Release, processes: int
) -> int:
    """Annotate a file; gives how many rows were set aside."""
    table = open_table(file)
    judgement = replace(judgement, asking=wanted.asking(table.headers))
    summary = annotate_file(
        table,
        row_judge(release.compiled, judgement.asking, judgement.context, judgement.as_of),
        to,
        fingerprint=judgement.fingerprint(),
        headers_note=how_read(judgement.asking, table.headers),
        elsewhere=Elsewhere(processes, judgement.judge) if processes > 1 else None,
    )
    from gradefloor.feeds.showing import show  # noqa: PLC0415 - see `annotate` in feeds/annotate.py

    show(summary)
    return summary.set_aside


def _all(  # noqa: PLR0913, PLR0917 - what the options say
    files: list[Path],
    to: Path | None,
    judgement: Judgement,
    wanted: Wanted,
    processes: int,
    cluster: str | None,
) -> int:
    """Annotate files into a folder; gives how many rows were set aside, and ends if a file cannot be used."""
    if to is None:
        end("several files are written into a folder: name it with --to")
    if cluster is not None and processes > 1:
        end("--processes is for this machine, --cluster for others: give one of the two")
    run = by_processes(processes) if processes > 1 else one_after_another
    parts = annotate_all(
        Errand(judgement, wanted, to.resolve()), files, run if cluster is None else by_cluster(cluster)
    )
    from gradefloor.feeds.showing import show_parts  # noqa: PLC0415 - see `annotate` in feeds/annotate.py

    show_parts(parts)
    if unusable := sum(part.fault is not None for part in parts):
        end(f"{unusable} of {len(parts)} files could not be used")
    return sum(part.set_aside for part in parts)
