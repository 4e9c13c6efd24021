"""What the page of one version holds: its chapters, and what stands around them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any, Final

from gradefloor.drawing.plans import DRAWN
from gradefloor.rules.catalog import Release
from gradefloor.rules.changes import Differences, differences
from gradefloor.rules.entries import Reasoned
from gradefloor.rules.format import RuleSet
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.shapes import SHAPES
from gradefloor.web import rulebook_tables as tables
from gradefloor.web.rulebook_entries import Entry, entry_of, topic_of
from gradefloor.web.rulebook_references import References
from gradefloor.web.rulebook_words import (
    SLOTS,
    any_of,
    hundredths,
    is_stale,
    place_told,
    plain_told,
    shape_title,
    shapes_named,
    slot_told,
    spaced,
    started,
)

# Title of each kind, and what a reader has to know before its rules.
_KINDS: Final = {
    "floors": (
        "Lowest grades",
        (
            "The lowest grade that is good enough: on paper, and once somebody has "
            "looked at the stone. These are floors for diamonds."
        ),
    ),
    "windows": (
        "Proportions and other measures",
        (
            "Inside comfort nothing is said. Outside it there is a "
            "note; outside what is tolerated the service asks. No stone fails by these."
        ),
    ),
    "looks": (
        "Looks",
        "Names for length to width, rounded to two decimals. A matter of taste, never a fault.",
    ),
    "guards": (
        "What is watched in a stone",
        (
            "The row that names more wins. A note never changes a "
            "verdict; ask means that somebody has to say or look; fail means not as it is."
        ),
    ),
    "pairings": (
        "What is watched in a ring",
        "The row that names more wins. What is not stated matches no range of measures.",
    ),
    "companions": (
        "Side stones",
        "Which side shapes suit which center.",
    ),
    "side_windows": (
        "Sizes of side stones",
        "How large a side stone is beside its center.",
    ),
    "styles": (
        "Settings",
        "Settings that may be recommended, and the centers that they suit best.",
    ),
    "characters": (
        "What each shape is like",
        (
            "How well it serves each taste, from \N{MINUS SIGN}3, the opposite, "
            "to +3. A shape without a character is never proposed."
        ),
    ),
    "perceptions": (
        "What an eye tells apart",
        "Smaller differences are only on paper, face up.",
    ),
    "assortments": (
        "Sizes of substitutes",
        "Sizes and classes in which a substitute is sold.",
    ),
    "clashes": (
        "Wishes that cannot both be had",
        "Each holds where everything named holds.",
    ),
    "tags": (
        "Words for the customer file",
        "Each is put on where everything named holds.",
    ),
    "merits": (
        "How stones are ranked",
        "Points by which stones are ranked against a wish.",
    ),
    "urgencies": (
        "How soon a wish is answered",
        "Each part counts 0 to 3, times its weight.",
    ),
    "lexicons": (
        "Words by which messages are read",
        "Only how many there are; the words themselves are in the data of each rule.",
    ),
    "policies": (
        "What selling copy is held to",
        (
            "A reading of published guidance, for a person to check; "
            "not legal advice. Change is said only where the text itself was read."
        ),
    ),
    "namings": (
        "What a stone is called",
        "Names by market.",
    ),
    "fillers": (
        "Words for what is not stated",
        "What stands where the stone does not say it.",
    ),
    "captions": (
        "What is written beside a stone",
        ("A text with a place for something unknown is left out."),
    ),
    "glossaries": (
        "Words to write it with",
        "Words of one language.",
    ),
    "phrasebooks": (
        "Words by which copy is read",
        "A phrase inside a longer listed one is not found by itself.",
    ),
}

# Kinds whose particulars are the rule itself; those of the others are shown on demand.
_OPEN: Final = frozenset({"looks", "clashes", "perceptions", "urgencies", "namings", "fillers"})
_SUMMARIES: Final = {
    "guards": "How it judges",
    "pairings": "How it judges",
    "policies": "What it rests on, and how it judges",
    "captions": "What is written when",
    "characters": "How to choose one",
    "floors": "Its floors",
    "windows": "Its ranges, and what is said outside them",
    "companions": "Side shapes, best first",
    "side_windows": "Its sizes",
    "styles": "Its parts",
}


@dataclass(frozen=True, slots=True)
class Chapter:
    """All rules of one kind, by topic where the kind has topics, with tables across them.

    `slots` are the places in its texts that a stone fills, each with what stands there.
    """

    id: str
    title: str
    lead: str
    tables: tuple[tables.Table, ...]
    topics: tuple[tuple[str, str, tuple[Entry, ...]], ...]
    slots: Sequence[tuple[str, str]]


def begins_told(release: Release, now: datetime) -> str | None:
    """A sentence on a version that is not in force yet, or that begins at a moment of its day."""
    if release.draft:
        return None
    day = datetime.combine(release.effective, time(), UTC)
    begins = max(day, release.activate_at or day)
    told = f"{begins.astimezone(UTC):%Y-%m-%d, %H:%M:%S} UTC" if begins > day else f"{release.effective}"
    if begins > now:
        return f"Not in force yet: until {told} it answers only to its exact version."
    return f"In force since {told}." if begins > day else None


def book_of(
    release: Release, before: Release | None, today: date, begins: str | None = None
) -> dict[str, Any]:
    """Everything that the page of one version shows; `begins` is what `begins_told` says of it."""
    rules, compiled = release.rules, release.compiled
    refer = References(rules, today)
    entries = [
        entry_of(refer, number, kind, rule) for number, (kind, rule) in enumerate(_as_printed(rules), 1)
    ]
    looks = {rule.id: rule.bands for rule in rules.looks}
    told = {
        shape: tuple((spaced(b.look), hundredths(b.from_, b.below)) for b in looks[found.look.stamp.rule])
        for shape, found in compiled.shapes.items()
        if found.look is not None
    }
    return {
        "release": release,
        "rules": rules,
        "begins": begins,
        "base": f"/v1/rulesets/{release.name}/{release.version}",
        "extends": rules.extends and rules.extends.split("@"),
        "replaced": [entry for entry in entries if entry.instead is not None],
        "chapters": [chapter for kind in _KINDS if (chapter := _chapter(kind, entries, compiled))],
        "open_kinds": _OPEN,
        "summaries": _SUMMARIES,
        "by_id": {entry.id: entry for entry in entries},
        "shapes": [tables.shape_view(compiled, shape, told.get(shape, ())) for shape in compiled.shapes],
        "figures": _figures(release, told, compiled),
        "questions": rules.questions,
        "issuers": [_issuer(issuer, refer) for issuer in rules.issuers],
        "sources": [(source, is_stale(source.checked, today)) for source in rules.sources],
        "before": before,
        "changes": None if before is None else _changes(differences(before.rules, rules)),
        "index": sorted(entries, key=lambda entry: entry.id),
    }


def _as_printed(rules: RuleSet) -> Iterator[tuple[str, Reasoned]]:
    """Every rule with its kind, in the order of the book: by chapter, and there by topic."""
    for kind in _KINDS:
        found: Sequence[Reasoned] = getattr(rules, kind)
        topics = list(dict.fromkeys(topic_of(kind, rule) for rule in found))
        for rule in sorted(found, key=lambda rule: topics.index(topic_of(kind, rule))):
            yield kind, rule


def _chapter(kind: str, entries: Sequence[Entry], rules: CompiledRules) -> Chapter | None:
    found = [entry for entry in entries if entry.kind == kind]
    if not found:
        return None
    title, lead = _KINDS[kind]
    topics: dict[str, list[Entry]] = {}
    for entry in found:
        topics.setdefault(entry.topic, []).append(entry)
    return Chapter(
        id=kind.replace("_", "-"),
        title=title,
        lead=lead,
        tables=tuple(table for table in _tables(kind, found, rules) if table is not None),
        topics=tuple(
            (f"{kind}-{topic}" if topic else "", topic.capitalize(), tuple(of_topic))
            for topic, of_topic in topics.items()
        ),
        slots=[
            (slot_told(slot), meaning)
            for slot, (_, meaning) in SLOTS.items()
            if any(slot in entry.slots for entry in found)
        ],
    )


def _tables(kind: str, entries: Sequence[Entry], rules: CompiledRules) -> Iterator[tables.Table | None]:
    centers = [name for name, shape in SHAPES.items() if shape.role == "center"]
    others = [name for name in SHAPES if name not in centers]
    if kind == "floors":
        yield tables.floors_table(rules, centers, "Center shapes: lowest grades by weight")
        yield tables.floors_table(rules, others, "Side shapes and single cuts: lowest grades by weight")
    elif kind == "windows":
        yield tables.windows_table(rules, centers, "Center shapes: comfort, and what is tolerated")
        yield tables.windows_table(
            rules, others, "Side shapes and single cuts: comfort, and what is tolerated"
        )
    elif kind == "companions":
        yield tables.companions_table(rules)
    elif kind == "styles":
        yield tables.styles_table(rules)
    elif kind == "characters":
        yield tables.characters_table(rules)
    elif kind == "policies":
        yield tables.policies_table(rules, [entry.id for entry in entries])


def _figures(
    release: Release, told: dict[str, tuple[tuple[str, str], ...]], rules: CompiledRules
) -> dict[str, list[tuple[str, str, str]]]:
    """Drawn scales by the rule of looks: shape, address, and the same in words; none without an outline."""
    found: dict[str, list[tuple[str, str, str]]] = {}
    for shape, bands in told.items():
        look = rules.shapes[shape].look
        if look is not None and SHAPES[shape].role == "center" and shape in DRAWN:
            words = ", ".join(f"{name} {span}" for name, span in bands)
            address = f"/v1/drawings/ratios/{shape}.svg?ruleset={release.name}@{release.version}"
            alt = f"Drawn scale of length to width, {shape_title(shape)}: {words}"
            found.setdefault(look.stamp.rule, []).append((started(shape_title(shape)), address, alt))
    return found


def _issuer(issuer: Any, refer: References) -> dict[str, Any]:
    offsets = [
        f"Its {grade} is read {o.at_least} to {o.at_most} grades lower."
        for grade, o in (("color", issuer.color_offset), ("clarity", issuer.clarity_offset))
        if o is not None
    ]
    until = issuer.laboratory_grown_letters_until
    grown = [f"From {until} its reports on laboratory-grown diamonds have no letter grades."] if until else []
    return {
        "name": issuer.name,
        "aliases": any_of(issuer.aliases, "and"),
        "says": [
            f"It states a cut grade for: {shapes_named(issuer.cut_grade_shapes) or 'no shape'}.",
            *grown,
            *offsets,
        ],
        "source": refer.sources[issuer.source],
    }  # fmt: skip


def _changes(found: Differences) -> dict[str, Any]:
    def told(parts: Any, kind: str = "") -> list[tuple[str, str, str]]:
        return [(place_told(p["at"], kind), plain_told(p["before"]), plain_told(p["after"])) for p in parts]

    kinds = {kind: title for kind, (title, _) in _KINDS.items()}
    return {
        "added": [(r["rule"], kinds[r["kind"]], r["title"]) for r in found["added"]],
        "removed": [(r["rule"], kinds[r["kind"]], r["title"]) for r in found["removed"]],
        "altered": [
            (r["rule"], kinds[r["kind"]], r["title"], told(r["parts"], r["kind"])) for r in found["altered"]
        ],
        "around": told(found["around"]),
    }
