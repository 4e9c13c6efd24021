"""The commands of a rule keeper, run as she runs them. Rules and stones are invented.

Exit codes: 0 fine, 1 faults, 2 it cannot be done like that, 4 something differs.
"""

import re
import shutil
import subprocess
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Final

import pytest
from typer.testing import CliRunner

from gradefloor.__main__ import main
from gradefloor.rules.catalog import load
from gradefloor.rules.keeping import STUB
from samples import RULESETS, judge
from stock import stock

STOCK: Final = RULESETS / "invented_stock.csv"
# One floor: a step cut under a carat.
FLOOR: Final = (
    "      - {carat: {below: 1.00}, on_paper: VS2}\n      - {carat: {from: 1.00, below: 3.00}, on_paper: VS1"
)
TIGHTER: Final = FLOOR.replace("on_paper: VS2", "on_paper: VS1")


@dataclass(frozen=True)
class Done:
    """How a command ended, and what it told."""

    returncode: int
    stdout: str
    stderr: str


def gradefloor(*arguments: str, folder: Path = RULESETS) -> Done:
    """Run a command in this process, which spares the start of another."""
    result = CliRunner().invoke(main, [*arguments, "--rulesets", str(folder)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return Done(result.exit_code, result.stdout, result.stderr)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The house's last version as it was released, by itself."""
    root = tmp_path / "rulesets"
    shutil.copytree(RULESETS / "house" / "1.3.0", root / "house" / "1.3.0")
    shutil.copy(RULESETS / "house" / "CHANGELOG.md", root / "house")
    lines = [line for line in (RULESETS / "RELEASED").read_text().splitlines() if "house 1.3.0" in line]
    (root / "RELEASED").write_text("\n".join([*lines, f"end {len(lines)}", ""]))
    return root


@pytest.fixture
def drafted(folder: Path) -> Path:
    """The same with a draft in which one floor is tighter."""
    begun = gradefloor("draft", "house", folder=folder)
    assert begun.returncode == 0, begun.stderr
    edit(folder / "house" / "1.4.0" / "ruleset.yaml")
    return folder


def edit(file: Path) -> None:
    text = file.read_text()
    assert text.count(FLOOR) == 1
    file.write_text(text.replace(FLOOR, TIGHTER))


def reword(folder: Path) -> None:
    """Say a reason in the draft in other words, which breaks no case, and tell it in the changelog."""
    file = folder / "house" / "1.4.0" / "ruleset.yaml"
    file.write_text(file.read_text().replace("Long open facets mirror", "Its long open facets mirror", 1))
    changelog = folder / "house" / "CHANGELOG.md"
    changelog.write_text(changelog.read_text().replace(STUB, "A reason in other words."))


def test_check_names_the_cases_that_a_changed_floor_breaks(drafted: Path) -> None:
    done = gradefloor("check", "--drafts", folder=drafted)

    assert done.returncode == 1
    assert (
        'expect.clarity.steps: found verdict fail, in the case "A weight just under one carat' in done.stderr
    )
    assert "boundaries[0].steps[1]: found fail by clarity.steps at VS2 of emerald" in done.stderr
    assert all("house/1.4.0/cases.yaml:" in line for line in done.stderr.splitlines()[:-1])


def test_check_names_them_in_a_released_version_too_beside_the_digest(folder: Path) -> None:
    edit(folder / "house" / "1.3.0" / "ruleset.yaml")

    done = gradefloor("check", folder=folder)

    assert done.returncode == 1
    assert "a released version never changes, make a new one" in done.stderr
    assert "boundaries[0].steps[1]: found fail by clarity.steps at VS2 of emerald" in done.stderr


def test_changes_counts_the_verdicts_that_move_and_shows_three(drafted: Path) -> None:
    done = gradefloor("changes", "house", "house@1.4.0", "--stones", str(STOCK), folder=drafted)

    assert done.returncode == 4
    assert "altered clarity.steps (floors)" in done.stdout
    assert "  bands[0].on_paper: VS2 -> VS1" in done.stdout
    old, new = (load(drafted, drafts=True).find("house", v) for v in ("1.3.0", "1.4.0"))
    assert old is not None
    assert new is not None
    moved = 0
    for stone in stock(240, seed=11):
        row = {name: value for name, value in stone.items() if name != "price"}
        moved += judge(old.compiled, row)["verdict"] != judge(new.compiled, row)["verdict"]
    assert moved >= 3
    assert f"{moved} of 240 stones move" in done.stdout
    assert f"by clarity.steps: {moved}" in done.stdout
    assert len(re.findall(r"(?m)^tray-\d+, emerald: \w+ -> \w+$", done.stdout)) == 3


def test_changes_names_cases_of_the_older_version_that_come_out_otherwise(drafted: Path) -> None:
    done = gradefloor("changes", "house@1.3.0", "house@1.4.0", folder=drafted)
    assert done.returncode == 4
    assert re.search(r"(?m)^\d+ cases of the older version come out otherwise$", done.stdout)
    assert 'in the case "A weight just under one carat' in done.stdout


@pytest.mark.long
def test_changes_between_equals_ends_with_nothing(folder: Path) -> None:
    done = gradefloor("changes", "house@1.3.0", "house", "--stones", str(STOCK), folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    assert "nothing differs" in done.stdout
    assert "0 of 240 stones move" in done.stdout


@pytest.mark.long
def test_stones_of_the_wire_are_judged_as_they_stand(drafted: Path, tmp_path: Path) -> None:
    file = tmp_path / "stones.ndjson"
    file.write_text(
        '{"id":"a","shape":"emerald","carat":0.9,"color":"G","clarity":"VS2","report":{"issuer":"GIA"}}\n'
        '{"id":"b","shape":"emerald","carat":0.9,"color":"G","clarity":"VS1"}\n'
        '{"id":"c","shape":"no such shape"}\n'
    )
    done = gradefloor("changes", "house", "house@1.4.0", "--stones", str(file), folder=drafted)
    assert "1 of 2 stones move" in done.stdout
    assert "a, emerald: " in done.stdout
    assert "1 rows do not say for certain which stone they are" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("changes", "house", "fancy"), "there are no rules fancy"),
        (("changes", "house", "house@9.9.9"), "there are no rules house@9.9.9"),
        (("changes", "house", "house", "--stones", "nothing.csv"), "nothing.csv: no such file"),
        (("changes", "house", "house", "--stones", str(STOCK), "--metal", "tin"), "tin is not one of "),
        (("changes", "house", "house", "--as-of", "soon"), "soon is no day; write it as 2026-01-31"),
        (("explain", "clarity.step"), "has no rule clarity.step; it has clarity."),
        (("explain", "nothing.such"), "has no rule nothing.such; it has "),
        (("draft", "fancy"), "there is no rule set fancy; there are house"),
        (("release", "house"), "house 1.3.0 is released already; a change is a new version"),
        (("release", "house@9.9.9"), "house has no version 9.9.9; it has 1.3.0"),
        (("release", "house", "--activate-at", "2027-01-01T00:00:00"), "write it with its offset"),
        (("release", "house", "--signing-key", "none.pem"), "none.pem: No such file"),
        (("check", "--trusted-key", "none.pem"), "none.pem: No such file"),
        (("check", "--trusted-key", "README.md"), "README.md: no public Ed25519 key in PEM"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_told_in_a_clear_word(
    folder: Path, arguments: tuple[str, ...], told: str
) -> None:
    done = gradefloor(*arguments, folder=folder)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.long
def test_a_draft_with_faults_is_not_released(drafted: Path) -> None:
    before = (drafted / "RELEASED").read_bytes()
    done = gradefloor("release", "house", folder=drafted)
    assert done.returncode == 1
    assert done.stderr.endswith("faults; nothing is released.\n")
    assert (drafted / "RELEASED").read_bytes() == before


def test_a_changed_release_is_refused_until_the_version_rises(folder: Path) -> None:
    edit(folder / "house" / "1.3.0" / "ruleset.yaml")
    done = gradefloor("release", "house", folder=folder)
    assert done.returncode == 1
    assert "a released version never changes, make a new one" in done.stderr

    shutil.copy(RULESETS / "house" / "1.3.0" / "ruleset.yaml", folder / "house" / "1.3.0")
    assert gradefloor("draft", "house", folder=folder).returncode == 0
    reword(folder)

    done = gradefloor("release", "house", folder=folder)

    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("house 1.4.0 ")
    assert done.stdout.strip() in (folder / "RELEASED").read_text().splitlines()
    checked = gradefloor("check", folder=folder)
    assert checked.returncode == 0
    assert done.stdout.strip() in checked.stdout.splitlines()


def test_explain_tells_reason_source_content_history_and_proof() -> None:
    done = gradefloor("explain", "clarity.steps", "--ruleset", "house@1.3.0")
    assert done.returncode == 0
    for told in (
        "clarity.steps, one of floors in house 1.3.0",
        "Because: Long open facets mirror",
        "Source: Common practice, no source; checked ",
        "Disagreement among practitioners: medium",
        "  - carat below 1.0; on_paper VS2",
        "Since 1.0.0, in force from 2026-01-01",
        "  - A good emerald cut whose clarity has to be seen: ask",
        "  - stone.clarity of emerald 3.01 ct: VVS1 pass, VVS2 pass, VS1 ask, VS2 fail",
    ):
        assert told in done.stdout


def test_explain_tells_in_which_version_a_rule_was_altered() -> None:
    done = gradefloor("explain", "setting.old_girdle")
    assert "Since 1.2.0" in done.stdout
    assert "Altered in 1.3.0: rows[1].when.head, rows[3]" in done.stdout


@pytest.mark.long
def test_explain_tells_whose_rule_it_is_in_a_name_that_extends_another() -> None:
    overridden = gradefloor("explain", "clarity.steps", "--ruleset", "strict@1.3.0")
    assert "Instead of the rule of house@1.3.0, because: " in overridden.stdout
    brought = gradefloor("explain", "look.emerald", "--ruleset", "strict@1.3.0")
    assert "Brought along by house@1.3.0" in brought.stdout


def test_check_counts_the_rules_that_cases_name(folder: Path) -> None:
    done = gradefloor("check", folder=folder)
    counted = re.findall(r"(\d+) of (\d+) rules that can speak are named by a case", done.stdout)
    assert counted
    assert all(named == of for named, of in counted), "every rule that can speak has a case"


@pytest.mark.long
def test_check_names_rules_without_a_case(drafted: Path) -> None:
    folder = drafted / "house" / "1.4.0"
    (folder / "ruleset.yaml").write_text(
        (drafted / "house" / "1.3.0" / "ruleset.yaml").read_text().replace('"1.3.0"', '"1.4.0"', 1)
    )
    cases = (drafted / "house" / "1.3.0" / "cases.yaml").read_text()
    (folder / "cases.yaml").write_text(re.sub(r"(?m)^  - rule: look\.round\n(?:    .*\n)+", "", cases))
    done = gradefloor("check", "--drafts", folder=drafted)
    assert done.returncode == 0, done.stderr
    assert "231 of 232 rules that can speak are named by a case" in done.stdout
    assert "no case names: look.round" in done.stdout


@pytest.mark.long
def test_check_names_sources_that_nobody_has_looked_up_lately(folder: Path) -> None:
    checked = {source.id: source.checked for source in load(RULESETS).releases["house"][-1].rules.sources}
    oldest = min(checked.values())
    age = (datetime.now(UTC).date() - oldest).days

    assert "look up again" not in gradefloor("check", "--stale-after", str(age + 1), folder=folder).stdout
    if age > 1:
        told = gradefloor("check", "--stale-after", str(age - 1), folder=folder).stdout
        assert f", last checked {oldest}" in told


@pytest.mark.long
def test_a_signed_folder_serves_only_those_who_trust_its_key(folder: Path, tmp_path: Path) -> None:
    secret, public = tmp_path / "signing.pem", tmp_path / "trusted.pem"
    for command in (
        ["openssl", "genpkey", "-algorithm", "ed25519", "-out", str(secret)],
        ["openssl", "pkey", "-in", str(secret), "-pubout", "-out", str(public)],
    ):
        subprocess.run(command, check=True, capture_output=True)
    tomorrow = date.today() + timedelta(days=1)  # noqa: DTZ011 - any day to come will do
    assert gradefloor("draft", "house", "--effective", str(tomorrow), folder=folder).returncode == 0
    reword(folder)
    assert gradefloor("check", "--trusted-key", str(public), folder=folder).returncode == 1
    done = gradefloor("release", "house", "--signing-key", str(secret), folder=folder)
    assert done.returncode == 0, done.stderr
    assert gradefloor("check", "--trusted-key", str(public), folder=folder).returncode == 0
