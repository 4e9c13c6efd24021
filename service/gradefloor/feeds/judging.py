"""What a file's rows are judged by: each is read, and what could be read is judged."""

import hashlib
from collections.abc import Callable
from datetime import date
from typing import cast

import orjson
from pydantic import ValidationError

from gradefloor import __version__
from gradefloor.feeds.rows import Judged, Row, Verdict
from gradefloor.judge.stones import evaluate
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.cells import Remark
from gradefloor.trade.feed import Asking, read_one
from gradefloor.trade.stones import Context, Stone


def row_judge(
    rules: CompiledRules, asking: Asking, context: Context | None, as_of: date
) -> Callable[[Row], Judged]:
    """Reads one row and judges the stone in it; a row without a certain shape gets no verdict."""

    def judge(row: Row) -> Judged:
        reading = read_one(row, asking)
        remarks = [_told(remark) for remark in reading.remarks]
        open_questions = [remark.ask for remark in reading.remarks if remark.ask]
        if reading.stone is None:
            return Judged(reading.outcome, None, (), tuple(dict.fromkeys(open_questions)), tuple(remarks))
        answer = evaluate(rules, Stone.model_validate(reading.stone), context, as_of)
        findings = [f"{f['rule']}: {f['verdict']}" for f in answer["findings"] if f["verdict"] != "pass"]
        questions = dict.fromkeys([*open_questions, *(q["ask"] for q in answer["questions"])])
        verdict = cast(
            Verdict, answer["verdict"]
        )  # the contract leaves room for more words, the judge has three
        return Judged(reading.outcome, verdict, tuple(findings), tuple(questions), tuple(remarks))

    return judge


def _told(remark: Remark) -> str:
    """`carat: assumed, "1,50" read as 1.5`."""
    seen = f', "{remark.seen}"' if remark.seen else ""
    read_as = f" read as {remark.read_as}" if remark.read_as else ""
    return f"{remark.field}: {remark.kind}{seen}{read_as}"


def stone_in(row: Row, asking: Asking) -> Stone | None:
    """The stone that a row describes: as the wire has it, or read as a supplier writes; None if unsure."""
    try:
        return Stone.model_validate(row)
    except ValidationError:
        reading = read_one(row, asking)
        return None if reading.stone is None else Stone.model_validate(reading.stone)


def fingerprint(rules: CompiledRules, asking: Asking, context: Context | None, as_of: date) -> str:
    """Tells work that may go on from work that was begun under other rules or questions."""
    said = {
        "service": __version__,
        "digest": rules.digest,
        "as_of": as_of,
        "columns": asking.columns,
        "number_format": asking.number_format,
        "origin": asking.origin,
        "context": None if context is None else context.model_dump(exclude_none=True),
    }
    return hashlib.sha256(orjson.dumps(said, option=orjson.OPT_SORT_KEYS)).hexdigest()
