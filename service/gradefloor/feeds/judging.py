"""What a file's rows are judged by: each is read, and what could be read is judged."""

import hashlib
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, cast

import orjson
from pydantic import ValidationError

from gradefloor import __version__
from gradefloor.feeds.rows import Judge, Judged, Row, TableError, Verdict
from gradefloor.judge.stones import Judged as StoneJudged
from gradefloor.rules.catalog import CatalogError, Release, load
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.cells import Remark
from gradefloor.trade.feed import Asking, FeedReader, read_one
from gradefloor.trade.stones import Context, Stone

# An installed wheel carries the rule sets.
PACKAGED: Final = Path(__file__).parents[1] / "rulesets"


def row_judge(rules: CompiledRules, asking: Asking, context: Context | None, as_of: date) -> Judge:
    """Reads one row and judges the stone in it; a row without a certain shape gets no verdict."""

    reader = FeedReader(asking)

    def judge(row: Row) -> Judged:
        reading, stone = reader.read(row)
        remarks = [_told(remark) for remark in reading.remarks]
        open_questions = [remark.ask for remark in reading.remarks if remark.ask]
        if stone is None:
            return Judged(reading.outcome, None, (), tuple(dict.fromkeys(open_questions)), tuple(remarks))
        found = StoneJudged(rules, stone, context, as_of)
        findings = [f"{one.finding['rule']}: {one.verdict}" for one in found.said if one.verdict != "pass"]
        questions = dict.fromkeys([*open_questions, *(question["ask"] for question in found.questions)])
        # The contract leaves room for more words, the judge has three.
        verdict = cast(Verdict, found.verdict)
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


@dataclass(frozen=True, slots=True)
class Judgement:
    """By what rows are judged, as a value to send: another process or machine makes the judge anew.

    `folder` holds the rule sets where the judge is made; None means those installed with the package.
    `digest` and `service` have to be the same there, so that all rows are judged alike.
    """

    folder: Path | None
    ruleset: str
    version: str
    digest: str
    asking: Asking
    context: Context | None
    as_of: date
    service: str = __version__

    @classmethod
    def of(
        cls, folder: Path, release: Release, asking: Asking, context: Context | None, as_of: date
    ) -> "Judgement":
        """As this process judges by a release that it has read from the folder."""
        found = None if folder.resolve() == PACKAGED.resolve() else folder.resolve()
        return cls(found, release.name, release.version, release.digest, asking, context, as_of)

    def judge(self) -> Judge:
        """Reads the rules and makes the judge; TableError if they are not those that are meant."""
        if self.service != __version__:
            told = f"gradefloor is {__version__} here and {self.service} where the work was given out"
            raise TableError(told)
        return row_judge(
            _rules(self.folder, self.ruleset, self.version, self.digest),
            self.asking,
            self.context,
            self.as_of,
        )

    def said(self) -> dict[str, Any]:
        """What the answers depend on besides the row."""
        return {
            "service": self.service,
            "ruleset": f"{self.ruleset}@{self.version}",
            "digest": self.digest,
            "as_of": self.as_of.isoformat(),
            "columns": dict(self.asking.columns),
            "number_format": self.asking.number_format,
            "origin": self.asking.origin,
            "context": None if self.context is None else self.context.model_dump(exclude_none=True),
        }

    def fingerprint(self) -> str:
        """Tells work that may go on from work that was begun under other rules or questions."""
        return hashlib.sha256(orjson.dumps(self.said(), option=orjson.OPT_SORT_KEYS)).hexdigest()


@lru_cache(maxsize=4)
def _rules(folder: Path | None, name: str, version: str, digest: str) -> CompiledRules:
    """The tables of one version; TableError if it is not there or not what its digest says."""
    where = folder or PACKAGED
    wanted = f"{name}@{version}"
    try:
        releases = load(where, proofs=False).releases.get(name, ())
        found = next((release for release in releases if release.version == version), None)
        if found is not None and found.digest == digest:
            return found.compiled
    except CatalogError as error:
        first, *rest = error.faults
        more = f", and {len(rest)} more" if rest else ""
        raise TableError(f"the rule sets in {where.name} cannot be read here: {first}{more}") from None
    if found is None:
        raise TableError(f"there are no rules {wanted} in {where.name} here; put the same rule sets there")
    raise TableError(
        f"the rules {wanted} have the digest {found.digest} here and {digest} where the work was given out; "
        "put the same rule sets in both places"
    )
