"""`changes`: what differs between two versions, and whose verdict moves."""

from pathlib import Path
from typing import Annotated, Any, Final

import orjson
import typer

from gradefloor.commands.folder import (
    DEFAULT_FOLDER,
    DIFFERENT,
    AsOf,
    RuleSets,
    complain,
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
)
from gradefloor.feeds.judging import stone_in
from gradefloor.feeds.rows import Table, TableError
from gradefloor.feeds.tables import open_table
from gradefloor.judge.cases import prove
from gradefloor.judge.impact import Impact, ImpactCount
from gradefloor.rules.catalog import Release
from gradefloor.rules.changes import ChangedPart, Differences, differences, same_rules
from gradefloor.trade.feed import Asking

_WIDTH: Final = 100


def changes(  # noqa: PLR0913, PLR0917 - one parameter for each option of the command line
    old: Annotated[str, typer.Argument(help="Older version: name, or name@version.")],
    new: Annotated[str, typer.Argument(help="Newer version, released or a draft.")],
    stones: Annotated[
        Path | None, typer.Option(help="File of stones (CSV, NDJSON or Parquet) to judge by both.")
    ] = None,
    as_of: AsOf = None,
    column: Column = None,
    number_format: DecimalMark = None,
    origin: OriginOfAll = None,
    metal: MetalOfAll = None,
    rulesets: RuleSets = DEFAULT_FOLDER,
) -> None:
    """Tell which rules differ between two versions, which cases come out otherwise, whose verdict moves.

    Ends with 4 if a verdict of a stone moves; without stones, if any rule differs.
    """
    day = day_of(as_of)
    catalog = read_catalog(rulesets, drafts=True)
    older, newer = (resolve(catalog, reference, day) for reference in (old, new))
    if older.rules.subject != newer.rules.subject:
        end(f"{old} is about {older.rules.subject}, {new} about {newer.rules.subject}: nothing to compare")
    if stones is not None and newer.rules.subject != "stones":
        end(f"{new} is about {newer.rules.subject}, and judges no stones")
    for release in (older, newer):
        if release.faults:
            complain(release.faults, "nothing is compared")
    found = differences(older.rules, newer.rules)
    typer.echo(f"{older.name} {older.version} -> {newer.name} {newer.version}")
    _tell_rules(found)
    _tell_cases(older, newer)
    if stones is None:
        different = not same_rules(found)
    else:
        try:
            table = open_table(stones)
            asking = asking_of(table.headers, column, number_format, origin)
            counted = ImpactCount(older.compiled, newer.compiled, context_of(metal), day)
            unsure = _judge_all(counted, table, asking)
        except (TableError, ValueError) as error:
            end(str(error))
        impact = counted.result()
        if not impact["stones"]:
            end(f"{stones}: no row says for certain which stone it is, so nothing was compared")
        _tell_impact(impact, unsure)
        different = impact["moved"] > 0
    if different:
        raise typer.Exit(DIFFERENT)


def _judge_all(counted: ImpactCount, table: Table, asking: Asking) -> int:
    """Judge every row that says for certain which stone it is; gives how many do not."""
    unsure = 0
    for place, record in enumerate(table.records()):
        stone = None if record.unread else stone_in(record.row, asking)
        if stone is None:
            unsure += 1
        else:
            counted.add(place, stone)
    return unsure


def _tell_rules(found: Differences) -> None:
    if same_rules(found) and not found["around"]:
        typer.echo("nothing differs")
    for kind in ("added", "removed"):
        for rule in found[kind]:
            typer.echo(f"{kind} {rule['rule']} ({rule['kind']}): {rule['title']}")
    for altered in found["altered"]:
        typer.echo(f"altered {altered['rule']} ({altered['kind']}): {altered['title']}")
        _tell_parts(altered["parts"])
    if found["around"]:
        typer.echo("outside the rules")
        _tell_parts(found["around"])


def _tell_parts(parts: list[ChangedPart]) -> None:
    for part in parts:
        typer.echo(f"  {part['at']}: {_brief(part['before'])} -> {_brief(part['after'])}")


def _brief(value: Any) -> str:
    text = "nothing" if value is None else value if isinstance(value, str) else orjson.dumps(value).decode()
    return text if len(text) <= _WIDTH else f"{text[: _WIDTH - 1]}…"


def _tell_cases(older: Release, newer: Release) -> None:
    """Cases of the older version that the newer one answers otherwise: rings, leads and copy among them."""
    faults = prove(newer.compiled, older.proof)
    if faults:
        of = "case of the older version comes" if len(faults) == 1 else "cases of the older version come"
        typer.echo(f"{len(faults)} {of} out otherwise")
    for fault in faults:
        typer.echo(f"  {fault}")


def _tell_impact(impact: Impact, unsure: int) -> None:
    typer.echo(f"{impact['moved']} of {impact['stones']} stones move")
    for move in impact["moves"]:
        typer.echo(f"  {move['before']} -> {move['after']}: {move['count']}")
    for rule in impact["rules"]:
        typer.echo(f"  by {rule['rule']}: {rule['count']}")
    if impact["touched"]:
        typer.echo(f"{impact['touched']} more keep their verdict, although a finding moves")
    if unsure:
        typer.echo(f"{unsure} rows do not say for certain which stone they are, and were not judged")
    for example in impact["examples"]:
        name = example["stone_id"] or f"row {example['place'] + 1}"
        typer.echo(f"{name}, {example['shape']}: {example['before']} -> {example['after']}")
        for said in example["rules"]:
            typer.echo(
                f"  {said['rule']}: {said['observed'] or 'not stated'}; "
                f"{said['threshold_before'] or said['before']} -> {said['threshold_after'] or said['after']}"
            )
