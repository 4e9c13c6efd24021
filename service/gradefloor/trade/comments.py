"""What comment lines of a report mean. Reads text; never decides what follows from it."""

from collections.abc import Iterable
from typing import Final, Literal, NamedTuple

from gradefloor.trade.cells import Cell, Remark, clean, is_blank, key

CommentEffect = Literal[
    "clouds_set_grade", "additional_clouds", "graining", "surface_reaching", "treatment", "angles",
    "nothing", "unread",
]  # fmt: skip

# Comment lines and what they amount to: from memory, wording not verified against any laboratory.
# The first row whose words all occur in the line is taken, so the narrower rows come first.
_COMMENTS: Final[tuple[tuple[tuple[str, ...], CommentEffect], ...]] = (
    (("additional", "not shown"), "additional_clouds"),
    (("clouds", "not shown"), "clouds_set_grade"),
    (("cloud", "not shown"), "clouds_set_grade"),
    (("graining",), "graining"),
    (("minor details of polish",), "nothing"),
    (("pinpoints", "not shown"), "nothing"),
    (("surface", "reaching"), "surface_reaching"),
    (("cavity",), "surface_reaching"),
    (("chip",), "surface_reaching"),
    (("untreated",), "nothing"),
    (("not treated",), "nothing"),
    (("hpht", "growth"), "nothing"),  # how a laboratory-grown diamond came to be, not what was done to it
    (("clarity enhanced",), "treatment"),
    (("clarity-enhanced",), "treatment"),
    (("fracture filled",), "treatment"),
    (("laser drill",), "treatment"),
    (("hpht",), "treatment"),
    (("irradiat",), "treatment"),
    (("artificial",), "treatment"),
    (("treated",), "treatment"),
    (("angles", "greater"), "angles"),
    (("laser inscription",), "nothing"),
    (("inscription",), "nothing"),
)

# What a line that tells of a treatment names; without a name here it is some other treatment.
_NAMED: Final = (
    ("fracture filled", "fracture_filled"),
    ("laser drill", "laser_drilled"),
    ("hpht", "hpht"),
    ("irradiat", "irradiated"),
    ("anneal", "annealed"),
    ("coated", "coated"),
)
_GROWN: Final = (
    "laboratory-grown", "laboratory grown", "lab-grown", "lab grown", "cvd", "hpht growth", "as grown",
    "as-grown", "synthetic diamond",
)  # fmt: skip

# A line that denies something names the very thing that it denies; only a person reads it safely.
_DENIALS: Final = frozenset({"no", "without", "neither", "nor"})


def comment_effect(line: str) -> CommentEffect:
    """What one comment line amounts to; `unread` if none of the known wordings occurs in it."""
    words = line.casefold().split()
    if not _DENIALS.isdisjoint(words):
        return "unread"
    text = " ".join(words)
    return next((effect for parts, effect in _COMMENTS if all(part in text for part in parts)), "unread")


def comment_effects(lines: Iterable[str]) -> frozenset[CommentEffect]:
    """The effects of all comment lines together."""
    return frozenset(comment_effect(line) for line in lines)


def treatments_named(line: str) -> tuple[str, ...]:
    """The treatments of which one line tells, in the order of the table; none if it tells of no treatment.

    `HPHT` can be growth or treatment: beside a word for growth it is growth, and no treatment.
    """
    if comment_effect(line) != "treatment":
        return ()
    text = " ".join(line.casefold().split())
    return tuple(treatment for words, treatment in _NAMED if words in text) or ("other",)


def tells_grown(line: str) -> bool:
    """Whether a line says that the stone was grown in a laboratory."""
    words = line.casefold().split()
    text = " ".join(words)
    return _DENIALS.isdisjoint(words) and "not" not in words and any(word in text for word in _GROWN)


_LINES: Final = 20
_LENGTH: Final = 300


def comment_lines(value: object) -> list[str]:
    """The lines of a comment cell, or of a list of comments: parted at line ends, `;`, `|` and sentences."""
    texts = value if isinstance(value, (list, tuple)) else (value,)
    found = list[str]()
    for text in texts[:200]:
        if not isinstance(text, str):
            continue
        # Cleaned first, because a folded form may be one of the marks at which lines part.
        for row in text[:20_000].splitlines():
            for piece in clean(row).replace(";", "|").split("|"):
                for sentence in piece.replace(". ", ".|").split("|"):
                    rest = sentence.strip()
                    while rest:
                        found.append(rest[:_LENGTH].strip())
                        rest = rest[_LENGTH:].strip()
    return found


def fitting(lines: list[str]) -> list[str]:
    """As many lines as a stone can carry."""
    return lines[:_LINES]


class Comments(NamedTuple):
    """What a cell of comments says: as many lines as fit, and of all of them what they tell.

    `grown` is the first line that says that the stone was grown; `treated` are those that tell of treatments.
    """

    lines: list[str]
    remarks: tuple[Remark, ...] = ()
    grown: str | None = None
    treated: tuple[tuple[str, tuple[str, ...]], ...] = ()


def comments(seen: Cell) -> Comments:
    lines = [] if is_blank(seen) or key(seen.text) == "NONE" else comment_lines(seen.value)
    if not lines:
        return Comments([], (seen.remark("not_stated"),))
    kept = fitting(lines)
    told = () if len(kept) == len(lines) else (seen.remark("unreadable", f"the first {len(kept)} lines"),)
    named = ((line, treatments_named(line)) for line in lines)
    treated = tuple((line, names) for line, names in named if names)
    return Comments(kept, told, next(filter(tells_grown, lines), None), treated)
