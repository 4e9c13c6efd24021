"""What a row of a rule may name: a thing with finitely many values, so that all of them can be walked."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from gradefloor.rules.findings import Changed

C = TypeVar("C")

NOT_STATED: Final = "not_stated"


@dataclass(frozen=True, slots=True)
class Fact(Generic[C]):
    """One thing a rule may ask about, read from a request of one kind.

    `about` names the place in a request that states it. `of_the_setting`: absent, it is never read as a
    particular value; where it would change the verdict, the answer asks. `ordered`: its values lie on a
    scale, so a neighbour is the smaller change. `quote` gives the caller's own word to repeat.
    `title` stands before the value in an answer; empty where the value speaks for itself.
    `told` is false where the value would tell a reader nothing. `settable` gives what to put into the
    request for a value; without it, no value can be put there. `reach` gives the members to set where
    `about` alone does not lead to them.
    """

    name: str
    values: tuple[str, ...]
    read: Callable[[C], str]
    about: str
    of_the_setting: bool = False
    ordered: bool = False
    quote: Callable[[C], str | None] | None = None
    title: str | None = None
    told: bool = True
    settable: Callable[[str], str | bool | list[str]] | None = None
    reach: Callable[[C, str], list[Changed]] | None = None

    def tell(self, value: str) -> str:
        title = self.name if self.title is None else self.title
        return f"{title} {value}".strip().replace("_", " ")

    def changes(self, request: C, value: str) -> list[Changed]:
        """What to put into this request so that the fact has this value."""
        if value != NOT_STATED and self.reach is not None:
            return self.reach(request, value)
        settable = None if value == NOT_STATED else self.settable
        return [{"field": self.about, "value": settable and settable(value)}]

    @property
    def domain(self) -> tuple[str, ...]:
        return (*self.values, NOT_STATED)
