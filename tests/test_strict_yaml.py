"""Rule files are read without surprises: what other readers silently re-type is refused, with its line.

Invariants:
1. reading never raises, whatever the bytes;
2. what is refused says in which line of the file;
3. a file cut short anywhere is refused;
4. plain data that is written out as quoted text and plain numbers is read back unchanged.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.rules.strict_yaml import MAX_BYTES, Document, Plain, read

END = "...\n"


def reading(text: str) -> Document:
    return read(f"{text}\n{END}".encode(), "file.yaml")


# Value after `x: ` on line 2. Public bug reports against YAML loaders: PyYAML 61, 182 and 90 from ratios,
# NO as false, 1.10 as 1.1, 1_35 as 135, 010 as 8, a silent cut before #.
REFUSED_VALUES = [
    *("1:1", "3:2", "1:30", "1:1.5", "1.5:1", "1.35:1.0"),
    *("NO", "N", "Y", "yes", "Yes", "on", "off", "no", "None", "none", "null", "Null", "~", "True", "FALSE"),
    *("1.10.0", "2026-01", "2026-01-01", "2026-01-01T00:00:00Z", "12:30:45"),
    *("010", "08", "0o10", "1_35", "1e3", "12e4", "1.5e3", "0b101", "0x1F", "+1", ".5", "1.", "-.5"),
    *(".inf", "-.inf", ".nan", ".NaN", "nan", "inf", "9" * 10_000, "-", "=", "<<", "?", "*", "%x"),
    *("", "AB #12", "1 # one", "ratio: 1.5", "-5,0", "- 1", "@x", "`x`"),
    *("&a 1", "*a", "!!str 1", "!x 1", "!!python/object:os.system x", "! 1", "{a: &b 1}", "[*c]"),
    *("[NO]", "[1:1]", "{a: 010}", "{NO: 1}", "{1: 2}", "{1: 2, 1.0: 3, true: 4}", "{a: 1, a: 2}"),
    *("{a, b}", "{[a]: 1}", "{? a : 1, ? a : 2}"),
    *('"\\ud800"', '"\\x00"', '"\\u200b"', '"\\u2028"', '"\\e"', '"\\ufeff"', "[1", "{a: 1", '"a'),
    *("a\u00a0b", "a\u200bb", "a\u2028b", "a\u3000b", "a\tb", "a\x07b"),
    *("a\u202eb", "\ufeffa", "a\x85b", "a\u00adb", "\u201ca\u201d"),
]  # fmt: skip


@pytest.mark.parametrize("value", REFUSED_VALUES, ids=lambda value: ascii(value[:24]))
def test_a_value_that_could_be_misread_is_refused_with_its_line(value: str) -> None:
    """Invariant 2."""
    faults = reading(f"a: 1\nx: {value}").faults
    assert faults
    assert {fault.line for fault in faults} <= {2, 3, 4}
    assert faults[0].file == "file.yaml"


REFUSED_TEXTS = [
    ("a key twice", "oval: 1\npear: 2\noval: 3", 3),
    ("a key that reads as true", "a: 1\nyes: 2", 2),
    ("a key that reads as on", "a: 1\non: 2", 2),
    ("a key that reads as no", "no: 2", 1),
    ("a merge", "a: 1\n<<: {b: 2}", 2),
    ("an anchor", "a: 1\nb: &b 2", 2),
    ("an alias", "a: 1\nb: *a", 2),
    ("a cycle", "a: &a [*a]", 1),
    ("an anchor on a mapping", "a: &a\n  b: 1", 1),
    ("a tag", "a: 1\nb: !!int 2", 2),
    ("a complex key", "a: 1\n? [b]\n: 2", 2),
    ("a no-break space as indent", "a:\n\u00a0\u00a0b: 1", 2),
    ("a no-break space in a key", "a: 1\nb\u00a0c: 1", 2),
    ("a zero-width space in a key", "a: 1\nb\u200bc: 1", 2),
    ("a line separator", "a: 1\nb: c\u2028d", 2),
    ("a byte order mark", "\ufeffa: 1", 1),
    ("a tab as indent", "a:\n\tb: 1", 2),
    ("a carriage return alone", "a: 1\rb: 2", 1),
    ("a NUL", "a: 1\nb: \x00", 2),
    ("an escape", "a: 1\nb: \x1b[0m", 2),
    ("a second document", "a: 1\n---\nb: 2", 2),
    ("a bad indent", "a: 1\n  b: 2\n c: 3", 2),
    ("a full-width colon", "a: 1\nb\uff1a 2", 3),
    ("an empty value in the middle", "a:\nb: 1", 1),
    ("a directive", "%YAML 1.1\n---\na: NO", 3),
]


@pytest.mark.parametrize(
    ("text", "line"), [row[1:] for row in REFUSED_TEXTS], ids=[row[0] for row in REFUSED_TEXTS]
)
def test_a_file_that_could_be_misread_is_refused_on_the_right_line(text: str, line: int) -> None:
    """Invariant 2."""
    lines = {fault.line for fault in reading(text).faults}
    assert line in lines


PLAIN: list[tuple[str, Plain]] = [
    ("x: 1", {"x": 1}),
    ("x: -12", {"x": -12}),
    ("x: 1.50", {"x": Decimal("1.50")}),
    ("x: true", {"x": True}),
    ("x: VS2", {"x": "VS2"}),
    ("x: a word, and another", {"x": "a word, and another"}),
    ("x: carré", {"x": "carré"}),
    ('x: "3:2"', {"x": "3:2"}),
    ("x: 'NO'", {"x": "NO"}),
    ('x: "1.10"', {"x": "1.10"}),
    ('x: "AB #12"', {"x": "AB #12"}),
    ("x: >-\n  one\n  two", {"x": "one two"}),
    ("x: [a, {b: 1}]", {"x": ["a", {"b": 1}]}),
    ("# a comment\nx: 1", {"x": 1}),
    ("x: {}", {"x": {}}),
    ('"on": 1', {"on": 1}),
    ("x: color-D", {"x": "color-D"}),
]


@pytest.mark.parametrize(("text", "data"), PLAIN, ids=[ascii(text) for text, _ in PLAIN])
def test_plain_values_mean_what_they_look_like(text: str, data: Plain) -> None:
    document = reading(text)
    assert (document.data, document.faults) == (data, [])


def test_the_lines_of_both_equal_keys_are_told() -> None:
    (fault,) = reading("oval: 1\npear: 2\noval: 3").faults
    assert (fault.line, fault.found) == (3, "'oval' again (first on line 1)")


def test_windows_line_ends_do_not_matter() -> None:
    assert read(b"a: 1\r\nb: [c]\r\n...\r\n", "f").data == {"a": 1, "b": ["c"]}


def test_five_faults_are_reported_at_once() -> None:
    faults = reading("a: NO\nb: 3:2\nc: &c 1\nd: 010\ne: 1\ne: 2").faults
    assert [fault.line for fault in faults] == [1, 2, 3, 4, 6]


@pytest.mark.parametrize("content", [b"", b"\n", b"...\n", b"# nothing\n...\n", b"---\n...\n"])
def test_a_file_that_says_nothing_is_refused(content: bytes) -> None:
    assert read(content, "f").faults


def test_bytes_that_are_no_utf_8_are_refused_with_their_line() -> None:
    (fault,) = read(b"a: 1\nb: \xff\n...\n", "f").faults
    assert (fault.line, fault.found, fault.allowed) == (2, "byte 0xff", "UTF-8")


def test_every_truncation_is_refused() -> None:
    """Invariant 3."""
    whole = b"name: house\nbands:\n  - {from: 1.00, below: 1.50, look: usual}\n  - {look: long}\n...\n"
    assert not read(whole, "f").faults
    assert [n for n in range(len(whole)) if not read(whole[:n], "f").faults] == []


def test_billion_laughs_are_refused_at_once() -> None:
    lines = ["a0: &a0 [x, x, x]", *(f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 8))]
    document = reading("\n".join(lines))
    assert {fault.line for fault in document.faults} == set(range(1, 9))


@pytest.mark.parametrize(
    "text",
    [
        "x: " + "[" * 1000 + "]" * 1000,
        "x: " + "{a: " * 1000 + "1" + "}" * 1000,
        "\n".join(f"{' ' * n}a:" for n in range(200)),
        "x: [" + "a, " * 30_000 + "a]",
        "\n".join(f"k{n}: 1" for n in range(20_000)),
    ],
    ids=["deep lists", "deep mappings", "deep blocks", "many items", "many keys"],
)
def test_a_file_too_deep_or_with_too_many_nodes_is_refused(text: str) -> None:
    assert reading(text).faults


def test_a_huge_file_is_refused_unread() -> None:
    (fault,) = read(b"a" * (MAX_BYTES + 1), "f").faults
    assert fault.allowed == f"at most {MAX_BYTES}"


@given(st.binary(max_size=200))
def test_no_bytes_make_reading_raise(content: bytes) -> None:
    """Invariant 1."""
    assert read(content, "f").faults


@given(st.text(alphabet="a1NO:-[]{},&*!|>'\"#% \n\t?.~\u00a0", max_size=60))
def test_no_text_makes_reading_raise(text: str) -> None:
    """Invariants 1 and 2."""
    faults = reading(text).faults
    assert all(1 <= fault.line <= text.count("\n") + 3 for fault in faults)


@given(st.dictionaries(st.from_regex(r"k[a-z]{1,5}", fullmatch=True), st.text("abNO:#%- é", max_size=9)))
def test_quoted_text_is_read_back_unchanged(data: dict[str, str]) -> None:
    """Invariant 4."""
    written = "\n".join(f'"{key}": "{value}"' for key, value in data.items()) or "{}"
    document = reading(written)
    assert not document.faults
    assert document.data == data
