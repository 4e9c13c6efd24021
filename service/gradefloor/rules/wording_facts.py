"""The closed list of facts that a policy may name: of what is sold, and of what stands around a term.

Nothing here decides; that is the rule set's business.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from itertools import pairwise, takewhile
from typing import Final, get_args

from gradefloor.rules.facts import Issuer
from gradefloor.rules.mentions import OF_STONES, QUALIFIERS, Mention, Part, Piece, figure
from gradefloor.rules.terms import NOT_STATED, Fact
from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.listings import WordingText
from gradefloor.trade.shapes import CIRCULAR
from gradefloor.trade.stones import Finish, Origin, Treatment
from gradefloor.trade.weight_claims import fit
from gradefloor.trade.weights import exact

# Pieces within which something counts as standing beside a term.
_BESIDE: Final = 4
_NEAR_WEIGHT: Final = 8
# Least parts in a thousand of pure metal for each karat: 15 USC 295 allows 3 ppt below the nominal value.
_LEAST_PPT: Final = {9: 372, 10: 414, 14: 580, 18: 747, 22: 913, 24: 996}
_PURE_PPT: Final = 999
_PLATINUM_PPT: Final = (950, 850)
_STERLING_PPT: Final = 925
# 16 CFR 23.12(b): fewest facets of a diamond; 23.17: 32 above, 24 below and the table.
_FEWEST_FACETS: Final = 17
_FULL_CUT_FACETS: Final = 57
# ISO 24016 applies to diamonds over this weight.
_ISO_24016_CARAT: Final = 0.25
# Forms that 16 CFR 23.17 lets be called brilliant with the form beside the word.
_BRILLIANT_FORMS: Final = frozenset({"emerald", "pear", "heart", "oval", "marquise"})
_FEW_FACETED: Final = frozenset({"rose", "single_cut"})
_OLD_CUTS: Final = frozenset({"old_mine", "old_european"})


@dataclass(frozen=True)
class Spoken:
    """One term where it stands, or none where something should be said somewhere, and what is sold."""

    said: WordingText
    parts: Sequence[Part]
    issuers: Mapping[str, Issuer]
    mention: Mention | None = None
    # Whether the stone was named before, with a word that says how it was made.
    named: bool = False

    @property
    def part(self) -> Part | None:
        mention = self.mention
        return None if mention is None else next(p for p in self.parts if p.name == mention.part)

    def back(self, reach: int = _BESIDE) -> list[Piece]:
        """Pieces before the term in its clause, the nearest first."""
        return self._around(-1, reach)

    def ahead(self, reach: int = _BESIDE) -> list[Piece]:
        return self._around(1, reach)

    def beside(self, reach: int = _BESIDE) -> list[Piece]:
        """Pieces of the sentence on both sides."""
        part, mention = self.part, self.mention
        if part is None or mention is None:
            return []
        return [*part.around(mention, -1, reach), *part.around(mention, 1, reach)]

    def _around(self, step: int, reach: int) -> list[Piece]:
        part, mention = self.part, self.mention
        if part is None or mention is None:
            return []
        clause = part.pieces[mention.place].clause
        return [piece for piece in part.around(mention, step, reach) if piece.clause == clause]

    @cached_property
    def direct(self) -> str | None:
        """The strongest qualifier in the unbroken row before the term, or behind it in French."""
        french = self.part is not None and self.part.language == "fr"
        row = takewhile(lambda piece: piece.term in QUALIFIERS, self.ahead() if french else self.back())
        terms = [piece.term for piece in row]
        return next((name for name in QUALIFIERS if name in terms), None)

    @property
    def names_openly(self) -> bool:
        """Whether a word for the stone says here that it was made."""
        return self.direct not in {None, "cultured", "imitation"}

    @property
    def qualifier(self) -> str:
        """How a word for the stone is qualified: by what stands directly where its language puts it.

        `near`: on that side, with other words between; `behind`: on the other; `earlier`: not here, but where
        the stone was named before.
        """
        if self.direct is not None:
            return self.direct
        sides = self.back(), [*self.ahead(), *self.beside(2)]
        right, wrong = sides[::-1] if self.part is not None and self.part.language == "fr" else sides
        for name, pieces in (("near", right), ("behind", wrong)):
            if any(piece.term in QUALIFIERS for piece in pieces):
                return name
        return "earlier" if self.named else "none"


# What is sold


def _clarity(case: Spoken) -> str | None:
    if case.said.clarity is None:
        return None
    span = CLARITY.span(case.said.clarity)
    if span.best == span.worst:
        return {"FL": "flawless", "IF": "internally_flawless"}.get(CLARITY.grades[span.best], "lower")
    return "lower" if span.best > CLARITY.rank("IF") else None


def _color(case: Spoken) -> str | None:
    if case.said.color is None:
        return None
    span = COLOR.span(case.said.color)
    # IDC Rule Book 3.1: from I on its words are "slightly tinted white" and lower.
    if span.worst <= COLOR.rank("F"):
        return "colorless"
    return "tinted" if span.best >= COLOR.rank("I") else "white" if span.worst < COLOR.rank("I") else None


def _make(case: Spoken) -> str | None:
    if case.said.shape in _OLD_CUTS:
        return "old"
    grade = case.said.cut_grade
    return None if grade is None else "well" if grade in {"excellent", "very_good"} else "less"


def _form(case: Spoken) -> str | None:
    shape = case.said.shape
    if shape is None:
        return None
    if shape in _FEW_FACETED:
        return "few_facets"
    return "round" if shape in CIRCULAR else "named_form" if shape in _BRILLIANT_FORMS else "other"


def _facets(case: Spoken) -> str | None:
    facets = case.said.facets
    if facets is None:
        return None
    return "under_17" if facets < _FEWEST_FACETS else "under_57" if facets < _FULL_CUT_FACETS else "full"


def _treated(name: str) -> Callable[[Spoken], str | None]:
    return lambda case: None if case.said.treatments is None else _yes(name in case.said.treatments)


def _any_treatment(case: Spoken) -> str | None:
    treatments = case.said.treatments
    return None if treatments is None else "none" if not treatments else "some"


def _in_scope(case: Spoken) -> str | None:
    """Whether ISO 24016 can apply: natural, over 0.25 ct, untreated but for drilling by laser."""
    said = case.said
    out = (
        said.origin == "laboratory_grown"
        or said.material not in {None, "diamond"}
        or (said.carat is not None and said.carat <= _ISO_24016_CARAT)
        or bool(set(said.treatments or ()) - {"laser_drilled"})
    )
    if out:
        return "outside"
    return "inside" if said.origin == "natural" and said.carat is not None else None


def _cut_issuer(case: Spoken) -> str | None:
    """Whether the report's issuer states a cut grade for this shape."""
    said = case.said
    if said.report is None or said.report.issuer is None or said.shape is None:
        return None
    issuer = case.issuers.get(said.report.issuer.casefold())
    return None if issuer is None else "gives" if said.shape in issuer.cut_grade_shapes else "gives_none"


def _eye_clean(case: Spoken) -> str | None:
    seen = case.said.observations
    return None if seen is None or seen.eye_clean is None else "seen" if seen.eye_clean else "not_clean"


def _gold(case: Spoken) -> str | None:
    if case.said.plated:
        return "plated"
    ppt = case.said.fineness_ppt
    return None if ppt is None else "pure" if ppt >= _PURE_PPT else "alloy"


def _silver(case: Spoken) -> str | None:
    ppt = case.said.fineness_ppt
    return None if ppt is None else "sterling" if ppt >= _STERLING_PPT else "less"


def _platinum(case: Spoken) -> str | None:
    if case.said.plated:
        return "plated"
    ppt = case.said.fineness_ppt
    if ppt is None:
        return None
    full, least = _PLATINUM_PPT
    return "full" if ppt >= full else "numbered" if ppt >= least else "low"


def _material(case: Spoken) -> str:
    return "substitute" if case.said.material not in {None, "diamond"} else "diamond"


def _yes(value: bool) -> str:
    return "yes" if value else "no"


# What stands around a term


def _stone_beside(case: Spoken) -> str:
    pieces = (*case.back(), *case.ahead())
    itself = case.mention is not None and case.mention.term in OF_STONES
    return _yes(itself or any(piece.term in OF_STONES for piece in pieces))


def _stone_in_sentence(case: Spoken) -> str:
    part, mention = case.part, case.mention
    return _yes(
        part is not None
        and mention is not None
        and part.pieces[mention.place].sentence in part.sentences_of_stones
    )


def _karat(case: Spoken) -> str:
    """Whether a karat figure stands where it belongs beside gold, and agrees with the fineness."""
    ahead = case.part is not None and case.part.language == "fr"
    pieces = case.ahead() if ahead else case.back()
    # Color words may stand between: 14K rose gold.
    for index, piece in enumerate(pieces):
        beside = pieces[index + 1] if index + 1 < len(pieces) else None
        number, unit = (piece, beside) if ahead else (beside, piece)
        if unit is None or number is None or unit.term not in {"karat", "carat"}:
            continue
        counted = figure(number)
        if counted is not None:
            ppt, least = case.said.fineness_ppt, _LEAST_PPT.get(int(counted.value))
            wrong = ppt is not None and (least is None or ppt < least)
            return "wrong" if wrong else "beside"
    written = [figure(piece) for piece in case.beside(3)]
    if any(found is not None and found.value in _HALLMARKS for found in written):
        return "beside"
    return "none"


_HALLMARKS: Final = frozenset(map(Decimal, (375, 417, 585, 750, 916, 990, 999)))


def _number_beside(case: Spoken) -> str:
    """Whether a fineness in parts per thousand stands beside: 950 platinum."""
    found = [figure(piece) for piece in case.beside(2)]
    return _yes(any(f is not None and 500 <= f.value <= 1000 for f in found))  # noqa: PLR2004 - ppt


def _form_beside(case: Spoken) -> str:
    terms = [piece.term for piece in (*case.back(2), *case.ahead(2))]
    return "round" if "form_round" in terms else "named" if "form" in terms else "none"


def _facets_beside(case: Spoken) -> str:
    pieces = case.beside()
    if any(piece.term in {"facet", "few_facets"} for piece in pieces):
        return "yes"
    return "no"


def _decimal_beside(case: Spoken) -> str:
    part, mention = case.part, case.mention
    if part is None or mention is None:
        return "no"
    first, last = max(1, mention.place - _NEAR_WEIGHT), mention.place + _NEAR_WEIGHT
    return _yes(
        any(
            unit.term == "carat" and (weight := figure(number)) is not None and weight.decimals > 1
            for number, unit in pairwise(part.pieces[first - 1 : last])
        )
    )


def _tolerance(case: Spoken) -> str:
    """What stands with a fraction: that it is not exact, and the range it may stand for."""
    part, carat = case.part, case.said.carat
    if part is None:
        return "none"
    spread = part.spread
    if spread is not None and carat is not None and not spread[0] <= exact(carat) <= spread[1]:
        return "outside"
    given = spread is not None or any(piece.text == "\u00b1" for piece in case.beside())
    return "none" if not given else "both" if "inexact" in part.terms else "range"


def _weight(case: Spoken) -> str | None:
    mention, carat = case.mention, case.said.carat
    if carat is None or mention is None or mention.counted is None:
        return None
    if any(piece.term == "other_stones" for piece in case.beside()):
        return "other_stones"
    return fit(mention.counted.value, mention.counted.decimals, carat)


def _written(case: Spoken) -> str | None:
    mention = case.mention
    if mention is None or mention.counted is None:
        return None
    return "decimals" if mention.counted.decimals else "whole"


def _grade(case: Spoken) -> str | None:
    """Whether the grade in the text lies within the stone's."""
    mention = case.mention
    if mention is None or mention.grade is None:
        return None
    scale, stated = (
        (CLARITY, case.said.clarity) if mention.term == "clarity_grade" else (COLOR, case.said.color)
    )
    if stated is None:
        return None
    span, claim = scale.span(stated), scale.span(mention.grade)
    within = span.best <= claim.best and claim.worst <= span.worst
    around = claim.best <= span.best and span.worst <= claim.worst
    return "same" if within or around else "other"


def _fact(
    name: str, values: tuple[str, ...], read: Callable[[Spoken], str | None], about: str
) -> Fact[Spoken]:
    return Fact(name, values, lambda case: read(case) or NOT_STATED, about)


_YES_NO: Final = ("yes", "no")
_FACTS: Final[tuple[Fact[Spoken], ...]] = (
    _fact("origin", get_args(Origin), lambda c: c.said.origin, "origin"),
    _fact("material", ("diamond", "substitute"), _material, "material"),
    _fact("clarity", ("flawless", "internally_flawless", "lower"), _clarity, "clarity"),
    _fact("color", ("colorless", "white", "tinted"), _color, "color"),
    _fact("make", ("well", "less", "old"), _make, "cut_grade"),
    _fact("form", ("round", "named_form", "few_facets", "other"), _form, "shape"),
    _fact("facets", ("under_17", "under_57", "full"), _facets, "facets"),
    *(
        _fact(f"{name}_treatment" if name == "other" else name, _YES_NO, _treated(name), "treatments")
        for name in get_args(Treatment)
    ),
    _fact("treatment", ("none", "some"), _any_treatment, "treatments"),
    _fact("iso_24016", ("inside", "outside"), _in_scope, "carat"),
    _fact("cut_issuer", ("gives", "gives_none"), _cut_issuer, "report.issuer"),
    _fact("cut_grade", get_args(Finish), lambda c: c.said.cut_grade, "cut_grade"),
    _fact("report", ("given",), lambda c: "given" if c.said.report and c.said.report.issuer else None,
          "report.issuer"),
    _fact("eye_clean", ("seen", "not_clean"), _eye_clean, "observations.eye_clean"),
    _fact("gold", ("pure", "alloy", "plated"), _gold, "fineness_ppt"),
    _fact("silver", ("sterling", "less"), _silver, "fineness_ppt"),
    _fact("platinum", ("full", "numbered", "low", "plated"), _platinum, "fineness_ppt"),
    _fact("qualifier", (*QUALIFIERS, "near", "behind", "earlier", "none"), lambda c: c.qualifier, "text"),
    _fact("direct", (*QUALIFIERS, "none"), lambda c: c.direct or "none", "text"),
    _fact("natural_beside", _YES_NO,
          lambda c: _yes(any(p.term in {"real", "mined"} for p in c.back(2))), "text"),
    _fact("stone_beside", _YES_NO, _stone_beside, "text"),
    _fact("stone_in_sentence", _YES_NO, _stone_in_sentence, "text"),
    _fact("laboratory_beside", _YES_NO,
          lambda c: _yes(any(p.term == "laboratory" for p in c.beside(2))), "text"),
    _fact("karat", ("beside", "wrong", "none"), _karat, "text"),
    _fact("plated_beside", _YES_NO, lambda c: _yes(any(p.term == "plated" for p in c.beside(3))), "text"),
    _fact("number_beside", _YES_NO, _number_beside, "text"),
    _fact("form_beside", ("round", "named", "none"), _form_beside, "text"),
    _fact("facets_beside", _YES_NO, _facets_beside, "text"),
    _fact("decimal_beside", _YES_NO, _decimal_beside, "text"),
    _fact("tolerance", ("both", "range", "outside", "none"), _tolerance, "text"),
    _fact("weight", ("as_stated", "agrees", "undecidable", "differs", "other_stones"), _weight, "carat"),
    _fact("written", ("decimals", "whole"), _written, "text"),
    _fact("grade", ("same", "other"), _grade, "clarity"),
)  # fmt: skip

WORDING_FACTS: Final[dict[str, Fact[Spoken]]] = {fact.name: fact for fact in _FACTS}
