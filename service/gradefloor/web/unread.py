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
    of_the_list = bytes(memoryview(text))
    # Of something longer than half of the body there is but one, so the place that is found is its own.
    if 2 * len(of_the_list) <= len(body):
        return gate.read_json(body)
    gate.refuse_many(body)
    value = gate.read_json(body.replace(of_the_list, b"[]", 1))
    value[member] = [Unread(item, body) for item in items]
    return value
