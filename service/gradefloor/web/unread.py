"""Long lists cut into items that are read one by one, so that a list of megabytes holds up nobody.

Only where to cut is found out here. Everything is read by `gate`, and a body about which anything is odd is
read whole, so that it is refused in the same words wherever its fault lies.
"""

from typing import Any, Final

import msgspec

from gradefloor.web import gate

_MEMBERS: Final = msgspec.json.Decoder(dict[str, msgspec.Raw])
_ITEMS: Final = msgspec.json.Decoder(list[msgspec.Raw])
# Levels of a body above an item of its list: the body and the list.
_ABOVE: Final = 2
# So many bytes tell one part of a body from others, and so many others may begin with the same ones.
_BEGINNING: Final = 64
_TRIED: Final = 4


class Unread:
    """One item of a list, as it came."""

    __slots__ = ("_body", "_text")

    def __init__(self, text: msgspec.Raw, body: bytes) -> None:
        self._text = text
        self._body = body

    @property
    def is_object(self) -> bool:
        return bytes(memoryview(self._text)[:1]) == b"{"

    def read(self) -> Any:
        """The item; a problem that refuses the whole body, if it is no JSON or a monster."""
        try:
            return gate.read_part(bytes(memoryview(self._text)), gate.MAX_DEPTH - _ABOVE)
        except gate.PartError:
            gate.read_json(self._body)  # says what is wrong, and where in the whole
            raise


def read_list(body: bytes, member: str) -> Any:
    """What `gate.read_json` gives, with the items of one list unread if it makes up most of the body."""
    try:
        text = _MEMBERS.decode(body)[member]
        items = _ITEMS.decode(text)
    except (msgspec.MsgspecError, KeyError, RecursionError, UnicodeDecodeError):
        return gate.read_json(body)
    place = _place(bytes(memoryview(text)), body)
    if place is None:
        return gate.read_json(body)
    gate.refuse_many(body)
    value = gate.read_json(body[: place.start] + b"[]" + body[place.stop :])
    value[member] = [Unread(item, body) for item in items]
    return value


def _place(part: bytes, body: bytes) -> slice | None:
    """Where this part of a body stands, if it is more than half of it: then it stands there once.

    To look for how it begins takes a fraction of looking for all of it; a body in which much begins in the
    same way is odd.
    """
    if 2 * len(part) <= len(body):
        return None
    at = -1
    for _ in range(_TRIED):
        at = body.find(part[:_BEGINNING], at + 1)
        if body.startswith(part, at):
            return slice(at, at + len(part))
    return None
