"""Records judged one after another; a row that the judge breaks on never spoils the others."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from gradefloor.feeds.rows import UNREADABLE, Judge, Judged, Record
from gradefloor.feeds.tally import Tally


def judge_each(records: Iterable[Record], judge: Judge, tally: Tally) -> Iterator[tuple[Record, Judged]]:
    """Every record with what was found about it, in order; counted in the tally."""
    for record in records:
        judged = _judged(record, judge, tally)
        tally.add(judged)
        yield record, judged


def _judged(record: Record, judge: Judge, tally: Tally) -> Judged:
    if record.unread:
        return Judged("set_aside", remarks=record.remarks)
    try:
        judged = judge(record.row)
    except MemoryError:
        raise  # says something about the machine, not about this row
    except Exception as error:  # noqa: BLE001 - whatever it is, the row is set aside and counted
        tally.raised += 1
        judged = Judged("set_aside", remarks=(f"{UNREADABLE} ({type(error).__name__})",))
    if record.remarks:
        return replace(judged, remarks=(*record.remarks, *judged.remarks))
    return judged
