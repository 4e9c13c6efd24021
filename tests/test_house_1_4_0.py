"""What version 1.4.0 of the house's rules says otherwise than 1.3.0, on invented stones.

That a V or a bezel belongs over a point, and a bezel over a fault of the girdle; that moissanite and cubic
zirconia are made; that some laboratories grade fancy cuts: common practice, no source.
"""

from collections import Counter

import pytest

from gradefloor.judge.rings import judge_ring
from gradefloor.rules.catalog import Catalog, Release
from gradefloor.rules.format import RULE_KINDS
from gradefloor.rules.tables import CompiledRules
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import RingParts
from samples import DAY, Wire, about, committed, judge, verdicts

POINTED = ["pear", "marquise", "heart", "princess", "trillion"]
NOT_POINTED = ["emerald", "asscher", "radiant", "octagon", "oval", "round", "cushion_brilliant"]
MADE = ["moissanite", "cubic_zirconia", "yag", "ggg", "strontium_titanate", "synthetic_rutile"]
MINED_TOO = ["diamond", "white_sapphire", "white_topaz", "quartz", "spinel", "zircon"]
GIRDLES = ["very_thin", "thin", "medium", "slightly_thick", "thick"]
ANOTHER_STONE = "Another stone, or one without an open feather at a point."


@pytest.fixture(scope="module", params=["house", "strict"])
def rules(request: pytest.FixtureRequest) -> CompiledRules:
    return committed(request.param, "1.4.0")


@pytest.fixture(scope="module", params=["house", "strict"])
def version(request: pytest.FixtureRequest, catalog: Catalog) -> Release:
    return next(release for release in catalog.releases[request.param] if release.version == "1.4.0")


def in_a_ring(protection: str) -> Wire:
    return {"jewelry": "ring", "protection": protection}


def included(kind: str, place: str) -> Wire:
    return {"shape": "pear", "observations": {"inclusion": {"type": kind, "place": place}}}


# Points


@pytest.mark.parametrize("girdle", GIRDLES)
@pytest.mark.parametrize("shape", POINTED)
def test_a_point_in_claws_fails_in_a_ring_whatever_the_girdle(
    rules: CompiledRules, shape: str, girdle: str
) -> None:
    answer = judge(rules, {"shape": shape, "girdle_min": girdle}, in_a_ring("claws"))
    assert answer["verdict"] == "fail"
    assert verdicts(answer)["durability.points"] == "fail"


@pytest.mark.parametrize("protection", ["v_claws", "bezel"])
@pytest.mark.parametrize("shape", POINTED)
def test_a_point_under_a_v_or_a_bezel_passes(rules: CompiledRules, shape: str, protection: str) -> None:
    answer = judge(rules, {"shape": shape, "girdle_min": "medium"}, in_a_ring(protection))
    assert verdicts(answer)["durability.points"] == "pass"


@pytest.mark.parametrize("shape", NOT_POINTED)
def test_a_shape_without_points_may_sit_in_claws(rules: CompiledRules, shape: str) -> None:
    answer = judge(rules, {"shape": shape, "girdle_min": "medium"}, in_a_ring("claws"))
    assert "durability.points" not in verdicts(answer)


@pytest.mark.parametrize("jewelry", ["earring", "pendant"])
def test_a_point_in_claws_is_only_noted_where_it_is_seldom_knocked(
    rules: CompiledRules, jewelry: str
) -> None:
    answer = judge(rules, {"shape": "pear"}, {"jewelry": jewelry, "protection": "claws"})
    assert verdicts(answer)["durability.points"] == "note"


def test_a_point_in_claws_asks_for_the_jewel_where_none_is_stated(rules: CompiledRules) -> None:
    answer = judge(rules, {"shape": "pear"}, {"protection": "claws"})
    assert verdicts(answer)["durability.points"] == "ask"
    assert "context.jewelry" in {question["about"] for question in answer["questions"]}


def test_a_point_before_a_setting_is_chosen_is_a_note_that_asks_nothing(rules: CompiledRules) -> None:
    answer = judge(rules, {"shape": "pear", "girdle_min": "medium"}, {"jewelry": "ring"})
    assert verdicts(answer)["durability.points"] == "note"
    assert "context.protection" not in {question["about"] for question in answer["questions"]}


@pytest.mark.parametrize(
    ("protection", "head"), [("claws", "claw"), ("v_claws", "v_claw"), ("bezel", "bezel")]
)
@pytest.mark.parametrize("shape", POINTED)
def test_a_stone_is_told_of_its_points_what_its_ring_is_told(
    rules: CompiledRules, shape: str, protection: str, head: str
) -> None:
    stone = {"shape": shape, "girdle_min": "medium"}
    alone = about(judge(rules, stone, in_a_ring(protection)), "durability.points")
    parts = RingParts.model_validate({"center": stone, "setting": {"head": head}})
    ring = {said.finding["rule"]: said.finding for said in judge_ring(rules, Ring.of(parts), DAY)}
    worn = ring["setting.points"]
    assert (alone["verdict"], alone["reason"]) == (worn["verdict"], worn["reason"])
    assert (alone["remedy"], alone["threshold"]) == (worn["remedy"], worn["threshold"])
    assert "durability.points" not in ring


def test_bare_points_are_remedied_by_v_claws(rules: CompiledRules) -> None:
    found = about(judge(rules, {"shape": "heart"}, in_a_ring("claws")), "durability.points")
    assert found["change"] == [{"field": "context.protection", "value": "v_claws"}]


# Faults at the edge


@pytest.mark.parametrize(
    ("place", "protection", "verdict"),
    [
        ("point", "claws", "ask"),
        ("point", "v_claws", "fail"),
        ("point", "bezel", "fail"),
        ("girdle", "claws", "ask"),
        ("girdle", "v_claws", "ask"),
        ("girdle", "bezel", "fail"),
    ],
)
def test_an_open_feather_fails_where_metal_must_press_on_it(
    rules: CompiledRules, place: str, protection: str, verdict: str
) -> None:
    found = verdicts(judge(rules, included("open_feather", place), in_a_ring(protection)))
    rule = "durability.open_feather.point" if place == "point" else "durability.open_feather"
    assert [found[name] for name in found if name.startswith("durability.open_feather")] == [verdict]
    assert found[rule] == verdict


@pytest.mark.parametrize("protection", ["v_claws", "bezel"])
def test_an_open_feather_at_a_point_is_remedied_by_another_stone(
    rules: CompiledRules, protection: str
) -> None:
    answer = judge(rules, included("open_feather", "point"), in_a_ring(protection))
    found = about(answer, "durability.open_feather.point")
    assert found["remedy"] == ANOTHER_STONE
    assert [change["field"] for change in found["change"]] == ["stone.observations.inclusion.type"]


@pytest.mark.parametrize("kind", ["chip", "cavity", "bruise", "knot"])
@pytest.mark.parametrize(("place", "remedy"), [("point", "v_claws"), ("girdle", "bezel")])
def test_a_fault_is_covered_by_what_reaches_it_and_told(
    rules: CompiledRules, kind: str, place: str, remedy: str
) -> None:
    found = about(judge(rules, included(kind, place), in_a_ring("claws")), "durability.surface_faults")
    assert found["verdict"] == "fail"
    assert found["change"] == [{"field": "context.protection", "value": remedy}]
    assert ("V claws" in (found["remedy"] or "")) == (place == "point")
    assert "the customer told" in (found["remedy"] or "")


@pytest.mark.parametrize(("place", "verdict"), [("point", "ask"), ("girdle", "fail")])
def test_v_claws_cover_a_fault_at_a_point_only(rules: CompiledRules, place: str, verdict: str) -> None:
    answer = judge(rules, included("chip", place), in_a_ring("v_claws"))
    assert verdicts(answer)["durability.surface_faults"] == verdict


@pytest.mark.parametrize("place", ["point", "girdle"])
def test_a_bezel_over_a_fault_asks_the_setter_and_tells_the_customer(
    rules: CompiledRules, place: str
) -> None:
    found = about(judge(rules, included("cavity", place), in_a_ring("bezel")), "durability.surface_faults")
    assert found["verdict"] == "ask"
    assert "the customer told" in (found["remedy"] or "")


# Materials


@pytest.mark.parametrize("material", MADE)
def test_a_made_material_called_natural_is_asked_about(rules: CompiledRules, material: str) -> None:
    answer = judge(rules, {"shape": "round", "material": material, "origin": "natural"})
    assert verdicts(answer)["consistency.made_material"] == "ask"


@pytest.mark.parametrize("material", MADE)
@pytest.mark.parametrize("origin", ["laboratory_grown", None])
def test_a_made_material_not_called_natural_is_not_asked_about(
    rules: CompiledRules, material: str, origin: str | None
) -> None:
    answer = judge(rules, {"shape": "round", "material": material, "origin": origin})
    assert "consistency.made_material" not in verdicts(answer)


@pytest.mark.parametrize("material", MINED_TOO)
def test_a_material_that_is_mined_may_be_called_natural(rules: CompiledRules, material: str) -> None:
    answer = judge(rules, {"shape": "round", "material": material, "origin": "natural"})
    assert "consistency.made_material" not in verdicts(answer)


@pytest.mark.parametrize("grades", [{"color": "D"}, {"clarity": "VS1"}, {"color": "Z", "clarity": "FL"}])
def test_diamond_grades_of_another_material_are_noted(rules: CompiledRules, grades: Wire) -> None:
    stone = {"shape": "round", "material": "cubic_zirconia", **grades}
    assert verdicts(judge(rules, stone))["material.letters"] == "note"
    assert "material.letters" not in verdicts(judge(rules, {**stone, "material": "diamond"}))


# The rules as a book


def test_every_title_of_a_version_is_its_own(version: Release) -> None:
    titles = Counter(rule.title for kind in RULE_KINDS for rule in getattr(version.rules, kind))
    assert [title for title, times in titles.items() if times > 1] == []


def test_a_pass_at_the_edge_gives_no_warning_as_its_reason(rules: CompiledRules) -> None:
    tips = about(judge(rules, {"shape": "pear", "girdle_min": "medium"}), "durability.girdle.tips")
    edge = about(judge(rules, {"shape": "oval", "girdle_min": "medium"}), "durability.girdle.round")
    assert [tips["verdict"], edge["verdict"]] == ["pass", "pass"]
    assert not {word for found in (tips, edge) for word in found["reason"].split()} & {"chips", "chip"}


def test_neighboring_bands_of_a_floor_say_different_things(version: Release) -> None:
    twins = [
        floor.id
        for floor in version.rules.floors
        for one, other in zip(floor.bands, floor.bands[1:], strict=False)
        if (one.on_paper, one.if_seen) == (other.on_paper, other.if_seen)
    ]
    assert twins == []


def test_a_note_on_a_laboratory_cites_what_its_day_is_known_from(version: Release) -> None:
    sources = {source.id: source for source in version.rules.sources}
    (issuer,) = version.rules.issuers
    assert str(issuer.laboratory_grown_letters_until) == "2025-10-01"
    assert sources[issuer.source].href == sources["grown_assessment"].href


def test_a_round_is_not_the_only_cut_that_any_laboratory_grades(version: Release) -> None:
    because = next(rule.because for rule in version.rules.characters if rule.id == "character.round")
    assert "the only one that most laboratories grade for cut" in because
