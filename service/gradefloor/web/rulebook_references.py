"""What rules of one version refer to: the words of its questions, and its sources."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from gradefloor.rules.format import RuleSet
from gradefloor.web.rulebook_words import is_stale, spaced

LANGUAGES: Final = {"en": "English", "fr": "French", "de": "German"}


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a rule comes from."""

    title: str
    href: str | None
    checked: str
    stale: bool


class References:
    """Questions and sources of one version as they stand on one day."""

    def __init__(self, rules: RuleSet, today: date) -> None:
        self.questions = {question.about: question.ask for question in rules.questions}
        self.sources = {
            source.id: Citation(
                source.title, source.href, source.checked.isoformat(), is_stale(source.checked, today)
            )
            for source in rules.sources
        }

    def question(self, about: str) -> str:
        """What is asked about a thing."""
        return self.questions.get(about, spaced(about))
