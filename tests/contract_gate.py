"""Whether a client of the last released contract can go on as before under another one.

Reads two OpenAPI 3.1 documents and names every breaking change with its kind and its place. Two rules
decide, after both documents were brought to one form:

- a request that was accepted is accepted (the new schema takes whatever the old one took);
- an answer can be read by whoever was promised the old one (what was there is there, and of no other type).

Where it cannot be decided whether a schema has become narrower (another pattern, another condition), it
counts as narrower. Each pair of shared schemas is told once, at the first place that leads to it.
As a program: `contract_gate.py RELEASED NOW` prints the breaking changes and exits 1 if there are any.
"""

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

Schema = dict[str, Any]
# Direction, and the references of two shared schemas.
Pair = tuple[str, str, str]
METHODS: Final = ("get", "put", "post", "delete", "options", "head", "patch", "trace")
# Higher is looser for the one, lower is looser for the other.
MOST: Final = ("maximum", "exclusiveMaximum", "maxLength", "maxItems", "maxProperties")
LEAST: Final = ("minimum", "exclusiveMinimum", "minLength", "minItems", "minProperties")
# Whether another value of these is narrower cannot be seen, so it counts as narrower.
OPAQUE: Final = ("pattern", "format", "multipleOf", "uniqueItems", "propertyNames", "patternProperties")
CONDITIONS: Final = ("allOf", "not", "if", "dependentRequired", "contains", "prefixItems")


@dataclass(frozen=True, slots=True, order=True)
class Breaking:
    """One change that breaks clients: what kind, and where."""

    kind: str
    place: str


@dataclass(slots=True)
class Gate:
    """Two contracts, and the pairs of shared schemas that were compared already."""

    old: dict[str, Any]
    new: dict[str, Any]
    today: date
    seen: set[Pair] = field(default_factory=set)
    inside: list[Pair] = field(default_factory=list)

    def breaking(self) -> Iterator[Breaking]:
        """Every breaking change."""
        for server in _servers(self.old) - _servers(self.new):
            yield Breaking("server_removed", server)
        for path, item in self.old["paths"].items():
            kept = self.new["paths"].get(path)
            for method in METHODS:
                if method not in item:
                    continue
                place = f"{method.upper()} {path}"
                if kept is None or method not in kept:
                    yield from self.removed(item[method], place, "path" if kept is None else "method")
                else:
                    yield from self.operation(_whole(item, method), _whole(kept, method), place)

    def removed(self, operation: Schema, place: str, what: str) -> Iterator[Breaking]:
        sunset = operation.get("x-sunset")
        if not operation.get("deprecated") or sunset is None:
            yield Breaking(f"{what}_removed", place)
        elif self.today < date.fromisoformat(sunset):
            yield Breaking("removed_before_sunset", place)

    def operation(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        if old.get("operationId") != new.get("operationId"):
            yield Breaking("operation_renamed", place)
        yield from self.security(old, new, place)
        yield from self.parameters(old, new, place)
        yield from self.body(old.get("requestBody"), new.get("requestBody"), place)
        yield from self.responses(old["responses"], new["responses"], place)

    def security(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """Each way in that was open still is: some way of now asks for no more."""
        ways = new.get("security", self.new.get("security")) or [{}]
        for way in old.get("security", self.old.get("security")) or [{}]:
            if not any(_asks_no_more(now, way) for now in ways):
                yield Breaking("security_added", place)

    def parameters(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        before, now = _parameters(self.old, old), _parameters(self.new, new)
        for key, parameter in before.items():
            at = f"{place} {key[0]} {key[1]}"
            if key not in now:
                yield Breaking("parameter_removed", at)
                continue
            if now[key].get("required") and not parameter.get("required"):
                yield Breaking("parameter_required", at)
            if any(parameter.get(name) != now[key].get(name) for name in ("style", "explode")):
                yield Breaking("parameter_style_changed", at)
            yield from self.takes(parameter["schema"], now[key]["schema"], at)
        for key in now.keys() - before.keys():
            if now[key].get("required"):
                yield Breaking("parameter_required", f"{place} {key[0]} {key[1]}")

    def body(self, old: Schema | None, new: Schema | None, place: str) -> Iterator[Breaking]:
        at = f"{place} request"
        if new is None or old is None:
            if old is not None:
                yield Breaking("request_body_removed", at)
            elif new is not None and new.get("required"):
                yield Breaking("request_body_required", at)
            return
        if new.get("required") and not old.get("required"):
            yield Breaking("request_body_required", at)
        for media_type, content in old["content"].items():
            now = new["content"].get(media_type)
            if now is None:
                yield Breaking("request_media_type_removed", f"{at} {media_type}")
                continue
            yield from self.takes(content["schema"], now["schema"], at)
            if "x-line-schema" in content:
                yield from self.takes(content["x-line-schema"], now.get("x-line-schema", {}), f"{at} line")

    def responses(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """Problem statuses may come and go: RFC 9110 (15) has clients read an unknown one by its class."""
        if {status for status in old if status[0] == "2"} != {status for status in new if status[0] == "2"}:
            yield Breaking("success_status_changed", place)
        for status in old.keys() & new.keys():
            before, now, at = old[status], new[status], f"{place} {status}"
            for media_type, content in before.get("content", {}).items():
                given = now.get("content", {}).get(media_type)
                if given is None:
                    yield Breaking("response_media_type_removed", f"{at} {media_type}")
                    continue
                yield from self.gives(content["schema"], given["schema"], at)
                if "x-line-schema" in content:
                    yield from self.gives(content["x-line-schema"], given.get("x-line-schema", {}), at)
            for name, header in before.get("headers", {}).items():
                kept = now.get("headers", {}).get(name)
                if kept is None or (header.get("required") and not kept.get("required")):
                    yield Breaking("response_header_removed", f"{at} {name}")
                else:
                    yield from self.gives(header["schema"], kept["schema"], f"{at} {name}")

    def walk(self, direction: str, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """Compares two schemas, once for each pair of shared ones; schemas may hold themselves."""
        pair = (direction, old.get("$ref", ""), new.get("$ref", ""))
        if pair in self.seen:
            return
        shared = bool(pair[1] and pair[2])
        if shared:
            self.seen.add(pair)
            self.inside.append(pair)
        yield from self.ways(direction, _plain(self.old, old), _plain(self.new, new), place)
        if shared:
            self.inside.pop()

    def ways(self, direction: str, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """The ways of a union beside each other, and what all of them share."""
        if direction == "takes" and "default" in old and old["default"] != new.get("default"):
            yield Breaking("request_default_changed", place)
        one = self.takes_one if direction == "takes" else self.gives_one
        old_ways, new_ways = old.pop("anyOf", None), new.pop("anyOf", None)
        if old_ways is None and new_ways is None:
            yield from one(old, new, place)
            return
        if (old_ways is None and "properties" in new) or (new_ways is None and "properties" in old):
            yield from one(old, new, place)
            if direction == "takes" and old_ways is None:
                yield Breaking("request_condition_changed", place)
            return
        if old_ways is not None and new_ways is not None and ("properties" in old or "properties" in new):
            yield from one(old, new, place)
            old, new = {}, {}
        old_ways = [old] if old_ways is None else [{**_without_words(old), **way} for way in old_ways]
        new_ways = [new] if new_ways is None else [{**_without_words(new), **way} for way in new_ways]
        kept, others = (old_ways, new_ways) if direction == "takes" else (new_ways, old_ways)
        lone = all(sum(one.get("type") != "null" for one in ways) == 1 for ways in (kept, others))
        for way in kept:
            pairs = [(way, other) if direction == "takes" else (other, way) for other in others]
            if all(self.apart(direction, *pair, place) for pair in pairs):
                yield from self.nearest(direction, way, pairs, place, lone=lone)

    def apart(self, direction: str, old: Schema, new: Schema, place: str) -> list[Breaking]:
        """All that differs between two ways, whether or not it was told before."""
        gate = Gate(self.old, self.new, self.today, set(self.inside), list(self.inside))
        return list(gate.walk(direction, old, new, place))

    def nearest(
        self, direction: str, way: Schema, pairs: list[tuple[Schema, Schema]], place: str, *, lone: bool
    ) -> Iterator[Breaking]:
        """What changed in one way of a union: against the way of the same name, or the way is gone.

        `lone`: but for null there is one way on either side.
        """
        takes = direction == "takes"
        if way.get("type") == "null":
            yield Breaking("request_null_refused" if takes else "response_null_added", place)
            return
        others = [pair for pair in pairs if pair[takes].get("type") != "null"]
        alike = [pair for pair in others if _name(self.old, pair[0]) == _name(self.new, pair[1])]
        if lone or len(alike) == 1:
            yield from self.apart(direction, *(others if lone else alike)[0], place)
        else:
            yield Breaking("request_branch_removed" if takes else "response_branch_added", place)

    def takes(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """What the service takes: the new schema has to take all that the old one took."""
        yield from self.walk("takes", old, new, place)

    def gives(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        """What the service gives: whoever was promised the old schema can read what the new one says."""
        yield from self.walk("gives", old, new, place)

    def takes_one(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        if not _within(old.get("type"), new.get("type")):
            yield Breaking("request_type_changed", place)
            return
        if _tighter(old, new):
            yield Breaking("request_tightened", place)
        if "enum" in new and ("enum" not in old or _words(old) - _words(new)):
            yield Breaking("request_word_removed" if "enum" in old else "request_tightened", place)
        if any(name in new and new[name] != old.get(name) for name in CONDITIONS):
            yield Breaking("request_condition_changed", place)
        yield from self.fields_taken(old, new, place)
        if "items" in new:
            yield from self.takes(old.get("items", {}), new["items"], f"{place}/-")

    def fields_taken(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        before, now = old.get("properties", {}), new.get("properties", {})
        others, rest = old.get("additionalProperties", True), new.get("additionalProperties", True)
        if rest is False and others is not False:
            yield Breaking("request_closed", place)
        elif isinstance(rest, dict) and others is not False:
            yield from self.takes(others if isinstance(others, dict) else {}, rest, f"{place}/*")
        for name in sorted(set(new.get("required", ())) - set(old.get("required", ()))):
            yield Breaking("request_field_required", f"{place}/{name}")
        for name, schema in before.items():
            if name in now:
                yield from self.takes(schema, now[name], f"{place}/{name}")
            else:
                yield Breaking("request_field_removed", f"{place}/{name}")

    def gives_one(self, old: Schema, new: Schema, place: str) -> Iterator[Breaking]:
        if not _within(new.get("type"), old.get("type")):
            yield Breaking("response_type_changed", place)
            return
        if "enum" in old and ("enum" not in new or _words(new) - _words(old)):
            yield Breaking("response_word_added", place)
        if set(old.get("x-known-values", ())) - _words(new) - set(new.get("x-known-values", ())):
            yield Breaking("response_word_removed", place)
        before, now = old.get("properties", {}), new.get("properties", {})
        for name, schema in before.items():
            at = f"{place}/{name}"
            if name not in now:
                yield Breaking("response_field_removed", at)
                continue
            if name in old.get("required", ()) and name not in new.get("required", ()):
                yield Breaking("response_field_not_required", at)
            yield from self.gives(schema, now[name], at)
        if "items" in old:
            yield from self.gives(old["items"], new.get("items", {}), f"{place}/-")
        others, rest = old.get("additionalProperties"), new.get("additionalProperties")
        if isinstance(others, dict):
            yield from self.gives(others, rest if isinstance(rest, dict) else {}, f"{place}/*")


def _servers(document: dict[str, Any]) -> set[str]:
    return {server["url"] for server in document.get("servers", ())}


def _asks_no_more(now: dict[str, list[str]], before: dict[str, list[str]]) -> bool:
    return all(name in before and set(scopes) <= set(before[name]) for name, scopes in now.items())


def _whole(item: Schema, method: str) -> Schema:
    """An operation with the parameters of its path."""
    return {**item[method], "parameters": [*item.get("parameters", ()), *item[method].get("parameters", ())]}


def _parameters(document: dict[str, Any], operation: Schema) -> dict[tuple[str, str], Schema]:
    parameters = (_resolved(document, parameter) for parameter in operation["parameters"])
    return {(parameter["in"], parameter["name"]): parameter for parameter in parameters}


def _resolved(document: dict[str, Any], part: Schema) -> Schema:
    """What a reference leads to, with what stands beside it."""
    while "$ref" in part:
        target: Any = document
        for name in part["$ref"].removeprefix("#/").split("/"):
            target = target[name]
        part = {**target, **{key: value for key, value in part.items() if key != "$ref"}}
    return part


def _plain(document: dict[str, Any], schema: Schema | bool) -> Schema:
    """One form for what can be written in many: no reference, one word for a constant, one for a union."""
    if isinstance(schema, bool):
        return {} if schema else {"not": {}}
    plain = _resolved(document, schema)
    if plain.get("format") == "binary":
        plain = {name: value for name, value in plain.items() if name != "format"}  # a hint to generators
    if "const" in plain:
        plain = {**plain, "enum": [plain["const"]]}
    if "oneOf" in plain:
        plain = {**plain, "anyOf": plain["oneOf"]}
    if "if" in plain and "else" in plain and "then" not in plain:
        plain = {**plain, "anyOf": [plain["if"], plain["else"]]}
        del plain["if"]
    if isinstance(types := plain.get("type"), list):
        plain = {**plain, "anyOf": [{"type": one} for one in types]}
        del plain["type"]
    for key in ("allOf", "anyOf"):
        if len(ways := plain.get(key, ())) == 1:
            rest = {name: value for name, value in plain.items() if name not in {key, "oneOf"}}
            return _plain(document, {**rest, **_resolved(document, ways[0])})
    if "if" in plain:
        plain = {**plain, "if": [plain["if"], plain.get("then"), plain.get("else")]}
    return dict(plain)


def _without_words(schema: Schema) -> Schema:
    """What a union says of each of its ways, less what it says of itself."""
    return {name: value for name, value in schema.items() if name not in {"title", "description", "default"}}


def _within(narrow: str | None, wide: str | None) -> bool:
    return wide is None or narrow == wide or (narrow, wide) == ("integer", "number")


def _tighter(old: Schema, new: Schema) -> bool:
    """Whether a bound has become narrower."""
    return (
        any(name in new and new[name] < old.get(name, new[name] + 1) for name in MOST)
        or any(name in new and new[name] > old.get(name, new[name] - 1) for name in LEAST)
        or any(name in new and new[name] != old.get(name) for name in OPAQUE)
    )


def _words(schema: Schema) -> set[str]:
    return {json.dumps(word) for word in schema.get("enum", ())}


def _name(document: dict[str, Any], way: Schema) -> str | None:
    """By what a way of a union is known: its title, or its type."""
    plain = _plain(document, way)
    name: str | None = plain.get("title", plain.get("type"))
    return name


def compare(old: dict[str, Any], new: dict[str, Any], today: date) -> list[Breaking]:
    """Every breaking change from the old contract to the new one, on a day (for sunsets), in order."""
    return sorted(set(Gate(old, new, today).breaking()))


def main() -> int:
    old, new = (json.loads(Path(path).read_text()) for path in sys.argv[1:3])
    found = compare(old, new, datetime.now(UTC).date())
    sys.stdout.writelines(f"{change.kind}: {change.place}\n" for change in found)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
