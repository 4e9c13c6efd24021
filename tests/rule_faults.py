"""Ways in which rule files go wrong while a service runs, and ways in which files are updated.

Every fault is made in a copy of a sound folder that lists the house's 1.0.0; most of them list a new version
that is not sound. The kinds are those of public bug reports about rule loaders and mounted configuration.
"""

import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Final

from gradefloor.rules.catalog import load

NEW: Final = "1.0.1"
Break = Callable[[Path], None]
Write = Callable[[Path, bytes], None]


# A new version whose only fault is one edit


def begin_version(root: Path, version: str = NEW) -> Path:
    """A sound copy of the house's 1.0.0 under another number, not yet listed."""
    folder = root / "house" / version
    shutil.copytree(root / "house" / "1.0.0", folder)
    file = folder / "ruleset.yaml"
    file.write_text(file.read_text().replace('version: "1.0.0"', f'version: "{version}"', 1))
    return folder


def list_version(root: Path, version: str = NEW, digest: str | None = None, moment: str = "") -> bytes:
    """The manifest with a new version, by its own digest where it can be read at all."""
    if digest is None:
        release = load(root, drafts=True).find("house", version)
        assert release is not None
        digest = release.digest
    lines = (root / "RELEASED").read_text().splitlines()[:-1]
    lines.append(" ".join(filter(None, ("house", version, "2026-01-01", digest, moment))))
    return "\n".join([*lines, f"end {len(lines)}", ""]).encode()


UNREADABLE: Final = f"sha256:{'0' * 64}"


def edited(old: str, new: str, file: str = "ruleset.yaml") -> Break:
    """A new version with one text replaced, listed by whatever digest it has then."""

    def break_it(root: Path) -> None:
        path = begin_version(root) / file
        text = path.read_text()
        assert old in text, old
        path.write_text(text.replace(old, new, 1))
        (root / "RELEASED").write_bytes(list_version(root, digest=_digest(root)))

    return break_it


def rewritten(change: Callable[[bytes], bytes], file: str = "ruleset.yaml") -> Break:
    """A new version with the bytes of a file changed."""

    def break_it(root: Path) -> None:
        path = begin_version(root) / file
        path.write_bytes(change(path.read_bytes()))
        (root / "RELEASED").write_bytes(list_version(root, digest=_digest(root)))

    return break_it


def replaced(put: Callable[[Path], object], file: str = "ruleset.yaml") -> Break:
    """A new version with something in the place of a file."""

    def break_it(root: Path) -> None:
        path = begin_version(root) / file
        path.unlink()
        put(path)
        (root / "RELEASED").write_bytes(list_version(root, digest=UNREADABLE))

    return break_it


def _digest(root: Path) -> str:
    """Its own digest, so that nothing else is wrong with it; any, if it cannot be read."""
    try:
        release = load(root, drafts=True).find("house", NEW)
    except Exception:  # noqa: BLE001 - it is broken on purpose
        return UNREADABLE
    return release.digest if release else UNREADABLE


def manifest(change: Callable[[str], str]) -> Break:
    """The manifest changed by itself."""

    def break_it(root: Path) -> None:
        file = root / "RELEASED"
        file.write_bytes(change(file.read_text()).encode("utf-8", "surrogateescape"))

    return break_it


def _stranger(file: Path) -> None:
    file.symlink_to("/etc/hostname")


def _loop(file: Path) -> None:
    file.symlink_to(file)


def _manifest_becomes(put: Callable[[Path], object]) -> Break:
    def break_it(root: Path) -> None:
        (root / "RELEASED").unlink()
        put(root / "RELEASED")

    return break_it


def _released_file_changes(root: Path) -> None:
    file = root / "house" / "1.0.0" / "ruleset.yaml"
    file.write_text(file.read_text().replace("on_paper: VS2", "on_paper: SI1", 1))


def _released_file_and_digest_change(root: Path) -> None:
    _released_file_changes(root)
    (root / "RELEASED").write_text("end 0\n")
    release = load(root, drafts=True).find("house", "1.0.0")
    assert release is not None
    (root / "RELEASED").write_text(f"house 1.0.0 2026-01-01 {release.digest}\nend 1\n")


def _cases_fail(root: Path) -> None:
    edited("on_paper: VS1, if_seen: VS2", "on_paper: VS1, if_seen: VS1")(root)


def _first_line(text: str) -> str:
    return text.splitlines()[0]


def _list_unread(root: Path) -> None:
    begin_version(root)
    (root / "RELEASED").write_bytes(list_version(root, digest=f"sha256:{'1' * 64}"))


def _list_below(root: Path) -> None:
    begin_version(root, "0.9.0")
    (root / "RELEASED").write_bytes(list_version(root, "0.9.0"))


FAULTS: Final[dict[str, Break]] = {
    # the manifest
    "manifest_half": manifest(lambda text: text[: len(text) // 2]),
    "manifest_empty": manifest(lambda _: ""),
    "manifest_gone": _manifest_becomes(lambda _: None),
    "manifest_without_end": manifest(lambda text: f"{_first_line(text)}\n"),
    "manifest_without_last_newline": manifest(lambda text: text.rstrip("\n")),
    "manifest_counts_wrong": manifest(lambda text: text.replace("end 1", "end 2")),
    "manifest_lists_twice": manifest(lambda text: f"{_first_line(text)}\n{_first_line(text)}\nend 2\n"),
    "manifest_lists_nothing": manifest(lambda _: "end 0\n"),
    "manifest_lists_what_is_not_there": manifest(
        lambda text: f"{_first_line(text)}\nhouse 9.0.0 2026-01-01 {UNREADABLE}\nend 2\n"
    ),
    "manifest_digest_too_long": manifest(lambda text: text.replace("\nend", "x\nend", 1)),
    "manifest_another_digest": manifest(lambda text: re.sub(r"sha256:\w+", UNREADABLE, text, count=1)),
    "manifest_another_day": manifest(lambda text: text.replace("2026-01-01", "2026-01-02", 1)),
    "manifest_no_day": manifest(lambda text: text.replace("2026-01-01", "2026-02-30", 1)),
    "manifest_moment_without_offset": manifest(
        lambda text: text.replace("\nend", " 2027-01-01T00:00:00\nend", 1)
    ),
    "manifest_windows_lines": manifest(lambda text: text.replace("\n", "\r\n")),
    "manifest_noise": manifest(lambda _: "\udcff\udcfe\x00noise\n"),
    "manifest_folder": _manifest_becomes(Path.mkdir),
    "manifest_link_elsewhere": _manifest_becomes(_stranger),
    "manifest_link_to_itself": _manifest_becomes(_loop),
    "manifest_pipe": _manifest_becomes(os.mkfifo),
    # what was released
    "released_file_changed": _released_file_changes,
    "released_file_and_digest_changed": _released_file_and_digest_change,
    "released_file_gone": lambda root: (root / "house" / "1.0.0" / "ruleset.yaml").unlink(),
    "released_folder_gone": lambda root: shutil.rmtree(root / "house" / "1.0.0"),
    # a new version
    "half_a_file": rewritten(lambda content: content[: len(content) // 2]),
    "no_end_mark": rewritten(lambda content: content.replace(b"\n...\n", b"\n")),
    "empty_file": rewritten(lambda _: b""),
    "byte_order_mark": rewritten(lambda content: b"\xef\xbb\xbf" + content),
    "no_utf_8": rewritten(lambda content: content.replace(b"title: ", b"title: \xff", 1)),
    "null_byte": rewritten(lambda content: content.replace(b"title: ", b"title: \x00", 1)),
    "tab": rewritten(lambda content: content.replace(b"\n  - id", b"\n\t- id", 1)),
    "no_break_space": rewritten(lambda content: content.replace(b"\n  - id", "\n\xa0 - id".encode(), 1)),
    "too_large": rewritten(lambda content: content.replace(b"\n...", b"\n#" + b"x" * 600_000 + b"\n...")),
    "too_deep": edited("title: ", f"title: {'[' * 1000}{']' * 1000} #"),
    "huge_number": edited("on_paper: VS2", f"on_paper: {'9' * 10_000}"),
    "key_twice": edited("name: house", "name: house\nname: house"),
    "anchor": edited("name: house", "name: &house house"),
    "tag": edited("name: house", "name: !!str house"),
    "word_for_no": edited("on_paper: VS2", "on_paper: NO"),
    "sixty_first_ratio": edited("on_paper: VS2", "on_paper: 1:1"),
    "version_as_number": edited(f'version: "{NEW}"', "version: 1.10"),
    "another_name": edited("name: house", "name: horse"),
    "another_version": edited(f'version: "{NEW}"', 'version: "1.0.2"'),
    "another_day": edited('effective: "2026-01-01"', 'effective: "2026-01-02"'),
    "unknown_key": edited("on_paper: VS2", "on_papers: VS2"),
    "unknown_grade": edited("on_paper: VS2", "on_paper: VS3"),
    "unknown_source": edited("source: common_practice", "source: hearsay"),
    "unknown_base": edited("name: house", "name: house\nextends: house@0.9.0"),
    "gap_in_a_floor": edited("below: 1.00}, on_paper", "below: 0.90}, on_paper"),
    "overlap_in_a_floor": edited("below: 1.00}, on_paper", "below: 1.10}, on_paper"),
    "cases_fail": _cases_fail,
    "cases_half": rewritten(lambda content: content[: len(content) // 2], "cases.yaml"),
    "cases_gone": replaced(lambda _: None, "cases.yaml"),
    "cases_of_an_unknown_rule": edited("clarity.steps: ask", "clarity.stairs: ask", "cases.yaml"),
    "rules_gone": replaced(lambda _: None),
    "rules_folder": replaced(Path.mkdir),
    "rules_pipe": replaced(os.mkfifo),
    "rules_link_elsewhere": replaced(_stranger),
    "rules_link_to_itself": replaced(_loop),
    "digest_of_something_else": _list_unread,
    "lower_than_what_is_released": _list_below,
}


# How a folder is brought up to date: the new content, file by file or all at once


def in_place(file: Path, content: bytes) -> None:
    """Written over, as an editor does."""
    with file.open("r+b") as stream:
        stream.write(content)
        stream.truncate()


def emptied_first(file: Path, content: bytes) -> None:
    """Emptied, then written in small pieces, as a copying tool does."""
    with file.open("wb", buffering=0) as stream:
        for start in range(0, len(content), 64):
            stream.write(content[start : start + 64])


def moved_over(file: Path, content: bytes) -> None:
    """Written beside and moved over."""
    beside = file.with_suffix(".new")
    beside.write_bytes(content)
    beside.replace(file)


def linked_anew(file: Path, content: bytes) -> None:
    """A link is turned to another file, as mounted configuration does."""
    target = file.with_name(f"..{abs(hash(content))}")
    target.write_bytes(content)
    link = file.with_suffix(".link")
    link.symlink_to(target.name)
    link.replace(file)


def deleted_first(file: Path, content: bytes) -> None:
    """Deleted, then written."""
    file.unlink()
    file.write_bytes(content)


STYLES: Final[tuple[Write, ...]] = (in_place, emptied_first, moved_over, linked_anew, deleted_first)
