"""Settings that could hold a center, each judged as a whole ring, best first."""

from datetime import date
from typing import NamedTuple

from gradefloor.judge.ring_findings import RankedSetting
from gradefloor.judge.rings import judge_ring
from gradefloor.judge.stones import worst_verdict
from gradefloor.rules.ring_tables import CompiledStyle
from gradefloor.rules.said import Said
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import Halo, Head


class Tried(NamedTuple):
    """A ring in one style, judged."""

    style: CompiledStyle
    ring: Ring
    said: list[Said]

    @property
    def rank(self) -> tuple[int, int, bool, int, bool, int, str]:
        """Fewest faults first, then fewest open questions, then what suits the shape, then the plainest."""
        verdicts = [said.verdict for said in self.said]
        count = verdicts.count
        return (
            count("fail"),
            count("ask"),
            not self.style.fits_best,
            count("note"),
            self.ring.setting.shank != "plain",
            len(self.ring.setting.model_fields_set),
            self.style.rule.name,
        )


def rank_settings(rules: CompiledRules, ring: Ring, as_of: date) -> list[RankedSetting]:
    """Every style of the rules, with the head that does best in it."""
    return [tell(found) for found in try_settings(rules, ring, as_of)]


def try_settings(rules: CompiledRules, ring: Ring, as_of: date, only: str | None = None) -> list[Tried]:
    """Every style, or only one, as a whole ring with the head that does best in it; the best first."""
    styles = [s for s in rules.rings.centers[ring.center.shape].styles if only in {None, s.rule.name}]
    tried = [min((_try(rules, ring, style, head, as_of) for head in style.rule.setting.heads),
                 key=lambda t: t.rank) for style in styles]  # fmt: skip
    return sorted(tried, key=lambda t: t.rank)


def _try(rules: CompiledRules, ring: Ring, style: CompiledStyle, head: Head, as_of: date) -> Tried:
    parts = style.rule.setting
    members: dict[str, object] = {"head": head, "shank": parts.shank}
    if parts.halo != "none":
        members["halo"] = Halo(hidden=True) if parts.halo == "hidden" else Halo()
    if parts.shoulders is not None:
        members["shoulders"] = parts.shoulders
    if parts.orientation is not None:
        members["orientation"] = parts.orientation
    changed = ring.set_so(**members)
    return Tried(style, changed, judge_ring(rules, changed, as_of))


def tell(tried: Tried) -> RankedSetting:
    """The style as it stands in an answer."""
    rule = tried.style.rule
    telling = [said.finding for said in tried.said if said.verdict in {"fail", "ask", "note"}]
    return {
        "style": rule.name,
        "setting": tried.ring.setting.model_dump(exclude_none=True),
        "verdict": worst_verdict(tried.said),
        "fits_best": tried.style.fits_best,
        "reasons": [
            rule.because if tried.style.fits_best else rule.elsewhere,
            *(finding["reason"] for finding in telling),
        ],
        "rules": [rule.id, *(finding["rule"] for finding in telling)],
    }
