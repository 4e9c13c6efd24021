"""Grades in a message: they are the same in every language, so no lexicon is needed."""

import re
from collections.abc import Iterator
from typing import Final

from gradefloor.judge.message_findings import Open, Read, stays_open
from gradefloor.judge.pieces import Span
from gradefloor.trade.grades import CLARITY, COLOR, Scale

# In capitals where the letters are words otherwise; one grade, or a range of two.
_GRADE: Final = r"(?:FL|IF|I[123]|(?i:vvs|vs|si)[ -]?[12])"
_CLARITY: Final = re.compile(rf"(?<![\w-])({_GRADE})(?:\s?[-/–]\s?({_GRADE}))?(?!\w)")
# A letter is a color only beside a grade: alone it may be anything.
_LETTERS: Final = r"([D-M])(?:\s?[-/–]\s?([D-M]))?"
_BEFORE: Final = re.compile(rf"(?<![\w'’-]){_LETTERS}[\s,/]{{1,2}}$")
_AFTER: Final = re.compile(rf"^[\s,/]{{1,2}}{_LETTERS}(?![\w'’-])")
_REACH: Final = 8  # characters that a letter and what parts it from the grade may take


def read_grades(text: str) -> tuple[list[Read], list[Open]]:
    """Color and clarity that are named; of a range the lower end, since nothing lower will do."""
    clarity, color = list[tuple[str, Span]](), list[tuple[str, Span]]()
    for match in _CLARITY.finditer(text):
        clarity.append((_lower(CLARITY, *match.groups()), match.span()))
        color += _beside(text, match)
    reads, left = list[Read](), list[Open]()
    for field, found in (("color", color), ("clarity", clarity)):
        spans = tuple(span for _, span in found)
        if len({grade for grade, _ in found}) == 1:
            reads.append(Read(field, found[0][0], spans))
        elif found:
            left.append(stays_open(field, "more_than_one", *spans))
    return reads, left


def _beside(text: str, grade: re.Match[str]) -> Iterator[tuple[str, Span]]:
    start, end = grade.span()
    near = max(0, start - _REACH)
    if (before := _BEFORE.search(text[near:start])) is not None:
        yield _lower(COLOR, *before.groups()), (near + before.start(), start)
    elif (after := _AFTER.search(text[end : end + _REACH])) is not None:
        yield _lower(COLOR, *after.groups()), (end, end + after.end())


def _lower(scale: Scale, one: str, other: str | None) -> str:
    """The lower of one or two grades, as the scale writes it."""
    written = [re.sub(r"[ -]", "", grade).upper() for grade in (one, other) if grade is not None]
    return max(written, key=scale.rank)
