"""What changes the digest of a version, and which files are opened at all. The trees are invented."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from gradefloor.rules.catalog import load
from samples import TINY, load_faults, release, write_tiny

# What changes a digest


def digest(root: Path, text: str) -> str:
    """Digest of the only version there, with this text."""
    write_tiny(root, "tiny", "1.0.0").write_bytes(text.encode())
    release(root)
    return next(iter(load(root))).digest


TEXT = TINY.format(name="tiny", version="1.0.0", effective="2026-01-01")
LINES = TEXT.splitlines()[:-1]
SAME = {
    "a comment": "# Said aside.\n" + TEXT.replace("sources:", "# And again.\nsources:"),
    "Windows line ends": TEXT.replace("\n", "\r\n"),
    "keys in another order": "\n".join([LINES[4], *LINES[:4], *LINES[5:], "...\n"]),
    "keys inside in another order": TEXT.replace(
        "id: memory, title: From memory", "title: From memory, id: memory"
    ),
    "quotes that change nothing": TEXT.replace("name: tiny", 'name: "tiny"'),
    "block style": TEXT.replace(
        '{id: memory, title: From memory, checked: "2025-12-01"}',
        'id: memory\n    title: From memory\n    checked: "2025-12-01"',
    ),
}  # fmt: skip
OTHER = {
    "a day": TEXT.replace("2026-01-01", "2026-01-02"),
    "a word": TEXT.replace("invented", "imagined"),
    "a capital": TEXT.replace("From memory", "from memory"),
    "a space in quotes": TEXT.replace("An invented", '"An invented "').replace(" rule set\n", "\n"),
    "a date deep inside": TEXT.replace("2025-12-02", "2025-12-03"),
    "an entry less": TEXT.replace(LINES[-1] + "\n", ""),
    "entries in another order": "\n".join([*LINES[:-2], LINES[-1], LINES[-2], "...\n"]),
    "a key more": TEXT.replace("sources:", "looks: []\nsources:"),
}


@pytest.mark.parametrize("text", SAME.values(), ids=SAME)
def test_form_does_not_change_the_digest(tmp_path: Path, text: str) -> None:
    assert digest(tmp_path / "a", text) == digest(tmp_path / "b", TEXT)


@pytest.mark.parametrize("text", OTHER.values(), ids=OTHER)
def test_any_value_changes_the_digest(tmp_path: Path, text: str) -> None:
    assert digest(tmp_path / "a", text) != digest(tmp_path / "b", TEXT)


LOOK = """\
looks:
  - id: look.all
    title: It has a look that can be named
    because: Tastes differ.
    source: memory
    disagreement: low
    shapes: [all]
    bands: [{look: short, below: NUMBER}, {look: long, from: NUMBER}]
...
"""


@pytest.mark.parametrize(("one", "other"), [("1.05", "1.06"), ("100000000000000.01", "100000000000000.02")])
def test_any_number_changes_the_digest(tmp_path: Path, one: str, other: str) -> None:
    text = TEXT.replace("...\n", LOOK)
    found = {digest(tmp_path / number, text.replace("NUMBER", number)) for number in (one, other)}
    assert len(found) == 2


def test_another_base_changes_the_digest(tmp_path: Path) -> None:
    found = set()
    for about in ("there", "here"):
        root = tmp_path / about
        base = write_tiny(root, "base", "1.0.0")
        base.write_text(base.read_text().replace("there", about))
        file = write_tiny(root, "tiny", "1.0.0")
        file.write_text(file.read_text().replace("about:", "extends: base@1.0.0\nabout:"))
        release(root)
        found.add(load(root).releases["tiny"][0].digest)
    assert len(found) == 2


# Which files are opened


def test_a_missing_folder_is_a_fault(tmp_path: Path) -> None:
    assert [fault.file for fault in load_faults(tmp_path / "nowhere", drafts=True)] == [
        str(tmp_path / "nowhere" / "RELEASED")
    ]


def test_a_missing_manifest_is_a_fault(tmp_path: Path) -> None:
    write_tiny(tmp_path, "tiny", "1.0.0")
    assert [fault.file for fault in load_faults(tmp_path)] == [str(tmp_path / "RELEASED")]


def test_a_link_out_of_the_folder_is_refused(root: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    file = root / "tiny" / "1.0.0" / "ruleset.yaml"
    outside = tmp_path_factory.mktemp("outside") / "ruleset.yaml"
    file.rename(outside)
    file.symlink_to(outside)
    assert [fault.found for fault in load_faults(root)] == ["a link that leads elsewhere"]


def test_a_folder_that_links_out_is_refused(root: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    outside = tmp_path_factory.mktemp("outside") / "1.0.0"
    (root / "tiny" / "1.0.0").rename(outside)
    (root / "tiny" / "1.0.0").symlink_to(outside)
    assert {fault.found for fault in load_faults(root)} == {"a link that leads elsewhere"}


def test_a_link_inside_the_folder_is_followed_and_read_once(root: Path) -> None:
    # The way container platforms mount files: a hidden folder with the content, and links into it.
    (root / "..2026_01").mkdir()
    (root / "tiny").rename(root / "..2026_01" / "tiny")
    (root / "..data").symlink_to("..2026_01")
    (root / "tiny").symlink_to("..data/tiny")
    assert [(found.name, found.version) for found in load(root, drafts=True)] == [
        ("tiny", "1.0.0"),
        ("tiny", "1.1.0"),
    ]


def _loop(file: Path) -> None:
    file.symlink_to(file)


@pytest.mark.parametrize("make", [os.mkfifo, os.mkdir, _loop], ids=["a pipe", "a folder", "a loop of links"])
def test_what_is_no_file_is_refused_and_not_waited_for(root: Path, make: Callable[[Path], None]) -> None:
    file = root / "tiny" / "1.0.0" / "ruleset.yaml"
    file.unlink()
    make(file)
    assert [fault.file for fault in load_faults(root)] == [str(file)]


@pytest.mark.parametrize("name", ["tiny~", "._tiny", ".tiny.swp", "Tiny", "tiny-2", "1tiny"])
def test_folders_that_are_no_names_are_no_drafts(root: Path, name: str) -> None:
    write_tiny(root, name, "1.0.0").write_text("broken")
    assert len(list(load(root, drafts=True))) == 2


@pytest.mark.parametrize("version", ["1.0", "v1.0.0", "1.0.0~", "01.0.0", "1.0.0-rc1"])
def test_folders_that_are_no_versions_are_no_drafts(root: Path, version: str) -> None:
    write_tiny(root, "tiny", version).write_text("broken")
    assert len(list(load(root, drafts=True))) == 2
