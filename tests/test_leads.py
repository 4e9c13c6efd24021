"""Leads by their fields: tags, priority, conflicts, questions.

The tags and the weights of the priority are house practice, no source. Invariants:
1. the questions are those that brute force over all answers finds most decisive;
2. no question asks for what is stated;
3. a wish that comes back is a wish that specifications take.
"""

from datetime import date
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.judge.asking import ask_best, askings, core_advice, decisiveness
from gradefloor.judge.lead_reading import read_lead, told
from gradefloor.judge.leads import Weighed, weigh
from gradefloor.judge.wishes import Advising
from gradefloor.trade.leads import Lead
from gradefloor.trade.wishes import Wish
from samples import committed

DAY = date(2026, 11, 25)
RULES = committed("house", "1.3.0")


def lead(**members: Any) -> Lead:
    return Lead.model_validate(members)


def weighed(**members: Any) -> Weighed:
    return weigh(RULES, lead(**members), DAY)


def questions(asked: Lead) -> list[str]:
    found = [(asking, decisiveness(RULES, asking, DAY)) for asking in askings(RULES, asked, DAY)]
    return [question["about"] for question in ask_best(RULES, found)]


def test_a_value_for_the_insurance_is_refused_and_sent_to_an_appraiser() -> None:
    found = weighed(errand="valuation")
    (tag,) = found.tags
    assert tag["tag"] == "not_our_job"
    assert "No value is given here" in tag["refer"]
    assert "appraiser" in tag["refer"]


def test_every_tag_names_what_it_hangs_on() -> None:
    found = weighed(wish={"budget": {"amount": [9000]}}, surprise=True)
    assert {tag["tag"]: tag["trigger"] for tag in found.tags} == {
        "budget_basis_unknown": ["wish.budget.amount", "wish.budget.covers"],
        "budget_tax_unknown": ["wish.budget.amount", "wish.budget.tax_included"],
        "origin_open": ["wish.origins"],
        "surprise": ["surprise"],
    }


@pytest.mark.parametrize(
    ("days", "level"), [(-1, 0), (0, 3), (41, 3), (42, 2), (83, 2), (84, 1), (111, 1), (112, 0)]
)
def test_a_near_day_counts_for_more(days: int, level: int) -> None:
    found = weighed(needed_by=date.fromordinal(DAY.toordinal() + days).isoformat()).priority
    assert found is not None
    assert next(part["level"] for part in found["because"] if part["part"] == "deadline") == level


@pytest.mark.parametrize(("amount", "level"), [(4999.99, 0), (5000, 1), (9999.99, 1), (10000, 2), (20000, 3)])
def test_a_larger_sum_counts_for_more(amount: float, level: int) -> None:
    found = weighed(wish={"budget": {"amount": [amount]}}).priority
    assert found is not None
    assert next(part["level"] for part in found["because"] if part["part"] == "value") == level


def test_the_priority_is_the_sum_of_its_parts() -> None:
    full = {
        "shapes": ["round"], "carat": [1.0], "metal": "platinum", "finger": {"system": "us", "size": "6"},
        "budget": {"amount": [6000]},
    }  # fmt: skip
    for members, level in (
        ({}, "low"), ({"wish": full}, "medium"), ({"wish": full, "needed_by": "2026-12-20"}, "high"),
    ):  # fmt: skip
        found = weighed(**members).priority
        assert found is not None
        assert found["sum"] == sum(part["level"] * part["weight"] for part in found["because"])
        assert found["level"] == level


def test_the_last_day_of_the_calendar_is_a_day_like_any_other() -> None:
    last = date(9999, 12, 31)
    assert list(askings(RULES, lead(), last))


def test_an_empty_wish_is_no_complete_one() -> None:
    found = weighed(wish={"tastes": []}).priority
    assert found is not None
    assert next(part["level"] for part in found["because"] if part["part"] == "completeness") == 0


def test_a_band_of_which_nothing_is_said_is_asked_about() -> None:
    asked = [asking.about for asking in askings(RULES, lead(wish={"wedding_band": {}}), DAY)]
    assert "wish.wedding_band.accepts_gap" in asked


def test_nothing_is_asked_of_somebody_who_wants_something_else() -> None:
    assert weighed(errand="repair").conflicts == []


def test_a_flush_band_under_a_long_step_cut_is_a_conflict_of_the_lead() -> None:
    found = weighed(wish={"shapes": ["emerald"], "carat": [2.0], "wedding_band": {"accepts_gap": False}})
    assert [conflict["conflict"] for conflict in found.conflicts] == ["band.flush"]


def test_a_language_without_a_lexicon_reads_nothing() -> None:
    asked = lead(message="Un diamant ovale de 2 carats, s'il vous plaît.", language="fr")
    read, reading = read_lead(RULES, asked, DAY)
    assert read == asked
    assert told(reading) == ([], [])


# Questions


def brute(asked: Lead) -> list[tuple[float, str]]:
    """Every open question by the mean share of parts in which two of its answers lead to other advice."""
    found = []
    for asking in askings(RULES, asked, DAY):
        shares = []
        for one, other in combinations(asking.answers, 2):
            left, right = core_advice(RULES, one, DAY), core_advice(RULES, other, DAY)
            shares.append(sum(left[part] != right[part] for part in left) / len(left))
        found.append((-round(sum(shares) / len(shares), 4), asking.about))
    return sorted(found)


LEADS: list[dict[str, Any]] = [
    {},
    {"wish": {"shapes": ["emerald"], "carat": [2.0], "wedding_band": {"accepts_gap": False}}},
    {"wish": {"tastes": ["calm"], "metal": "rose_gold"}},
    {
        "wish": {"shapes": ["pear"], "budget": {"amount": [8000], "currency": "EUR"}},
        "needed_by": "2027-03-01",
    },
    {"wish": {"shapes": ["round"], "materials": ["moissanite"], "setting": {"style": "halo"}}},
]


@pytest.mark.parametrize("members", LEADS, ids=str)
def test_the_questions_are_the_most_decisive_by_brute_force(members: dict[str, Any]) -> None:
    asked = lead(**members)
    most = [about for share, about in brute(asked) if share < 0][:3]
    assert questions(asked) == most


@pytest.mark.parametrize("members", LEADS, ids=str)
def test_the_first_question_changes_the_advice_for_some_answer(members: dict[str, Any]) -> None:
    asked = lead(**members)
    first = questions(asked)[0]
    asking = next(asking for asking in askings(RULES, asked, DAY) if asking.about == first)
    told_of = []
    for answer in asking.answers:
        advising = Advising(RULES, answer.wish or Wish(), DAY)
        told_of.append((list(advising.each_shape()), advising.conflicts(), weigh(RULES, answer, DAY).tags))
    assert any(one != other for one, other in combinations(told_of, 2))


@given(st.sampled_from(LEADS))
def test_nothing_is_asked_that_is_stated(members: dict[str, Any]) -> None:
    stated = lead(**members).model_dump(exclude_none=True)
    for asking in askings(RULES, lead(**members), DAY):
        holder: Any = stated
        for step in asking.about.split("."):
            holder = holder.get(step) if isinstance(holder, dict) else None
        assert holder is None
