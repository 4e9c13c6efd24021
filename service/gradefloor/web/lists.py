"""Lists of stones in a request: read one by one, so that a faulty one never spoils the others."""

from collections.abc import AsyncIterator
from typing import Any, Final, TypeVar

from pydantic import BaseModel

from gradefloor.web import gate
from gradefloor.web.load import Turn
from gradefloor.web.problems import ProblemError
from gradefloor.web.unread import Unread

# Stones in one list, where each is only judged.
MAX_STONES: Final = 10_000
# Problems of a list that are told with all their places and hints; nobody reads more of the same.
TOLD_IN_FULL: Final = 100

M = TypeVar("M", bound=BaseModel)


async def read_each(
    model: type[M], items: list[Any], member: str
) -> AsyncIterator[tuple[int, M | ProblemError]]:
    """Each item as a model, or its problem, in order; whatever is no object at all refuses the whole list."""
    strangers = [
        index
        for index, item in enumerate(items)
        if not (item.is_object if isinstance(item, Unread) else isinstance(item, dict))
    ]
    if strangers:
        allowed = "an object"
        raise ProblemError(
            "request_invalid",
            [{"pointer": f"/{member}/{i}", "found": "no object", "allowed": allowed} for i in strangers],
        )
    problems, turn = 0, Turn()
    for index, item in enumerate(items):
        if turn.over:
            await turn.next()
        value = item.read() if isinstance(item, Unread) else item
        try:
            read = gate.validate(model, value, prefix=f"/{member}/{index}", brief=problems >= TOLD_IN_FULL)
        except ProblemError as error:
            problems += 1
            yield index, error
        else:
            yield index, read
