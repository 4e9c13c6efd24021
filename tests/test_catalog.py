"""Released versions: held to their digest, resolved by name and day, read from inside their folder only.

The trees are invented: rule sets with a name, a version and a day, and no rules.
"""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from gradefloor.commands.looking import RuleFolder
from gradefloor.rules.catalog import Catalog, CatalogError, UnknownRuleSetError, UnknownVersionError, load
from samples import load_faults, release, write_tiny

NOW = datetime(2026, 6, 1, tzinfo=UTC)


def manifest(root: Path) -> list[str]:
    return (root / "RELEASED").read_text().splitlines()


# What the manifest says


def test_a_released_version_is_read(root: Path) -> None:
    assert [found.version for found in load(root)] == ["1.0.0", "1.1.0"]


def test_a_released_version_that_changed_is_refused(root: Path) -> None:
    file = root / "tiny" / "1.1.0" / "ruleset.yaml"
    file.write_text(file.read_text().replace("to be found", "to be lost"))
    (fault,) = load_faults(root)
    assert (fault.file, fault.line) == (str(root / "RELEASED"), 2)
    assert "tiny 1.1.0" in fault.found
    assert "a released version never changes" in fault.allowed


@pytest.fixture
def broken_cases(root: Path) -> Path:
    """A released version whose cases can no longer be read; its rules are as they were."""
    file = root / "tiny" / "1.1.0" / "cases.yaml"
    file.write_text("casez: []\n")
    return file


def test_cases_that_cannot_be_read_are_told_by_whoever_looks_at_proofs(
    root: Path, broken_cases: Path
) -> None:
    assert {fault.file for fault in load_faults(root)} == {str(broken_cases)}


def test_whoever_only_answers_does_not_read_the_cases(root: Path, broken_cases: Path) -> None:
    released = load(root, proofs=False).find("tiny", "1.1.0")
    assert released is not None
    assert {fault.file for fault in released.proof.faults} == {str(broken_cases)}
    with pytest.raises(LookupError, match=r"cases\.yaml has faults"):
        _ = released.proof.cases


def test_whoever_answers_refuses_cases_that_are_broken_meanwhile(root: Path) -> None:
    folder = RuleFolder(root, drafts=False, trusted=None)
    before = folder.read()
    (root / "tiny" / "1.1.0" / "cases.yaml").write_text("casez: []\n")
    with pytest.raises(CatalogError):
        folder.look(before)


def test_a_released_version_whose_folder_is_gone_is_refused(root: Path) -> None:
    (root / "tiny" / "1.1.0" / "ruleset.yaml").unlink()
    assert [fault.allowed for fault in load_faults(root)] == ["a readable file"]


@pytest.mark.parametrize(
    "end", ["", "end 1\n", "end 3\n", "end 2", "end\n", "end 2\nend 2\n", "end 2\n\n\nx\n"]
)
def test_a_manifest_without_its_right_last_line_is_refused(root: Path, end: str) -> None:
    release(root, end=end)
    assert any("a last line" in fault.allowed for fault in load_faults(root))


def test_a_manifest_cut_short_anywhere_is_refused(root: Path) -> None:
    whole = (root / "RELEASED").read_bytes()
    for size in range(len(whole)):
        (root / "RELEASED").write_bytes(whole[:size])
        assert load_faults(root), size


def test_a_version_listed_twice_is_refused_on_the_second_line(root: Path) -> None:
    first, second, _ = manifest(root)
    (root / "RELEASED").write_text(f"{first}\n{second}\n{first}\nend 3\n")
    assert [(fault.line, fault.allowed) for fault in load_faults(root)] == [
        (3, "each version once, rising within its name")
    ]


@pytest.mark.parametrize(
    "line",
    [
        "tiny 1.0.0 2026-01-01",
        "tiny 1.0 2026-01-01 sha256:" + "0" * 64,
        "tiny 1.0.0 2026-02-30 sha256:" + "0" * 64,
        "tiny 1.0.0 2026-01-01 sha256:0",
        "../tiny 1.0.0 2026-01-01 sha256:" + "0" * 64,
        "tiny 1.0.0 2026-01-01 sha256:" + "0" * 64 + " 2026-01-01T00:00:00",
        "tiny 1.0.0 2026-01-01 sha256:" + "0" * 64 + " soon",
    ],
    ids=["no digest", "two parts", "no such day", "short digest", "a path", "no offset", "no moment"],
)
def test_a_manifest_line_that_is_not_plain_is_refused(root: Path, line: str) -> None:
    (root / "RELEASED").write_text(f"{line}\nend 1\n")
    assert any(fault.line == 1 and fault.allowed.startswith("name version") for fault in load_faults(root))


def test_the_day_in_the_manifest_is_the_day_in_the_file(root: Path) -> None:
    text = (root / "RELEASED").read_text()
    (root / "RELEASED").write_text(text.replace("2026-03-01", "2026-02-01"))
    (fault,) = load_faults(root)
    assert (fault.where, fault.found, fault.allowed) == ("effective", "2026-03-01", "2026-02-01")


# Which version a name means


@pytest.fixture
def many(tmp_path: Path) -> Catalog:
    for version, effective in [
        ("1.0.0", "2026-01-01"),
        ("1.0.1", "2026-02-01"),
        ("1.2.0", "2026-03-01"),
        ("1.10.0", "2026-04-01"),
        ("2.0.0", "2026-05-01"),
    ]:
        write_tiny(tmp_path, "tiny", version, effective)
    release(tmp_path)
    write_tiny(tmp_path, "tiny", "3.0.0", "2026-01-01")
    return load(tmp_path, drafts=True)


@pytest.mark.parametrize(
    ("reference", "day", "version"),
    [
        ("tiny", "2026-01-01", "1.0.0"),
        ("tiny", "2026-01-31", "1.0.0"),
        ("tiny", "2026-02-01", "1.0.1"),
        ("tiny", "2026-02-02", "1.0.1"),
        ("tiny", "2026-04-30", "1.10.0"),
        ("tiny", "2026-05-01", "2.0.0"),
        ("tiny", "2030-01-01", "2.0.0"),
        ("tiny@1", "2030-01-01", "1.10.0"),
        ("tiny@1", "2026-03-31", "1.2.0"),
        ("tiny@1.0", "2030-01-01", "1.0.1"),
        ("tiny@1.0", "2026-01-31", "1.0.0"),
        ("tiny@1.2", "2026-03-01", "1.2.0"),
        ("tiny@1.0.0", "2030-01-01", "1.0.0"),
        ("tiny@2.0.0", "2026-01-01", "2.0.0"),
        ("tiny@3.0.0", "2026-01-01", "3.0.0"),
    ],
)
def test_a_reference_means_the_newest_version_in_force(
    many: Catalog, reference: str, day: str, version: str
) -> None:
    assert many.resolve(reference, date.fromisoformat(day), NOW).version == version


@pytest.mark.parametrize(
    ("reference", "day"),
    [
        ("tiny", "2025-12-31"),
        ("tiny@2", "2026-04-30"),
        ("tiny@1.2", "2026-02-28"),
        ("tiny@3", "2030-01-01"),
        ("tiny@1.0.9", "2030-01-01"),
        ("tiny@1.1", "2030-01-01"),
    ],
)
def test_a_version_not_in_force_or_not_there_is_unknown(many: Catalog, reference: str, day: str) -> None:
    with pytest.raises(UnknownVersionError):
        many.resolve(reference, date.fromisoformat(day), NOW)


@pytest.mark.parametrize(
    "reference",
    ["other", "", "Tiny", "tiny@", "tiny@1.0.0.0", "tiny@x", "tiny@1.", "tiny@-1", "tiny\n", "tiny@1\n",
     "../tiny"],
    ids=ascii,
)  # fmt: skip
def test_a_reference_to_no_name_is_unknown(many: Catalog, reference: str) -> None:
    with pytest.raises(UnknownRuleSetError):
        many.resolve(reference, date(2026, 6, 1), NOW)


@pytest.mark.parametrize(
    ("now", "version"),
    [("2026-06-01T07:59:59Z", "1.0.0"), ("2026-06-01T08:00:00Z", "1.1.0"), ("2026-06-01T08:00:01Z", "1.1.0")],
    ids=["before", "on", "after"],
)
def test_a_version_waits_for_its_moment(root: Path, now: str, version: str) -> None:
    release(root, activate={"1.1.0": "2026-06-01T10:00:00+02:00"})
    found = load(root).resolve("tiny", date(2026, 6, 1), datetime.fromisoformat(now))
    assert found.version == version


def test_a_draft_is_not_read_unless_asked_for(root: Path) -> None:
    write_tiny(root, "tiny", "9.0.0").write_text("broken")
    assert [found.version for found in load(root)] == ["1.0.0", "1.1.0"]


def test_a_released_version_may_not_extend_a_draft(root: Path) -> None:
    write_tiny(root, "draft", "1.0.0")
    file = write_tiny(root, "other", "1.0.0")
    file.write_text(file.read_text().replace("about:", "extends: draft@1.0.0\nabout:"))
    release(root)
    text = [line for line in manifest(root)[:-1] if not line.startswith("draft")]
    (root / "RELEASED").write_text("\n".join((*text, f"end {len(text)}\n")))
    (fault,) = load_faults(root)
    assert (fault.where, fault.found, fault.allowed) == ("extends", "draft@1.0.0", "a released version")
