"""What every route shares: the catalogue, the day, and the shapes that stand around a stone in a request."""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field
from typing_extensions import TypedDict

from gradefloor import __version__
from gradefloor.judge.findings import RuleSetName
from gradefloor.judge.stones import Judged
from gradefloor.rules.catalog import Catalog, Release, UnknownRuleSetError, UnknownVersionError
from gradefloor.trade.stones import CalendarDate, Context, Stone, Wire
from gradefloor.web import gate
from gradefloor.web.access import OPEN, Keys
from gradefloor.web.journal import Journal, decision, record
from gradefloor.web.load import Load
from gradefloor.web.problems import ProblemError

Clock = Callable[[], datetime]
DEFAULT_RULESETS: Final = {"stones": "house", "wording": "wording"}

RuleSetReference = Annotated[
    str,
    Field(
        pattern=r"^[a-z][a-z0-9_]*(@(0|[1-9][0-9]{0,8})(\.(0|[1-9][0-9]{0,8})){0,2})?$",
        max_length=60,
        examples=["house", "house@1.0.0"],
        description="Name, or name@version; a name alone means the newest version in force.",
    ),
]
AsOf = Annotated[
    CalendarDate, Field(description="Day for which to judge, YYYY-MM-DD; today (UTC) if absent.")
]


class Asked(Wire):
    """Members that every request has around what it is about."""

    body_limit: ClassVar[int] = gate.SINGLE_LIMIT
    # The member that `read_each` reads item by item, if there is one.
    listed: ClassVar[str | None] = None

    ruleset: RuleSetReference | None = None
    as_of: AsOf | None = None


class AskedOfStones(Asked):
    """Members around stones that are to be judged."""

    context: Context | None = Field(None, description="What the stone is meant for.")


class Answered(TypedDict):
    """Members that every answer has around what it says."""

    ruleset: RuleSetName
    as_of: Annotated[str, Field(description="Day for which it was answered, YYYY-MM-DD (UTC).")]
    service_version: Annotated[str, Field(description="Version of the service that answered.")]


@dataclass(frozen=True, slots=True)
class Renewal:
    """How the last look at the rule files went, and since when that has been so."""

    state: Literal["current", "refused"]
    since: datetime
    looked_at: datetime
    reason: str | None = None
    # How often each outcome was met since the start: adopted, unchanged, refused.
    counts: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    adopted_at: datetime | None = None


@dataclass(slots=True)
class Service:
    """One immutable catalogue, a clock, and who may ask for what.

    A catalogue that follows takes the place of this one whole, between two requests.
    """

    # Everything; what a request may see of it is `catalog`.
    whole: Catalog
    clock: Clock = lambda: datetime.now(UTC)
    # Pages of other hosts that may read annotations, as browsers name them.
    origins: frozenset[str] = frozenset()
    keys: Keys = OPEN
    load: Load = field(default_factory=Load)
    journal: Journal | None = None
    # Where every evaluation is kept by its id, if anywhere.
    decisions: Journal | None = None
    # The port that alone answers /metrics, if there is one.
    metrics_port: int | None = None
    renewal: Renewal = field(init=False)
    # Tables that are being made, by digest.
    making: dict[str, asyncio.Future[None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        now = datetime.now(UTC)
        self.renewal = Renewal("current", now, now, adopted_at=now)

    def judge(self, release: Release, stone: Stone, context: Context | None, day: date) -> Judged:
        """One stone judged, and written down where evaluations are kept."""
        judged = Judged(release.compiled, stone, context, day)
        if self.decisions is not None:
            self.decisions.write(decision(judged.evaluation))
        return judged

    @property
    def catalog(self) -> Catalog:
        """What the caller at hand may know of: the one place where rule sets are hidden."""
        return self.whole.without(self.keys.hidden())

    def renew(self, found: Catalog | None, reason: str | None) -> None:
        """Take over a catalogue that was found whole, if one was; `reason` says what was refused."""
        now, last = self.clock(), self.renewal
        adopted = found is not None and found is not self.whole
        if found is not None:
            self.whole = found
        state: Literal["current", "refused"] = "current" if reason is None else "refused"
        outcome = "refused" if reason is not None else "adopted" if adopted else "unchanged"
        self.renewal = Renewal(
            state,
            since=last.since if (last.state, last.reason) == (state, reason) else now,
            looked_at=now,
            reason=reason,
            counts=MappingProxyType({**last.counts, outcome: last.counts.get(outcome, 0) + 1}),
            adopted_at=now if adopted else last.adopted_at,
        )

    def resolve(
        self, reference: str | None, as_of: date | None, subject: str | None = "stones"
    ) -> tuple[Release, date]:
        """The release that answers, and the day it answers for; an unknown one is a 404.

        So is one about another subject, unless any will do: rules about wording judge no stones.
        """
        now = self.clock()
        day = as_of or now.astimezone(UTC).date()
        try:
            release = self.catalog.resolve(reference or DEFAULT_RULESETS[subject or "stones"], day, now)
        except UnknownRuleSetError:
            raise ProblemError("ruleset_unknown") from None
        except UnknownVersionError:
            raise ProblemError("version_unknown") from None
        if subject is not None and release.rules.subject != subject:
            raise ProblemError("rules_missing")
        asked_of = record.get()
        if asked_of is not None:
            asked_of.ruleset, asked_of.digest = f"{release.name}@{release.version}", release.digest
        return release, day

    async def rules(
        self, reference: str | None, as_of: date | None, subject: str | None = "stones"
    ) -> tuple[Release, date]:
        """The same, with its tables made."""
        release, day = self.resolve(reference, as_of, subject)
        await self.prepare(release)
        return release, day

    async def prepare(self, release: Release) -> None:
        """Make the tables of a version beside the loop, if nobody has asked for it before.

        That takes a while; whoever asks meanwhile waits for the same.
        """
        if release.is_compiled:
            return
        if release.digest not in self.making:
            made = asyncio.ensure_future(asyncio.to_thread(release.make))
            made.add_done_callback(lambda _: self.making.pop(release.digest))
            self.making[release.digest] = made
        await asyncio.shield(self.making[release.digest])


def around(release: Release, day: date) -> Answered:
    return {"ruleset": name_of(release), "as_of": day.isoformat(), "service_version": __version__}


def name_of(release: Release) -> RuleSetName:
    return {
        "name": release.name,
        "version": release.version,
        "effective": release.effective.isoformat(),
        "digest": release.digest,
    }
