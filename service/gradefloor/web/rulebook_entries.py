"""One rule as the rule book tells it: reason, source, how far views differ, and what its own kind says."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from gradefloor.rules.advice_format import Assortment, Character, Clash, Merit, Perception, Sign, Tag, Urgency
from gradefloor.rules.entries import Reasoned, Rule
from gradefloor.rules.format import Floor, Guard, Look, RuleSet, Window, WindowSide
from gradefloor.rules.lexicon_format import LEXICON_FIELDS, Lexicon
from gradefloor.rules.listing_format import Caption, Glossary
from gradefloor.rules.measures import MEASURES
from gradefloor.rules.ring_format import Companions, Pairing, SideWindow, Style
from gradefloor.rules.wording_format import Filler, Naming, Phrasebook, Policy, Provision
from gradefloor.web.rulebook_blocks import (
    Block,
    Grid,
    Line,
    Lines,
    Row,
    Verdicts,
    Words,
    joined,
    lines,
    present,
)
from gradefloor.web.rulebook_words import (
    DISAGREEMENT,
    VERDICTS,
    any_of,
    between_told,
    conditions,
    fact_title,
    head_told,
    hundredths,
    is_stale,
    range_told,
    shape_title,
    shapes_named,
    spaced,
    term_told,
    values_told,
)

LANGUAGES: Final = {"en": "English", "fr": "French", "de": "German"}
MARKETS: Final = {
    "US": "United States", "UK": "United Kingdom", "EU": "European Union", "FR": "France", "IN": "India",
    "CA": "Canada", "ISO": "International standard",
}  # fmt: skip
KNOWN_FROM: Final = {
    "text": "the text was read",
    "report": "an account of it was read",
    "memory": "from memory",
}


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a rule comes from."""

    title: str
    href: str | None
    checked: str
    stale: bool


@dataclass(frozen=True, slots=True)
class Entry:
    """One rule. `number` is its place in this book, by which tables on paper point to it."""

    number: int
    id: str
    kind: str
    topic: str
    title: str
    because: str
    instead: str | None
    source: Citation
    disagreement: str
    level: str
    blocks: tuple[Block, ...]


class Teller:
    """Tells rules of one version on one day."""

    def __init__(self, rules: RuleSet, today: date) -> None:
        self.questions = {question.about: question.ask for question in rules.questions}
        self.sources = {
            source.id: Citation(
                source.title, source.href, source.checked.isoformat(), is_stale(source.checked, today)
            )
            for source in rules.sources
        }

    def entry(self, number: int, kind: str, rule: Reasoned) -> Entry:
        blocks = list(_TELLERS[kind](self, rule))
        if isinstance(rule, Rule):
            blocks.insert(0, Lines((("Speaks of", (shapes_named(rule.shapes),)),)))
        return Entry(
            number=number,
            id=rule.id,
            kind=kind,
            topic=getattr(rule, "topic", ""),
            title=rule.title,
            because=rule.because,
            instead=rule.instead_because,
            source=self.sources[rule.source],
            disagreement=DISAGREEMENT[rule.disagreement],
            level=rule.disagreement,
            blocks=tuple(joined(blocks)),
        )

    def question(self, about: str) -> str:
        return self.questions.get(about, spaced(about))

    # Stones

    def floor(self, floor: Floor) -> Iterator[Block]:
        limits = [
            ("For", _scope(floor.positions, floor.origins)),
            ("Heads", () if floor.tones is None else (any_of(map(head_told, floor.tones)),)),
        ]
        yield lines(limits)
        yield Grid(
            f"Lowest {floor.grade}",
            ("Weight", "On paper", "Once seen"),
            tuple(
                (hundredths(b.carat.from_, b.carat.below, " ct"), b.on_paper, b.if_seen or b.on_paper)
                for b in floor.bands
            ),
        )

    def window(self, window: Window) -> Iterator[Block]:
        unit = MEASURES[window.measure].unit
        yield lines([
            ("Measures", (MEASURES[window.measure].title,)),
            ("Materials", () if window.materials is None else (values_told(window.materials),)),
            ("Comfort", (between_told(window.comfort, unit),)),
            ("Tolerated", (between_told(window.tolerated, unit),)),
            ("Lower", self.side(window.low)),
            ("Higher", self.side(window.high)),
        ])  # fmt: skip

    def side(self, side: WindowSide) -> tuple[str, ...]:
        settled = (
            f"No question where {fact_title(name)} is {values_told(values)}."
            for name, values in (side.settled_by or {}).items()
        )
        return (side.says, f"Beyond the tolerated range it asks: {self.question(side.ask)}", *settled)

    @staticmethod
    def look(look: Look) -> Iterator[Block]:
        bands = tuple((spaced(band.look), hundredths(band.from_, band.below)) for band in look.bands)
        yield Grid("Looks", ("Look", "Length to width"), bands)

    def guard(self, guard: Guard) -> Iterator[Block]:
        yield lines([
            ("For", _scope(guard.positions, None)),
            ("Materials", () if guard.materials is None else (values_told(guard.materials),)),
            ("Only where", () if guard.ratio is None else (f"length to width {range_told(guard.ratio)}",)),
            *self.passes(guard.threshold, guard.remedied_by),
        ])  # fmt: skip
        yield self.verdicts([(row.when, None, row) for row in guard.rows])

    def pairing(self, pairing: Pairing) -> Iterator[Block]:
        yield lines([
            ("Center of", () if pairing.materials is None else (values_told(pairing.materials),)),
            *self.passes(pairing.threshold, pairing.remedied_by),
        ])  # fmt: skip
        yield self.verdicts([(row.when, row.measured, row) for row in pairing.rows])

    @staticmethod
    def passes(threshold: str | None, remedied_by: Sequence[str]) -> list[Line]:
        return [
            ("Passes", () if threshold is None else (threshold,)),
            ("Can be turned by", (any_of(map(term_told, remedied_by), "or"),) if remedied_by else ()),
        ]

    def verdicts(self, rows: Sequence[tuple[Mapping[str, Any], Mapping[str, Any] | None, Any]]) -> Verdicts:
        """The row that names more wins, so those come first and what holds otherwise comes last."""
        told = sorted(rows, key=lambda row: -len(row[0]) - len(row[1] or ()))
        return Verdicts(
            tuple(
                Row(
                    tuple(conditions(when, measured)),
                    row.verdict,
                    VERDICTS.get(row.verdict, row.verdict),
                    present([
                        ("", (row.says,) if row.says else ()),
                        ("Remedy", (row.remedy,) if row.remedy else ()),
                        ("Asks", (self.question(row.ask),) if row.ask else ()),
                    ]),
                )
                for when, measured, row in told
            )
        )  # fmt: skip

    # Rings

    def companions(self, rule: Companions) -> Iterator[Block]:
        yield lines([
            ("Best first", (", ".join(map(shape_title, rule.best)),)),
            *((
                ("A matter of taste" if clash.verdict == "note" else "Seldom right"),
                (f"{any_of(map(shape_title, clash.side_shapes), 'and')}: {clash.says}",),
            ) for clash in rule.clashes),
            ("Asks", (self.question(rule.ask),) if any(c.verdict == "ask" for c in rule.clashes) else ()),
        ])  # fmt: skip

    def side_window(self, rule: SideWindow) -> Iterator[Block]:
        extent = f" % of the center's extent {rule.of} the finger"
        yield lines([
            ("Length looks best at", (f"{rule.comfort.write()}{extent}",)),
            ("Tolerated", (f"{rule.tolerated.write()}{extent}",)),
            ("Shorter", (rule.says_low,)),
            ("Longer", (rule.says_high,)),
            ("Reach away from the center", (f"{rule.reach.write()} % of its own length",)),
            ("Usual depth", (f"{rule.depth_pct} % of its narrower measure",)),
            ("Beyond, it asks", (self.question(rule.ask),)),
        ])  # fmt: skip

    @staticmethod
    def style(style: Style) -> Iterator[Block]:
        setting = style.setting
        yield lines([
            ("Name", (spaced(style.name),)),
            ("Head", (values_told(setting.heads),)),
            ("Shank", (spaced(setting.shank),)),
            ("Halo", () if setting.halo == "none" else (setting.halo,)),
            ("Shoulders", () if setting.shoulders is None else (setting.shoulders,)),
            ("Center lies", () if setting.orientation is None else (f"{setting.orientation} the finger",)),
            ("Other centers", (style.elsewhere,)),
        ])  # fmt: skip

    # Advice

    @staticmethod
    def character(rule: Character) -> Iterator[Block]:
        spare = rule.spare
        yield lines([
            ("Looks to choose", (any_of(map(spaced, rule.looks)),)),
            ("Wanted long", (any_of(map(spaced, rule.long_looks)),) if rule.long_looks else ()),
            ("Wanted broad", (any_of(map(spaced, rule.broad_looks)),) if rule.broad_looks else ()),
            ("Money to spare", () if spare is None else (
                f"It forgives {spare.forgives}; spend on {spare.spend_on}. {spare.says}",
            )),
            ("May be given up, the first first", tuple(
                f"{spaced(g.what).capitalize()}: {g.says}" for g in rule.give_up_first
            )),
            ("Never given up", tuple(rule.never)),
        ])  # fmt: skip

    @staticmethod
    def perception(rule: Perception) -> Iterator[Block]:
        warm = rule.warm_head_adds
        yield lines([
            ("Color letters that can be seen apart", (
                f"{rule.color_letters} or more"
                + (f", in a yellow or rose head {rule.color_letters + warm}" if warm else ""),
            )),
            ("Clarity grades", (f"{rule.clarity_grades} or more, one of them not safely clean to the eye",)),
            ("Area, face up", (f"{rule.area_pct} % or more",)),
            ("Length to width", (f"{rule.ratio} or more",)),
        ])  # fmt: skip

    @staticmethod
    def assortment(rule: Assortment) -> Iterator[Block]:
        yield lines([
            ("Materials", (values_told(rule.materials),)),
            ("Sizes", (", ".join(f"{long} × {wide} mm" for long, wide in rule.sizes_mm),)),
            ("Color classes, the whitest first", (", ".join(map(spaced, rule.color_classes)),)),
        ])  # fmt: skip

    @staticmethod
    def clash(rule: Clash) -> Iterator[Block]:
        yield lines([
            ("Holds where", _sign(rule)), ("Says", (rule.says,)), ("Ways out", tuple(rule.ways_out)),
        ])  # fmt: skip

    @staticmethod
    def tag(rule: Tag) -> Iterator[Block]:
        yield lines([
            ("Word", (spaced(rule.tag),)),
            ("Holds where", _sign(rule)),
            ("Stands in the way", (f"{rule.severity} of 3",)),
            ("Refer to", (rule.refer,) if rule.refer else ()),
        ])  # fmt: skip

    @staticmethod
    def merit(rule: Merit) -> Iterator[Block]:
        more = f"more where {rule.priority} is a priority of the wish"
        yield lines([
            ("Counts", (spaced(rule.merit),)),
            ("Points for a full hit", (f"{rule.points}",)),
            ("Counts", (more,) if rule.priority else ()),
        ])  # fmt: skip

    @staticmethod
    def urgency(rule: Urgency) -> Iterator[Block]:
        yield Grid(
            "What counts",
            ("Part", "1", "2", "3", "Weight"),
            (
                ("Deadline, days left under", *map(str, rule.deadline_days), _weight(rule, "deadline")),
                ("Value, amount from", *map(str, rule.amounts), _weight(rule, "value")),
                (
                    "Share of the wish that is known, about",
                    "a third",
                    "two thirds",
                    "all",
                    _weight(rule, "completeness"),
                ),
                ("Worst of its words, of 3", "1", "2", "3", _weight(rule, "severity")),
            ),
        )
        yield lines([
            ("High", (f"from a sum of {rule.high_from}",)),
            ("Medium", (f"from a sum of {rule.medium_from}",)),
        ])  # fmt: skip

    @staticmethod
    def lexicon(rule: Lexicon) -> Iterator[Block]:
        """Counts only: the words are data for reading messages, not judgement."""
        count = sum(map(len, rule.words.values()))
        yield lines([
            ("Language", (LANGUAGES.get(rule.language, rule.language),)),
            ("About", (LEXICON_FIELDS[rule.field].about.replace("`", ""),)),
            ("Words", (f"{count} for {len(rule.words)} meanings",)),
        ])  # fmt: skip

    # Wording

    @staticmethod
    def phrasebook(rule: Phrasebook) -> Iterator[Block]:
        yield lines([("Language", (LANGUAGES[rule.language],))])
        yield _words("terms and their words", rule.terms)

    def policy(self, rule: Policy) -> Iterator[Block]:
        yield lines([
            ("Speaks of", (any_of(map(spaced, rule.speaks_of)),) if rule.speaks_of else ()),
            ("One of these has to be said", (
                (any_of(map(spaced, rule.requires)),) if rule.requires else ()
            )),
        ])  # fmt: skip
        yield Grid(
            "What it rests on",
            ("Market", "Place", "Source", "How it is known"),
            tuple(self.provision(rule, provision) for provision in rule.provisions),
        )
        told = sorted(rule.rows, key=lambda row: -len(row.when))
        yield Verdicts(
            tuple(
                Row(
                    tuple(conditions(row.when)),
                    row.verdict,
                    row.verdict,
                    present([
                        ("", (row.says,) if row.says else ()),
                        *(
                            (f"Would do, in {LANGUAGES[language]}", (text,))
                            for language, text in (row.instead or {}).items()
                        ),
                    ]),
                )
                for row in told
            )
        )  # fmt: skip

    def provision(self, rule: Policy, provision: Provision) -> tuple[str, ...]:
        markets = [MARKETS[market] for market in provision.markets or ()]
        source = self.sources[provision.source or rule.source]
        since = f", from {provision.from_}" if provision.from_ else ""
        until = f", until {provision.until}" if provision.until else ""
        return (
            any_of(markets, "and") or "Every other market",
            provision.section,
            f"{source.title}; checked {source.checked}",
            f"{KNOWN_FROM[provision.known_from]}{since}{until}",
        )

    @staticmethod
    def naming(rule: Naming) -> Iterator[Block]:
        yield lines([("Markets", (any_of((MARKETS[market] for market in rule.markets), "and"),))])
        yield _by_language("What it is called", "Stone", rule.names)

    @staticmethod
    def filler(rule: Filler) -> Iterator[Block]:
        yield lines([
            ("Language", (LANGUAGES[rule.language],)),
            *((spaced(slot).capitalize(), (text,)) for slot, text in rule.slots.items()),
        ])  # fmt: skip

    @staticmethod
    def caption(rule: Caption) -> Iterator[Block]:
        rows = []
        for row in sorted(rule.rows, key=lambda row: -len(row.when)):
            said: list[Line] = []
            if row.label is not None:
                said += _texts(f"Label, {row.label.tone}", row.label.text)
            for name in ("opening", "short", "long", "caution"):
                said += _texts(name.capitalize(), getattr(row, name) or {})
            written = "written" if said else "nothing"
            rows.append(Row(tuple(conditions(row.when)), written, written, tuple(said)))
        yield lines([("About", (spaced(rule.about),))])
        yield Verdicts(tuple(rows), "Text")

    @staticmethod
    def glossary(rule: Glossary) -> Iterator[Block]:
        yield lines([("Language", (LANGUAGES[rule.language],))])
        for name in ("shapes", "looks", "treatments", "cuts", "styles", "questions"):
            words = {word: [text] for word, text in getattr(rule, name).items()}
            yield _words(f"{name}", words)


_TELLERS: Final[dict[str, Callable[[Teller, Any], Iterable[Block]]]] = {
    "floors": Teller.floor,
    "windows": Teller.window,
    "looks": lambda _, rule: Teller.look(rule),
    "guards": Teller.guard,
    "pairings": Teller.pairing,
    "companions": Teller.companions,
    "side_windows": Teller.side_window,
    "styles": lambda _, rule: Teller.style(rule),
    "characters": lambda _, rule: Teller.character(rule),
    "perceptions": lambda _, rule: Teller.perception(rule),
    "assortments": lambda _, rule: Teller.assortment(rule),
    "clashes": lambda _, rule: Teller.clash(rule),
    "tags": lambda _, rule: Teller.tag(rule),
    "merits": lambda _, rule: Teller.merit(rule),
    "urgencies": lambda _, rule: Teller.urgency(rule),
    "lexicons": lambda _, rule: Teller.lexicon(rule),
    "captions": lambda _, rule: Teller.caption(rule),
    "glossaries": lambda _, rule: Teller.glossary(rule),
    "phrasebooks": lambda _, rule: Teller.phrasebook(rule),
    "policies": Teller.policy,
    "namings": lambda _, rule: Teller.naming(rule),
    "fillers": lambda _, rule: Teller.filler(rule),
}


def _scope(positions: Sequence[str] | None, origins: Sequence[str] | None) -> tuple[str, ...]:
    """Places in the jewel and origins, where a rule names them."""
    places = {"center": "center stones", "side": "side stones", "melee": "melee"}
    where = any_of((places[position] for position in positions or ()), "and")
    origin = any_of(map(spaced, origins or ()))
    return (", ".join(filter(None, (where, origin))),) if where or origin else ()


def _sign(rule: Sign) -> tuple[str, ...]:
    return tuple(conditions(rule.when, rule.measured))


def _weight(rule: Urgency, part: Any) -> str:
    return f"× {rule.weights.get(part, 0)}"


def _words(summary: str, terms: Mapping[str, Sequence[str]]) -> Words:
    count = len(terms)
    told = tuple((spaced(term), (", ".join(phrases),)) for term, phrases in terms.items())
    return Words(f"{count} {summary}", told)


def _texts(name: str, texts: Mapping[Any, str]) -> list[Line]:
    return [(f"{name}, {LANGUAGES[language]}", (text,)) for language, text in texts.items()]


def _by_language(caption: str, head: str, names: Mapping[Any, Mapping[Any, str]]) -> Grid:
    languages = list(dict.fromkeys(language for texts in names.values() for language in texts))
    return Grid(
        caption,
        (head, *(LANGUAGES[language] for language in languages)),
        tuple(
            (spaced(name).capitalize(), *(texts.get(language, "–") for language in languages))
            for name, texts in names.items()
        ),
    )
