"""What words on a report mean. Reads text; never decides what follows from it."""

from collections.abc import Iterable
from typing import Final, Literal

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
