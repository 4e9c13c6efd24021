"""Rings judged over the wire.

The numbers are worked out from the model by hand, or from the sources named beside them. Invariants:
1. the order of side stones changes nothing but the places that changes name;
2. a pair from anywhere in a window of side-stones has nothing against it among the rules of sides;
3. the change of a finding, applied, makes that rule's verdict better;
4. whatever fits the schema is answered, without a null number.
"""

import copy
from typing import Any

import httpx
import pytest

from gradefloor.rules.said import SEVERITY

EMERALD = {
    "shape": "emerald", "length_mm": 8.0, "width_mm": 5.8, "depth_pct": 65, "crown_height_pct": 13,
    "girdle_pct": 3.5, "girdle_min": "medium", "color": "G", "treatments": [],
}  # fmt: skip
LOW = {
    "head": "claw", "shank": "plain", "metal": "platinum", "orientation": "along", "shank_width_mm": 2.0,
    "culet_height_mm": 1.0, "basket_wire_mm": 0.8, "claw_overhang_mm": 0.35,
}  # fmt: skip
STRAIGHT = {"shape": "straight", "thickness_mm": 1.7}
US6 = {"system": "us", "size": "6"}


def trapezoids(length: float, family: str) -> list[dict[str, Any]]:
    stone = {"shape": "trapezoid", "facet_family": family, "length_mm": length, "width_mm": 3.0, "color": "G"}
    return [stone, stone]


def ask(client: httpx.Client, **ring: Any) -> Any:
    answer = client.post("/v1/pairings", json={"ruleset": "house@1.2.0", "as_of": "2026-11-25", **ring})
    assert answer.status_code == 200, answer.text
    return answer.json()


def finding(answer: Any, rule: str) -> Any:
    return next(found for found in answer["findings"] if found["rule"] == rule)


def test_a_long_step_cut_set_low_keeps_a_straight_band_away(client: httpx.Client) -> None:
    answer = ask(client, center=EMERALD, setting=LOW, wedding_band=STRAIGHT)
    assert answer["geometry"]["band_gap_mm"] == pytest.approx(1.62, abs=0.03)
    assert answer["geometry"]["flush"] is False
    after = {lever["lever"]: (lever["band_gap_mm"], lever["flush"]) for lever in answer["levers"]}
    assert after["raise_center"] == (0.0, True)
    assert after["turn_center"] == (pytest.approx(0.52, abs=0.03), False)
    assert {"thinner_band", "contour_band", "agree_on_gap"} <= set(after)
    assert finding(answer, "band.flush")["verdict"] == "ask"


@pytest.mark.parametrize(
    ("change", "gap", "verdict"),
    [
        ({"orientation": "across"}, 0.52, "ask"),
        ({"culet_height_mm": 1.9}, 0.0, "pass"),
        ({"orientation": "across", "culet_height_mm": 1.6}, 0.0, "pass"),
    ],
)
def test_turning_or_raising_the_center_closes_the_gap(
    client: httpx.Client, change: dict[str, Any], gap: float, verdict: str
) -> None:
    answer = ask(client, center=EMERALD, setting=LOW | change, wedding_band=STRAIGHT)
    assert answer["geometry"]["band_gap_mm"] == pytest.approx(gap, abs=0.03)
    assert finding(answer, "band.flush")["verdict"] == verdict


@pytest.mark.parametrize(("culet_mm", "verdict"), [(1.84, "ask"), (1.85, "pass"), (1.86, "pass")])
def test_less_than_fifteen_hundredths_of_room_asks_for_a_trial(
    client: httpx.Client, culet_mm: float, verdict: str
) -> None:
    answer = ask(client, center=EMERALD, setting=LOW | {"culet_height_mm": culet_mm}, wedding_band=STRAIGHT)
    assert answer["geometry"]["flush"] is True
    assert finding(answer, "band.trial")["verdict"] == verdict


def test_what_is_not_stated_is_assumed_by_name(client: httpx.Client) -> None:
    answer = ask(client, center={"shape": "emerald", "length_mm": 8.0, "width_mm": 5.8}, setting={},
                 wedding_band={})  # fmt: skip
    assumed = {assumption["field"] for assumption in answer["assumed"]}
    assert {"setting.basket_wire_mm", "setting.claw_overhang_mm", "setting.culet_height_mm",
            "center.depth_pct", "wedding_band.thickness_mm", "setting.orientation"} <= assumed  # fmt: skip


def test_a_measured_head_outranks_the_model(client: httpx.Client) -> None:
    measured = [{"height_mm": 0.5, "half_extent_mm": 0.9}, {"height_mm": 3.0, "half_extent_mm": 1.0}]
    answer = ask(
        client, center=EMERALD, setting=LOW | {"measured_clearance": measured}, wedding_band=STRAIGHT
    )
    assert answer["geometry"]["flush"] is True


def test_a_side_stone_longer_than_the_flank_fails(client: httpx.Client) -> None:
    answer = ask(client, center=EMERALD, setting=LOW, side_stones=trapezoids(7.0, "step"))
    flank = finding(answer, "sides.flank")
    assert flank["verdict"] == "fail"
    assert {change["value"] for change in flank["change"]} == {6.5}
    assert answer["geometry"]["flank_mm"] == 6.5


def test_two_rounds_as_wide_as_the_finger_fail(client: httpx.Client) -> None:
    sides = [{"shape": "round", "length_mm": 5.1, "width_mm": 5.1}] * 2
    center = {"shape": "round", "length_mm": 6.5, "width_mm": 6.5}
    answer = ask(client, center=center, setting=LOW, side_stones=sides, finger=US6)
    assert finding(answer, "sides.span")["verdict"] == "fail"
    assert answer["geometry"]["span_pct"] == pytest.approx(101, abs=0.5)


def test_brilliant_trapezoids_suit_a_radiant_and_not_an_emerald_cut(client: httpx.Client) -> None:
    sides = trapezoids(5.5, "brilliant")
    emerald = ask(client, center=EMERALD, setting=LOW, side_stones=sides)
    clash = finding(emerald, "sides.faceting.steps")
    assert (clash["verdict"], clash["topic"], emerald["verdict"]) == ("fail", "sides", "fail")
    radiant = ask(client, center=EMERALD | {"shape": "radiant"}, setting=LOW, side_stones=sides)
    assert finding(radiant, "sides.faceting.brilliants")["verdict"] == "pass"
    assert radiant["verdict"] == "pass"


def test_an_eternity_band_is_counted_by_chords(client: httpx.Client) -> None:
    band = {"stones": {"melee_mm": 2.0, "extent": "full"}}
    answer = ask(client, center={"shape": "round"}, setting={}, wedding_band=band, finger=US6)
    eternity = answer["geometry"]["eternity"]
    assert (eternity["count"], eternity["carat_total"], eternity["resizable"]) == (29, 0.9, False)
    assert {"role": "eternity", "count": 29}.items() <= answer["bill"][-1].items()


def test_a_halo_has_as_many_stones_on_both_halves(client: httpx.Client) -> None:
    center = {"shape": "emerald", "length_mm": 7.0, "width_mm": 5.0}
    answer = ask(client, center=center, setting={"halo": {"melee_mm": 1.2}})
    assert answer["geometry"]["halo"]["count"] == 20
    assert answer["geometry"]["halo"]["rows"][0]["fits"] == 21


def test_a_pear_in_claws_fails_with_a_v_or_a_bezel_as_remedy(client: httpx.Client) -> None:
    answer = ask(client, center={"shape": "pear", "carat": 1.5}, setting={"head": "claw"},
                 wearer={"wear": "active"})  # fmt: skip
    points = finding(answer, "setting.points")
    assert points["verdict"] == "fail"
    assert "V claws" in points["remedy"]
    assert "bezel" in points["remedy"]


def test_nickel_to_be_avoided_in_white_gold_asks_for_the_alloy(client: httpx.Client) -> None:
    answer = ask(client, center={"shape": "round"}, setting={"metal": "white_gold"},
                 wearer={"avoids": ["nickel"]})  # fmt: skip
    assert finding(answer, "wear.nickel")["verdict"] == "ask"
    assert "skin" in {caution["about"] for caution in answer["cautions"]}


def test_settings_are_ranked_where_none_is_given(client: httpx.Client) -> None:
    answer = ask(client, center=EMERALD, finger=US6)
    ranks = [SEVERITY[setting["verdict"]] for setting in answer["settings"]]
    assert ranks == sorted(ranks)
    assert answer["settings"][0]["style"] == "solitaire"
    assert ask(client, center=EMERALD, setting=LOW)["settings"] == []


def test_a_recommended_setting_gets_the_verdict_it_was_recommended_with(client: httpx.Client) -> None:
    for ranked in ask(client, center=EMERALD)["settings"]:
        assert ask(client, center=EMERALD, setting=ranked["setting"])["verdict"] == ranked["verdict"]


def test_the_order_of_side_stones_changes_nothing(client: httpx.Client) -> None:
    left, right = trapezoids(5.5, "step")[0], {**trapezoids(5.62, "step")[0], "color": "J"}
    one = ask(client, center=EMERALD, setting=LOW, side_stones=[left, right], finger=US6)
    other = ask(client, center=EMERALD, setting=LOW, side_stones=[right, left], finger=US6)
    for answer in (one, other):
        for found in answer["findings"]:
            del found["change"]
    assert one == other


@pytest.mark.parametrize(
    "shape", ["emerald", "asscher", "radiant", "princess", "oval", "round", "pear", "heart"]
)
def test_every_pair_of_a_side_stone_window_passes(client: httpx.Client, shape: str) -> None:
    center = {"shape": shape, "length_mm": 7.6, "width_mm": 6.4, "color": "G"}
    request = {"center": center, "finger": US6, "ruleset": "house@1.2.0"}
    windows = client.post("/v1/side-stones", json=request).json()["windows"]
    assert windows
    for window in windows:
        for length, width in zip(window["length_mm"], window["width_mm"], strict=True):
            stone = {key: window[key] for key in ("shape", "facet_family")}
            stone |= {"length_mm": length, "width_mm": width, "color": "G"}
            answer = ask(client, center=center, setting=LOW, side_stones=[stone] * 2, finger=US6)
            against = [f for f in answer["findings"] if f["topic"] == "sides" and SEVERITY[f["verdict"]]]
            assert against == [] or window["verdict"] != "pass", (window["shape"], against)


def test_a_center_without_millimetres_is_asked_for_them(client: httpx.Client) -> None:
    answer = client.post("/v1/side-stones", json={"center": {"shape": "oval"}}).json()
    assert answer["windows"] == []
    assert answer["questions"][0]["about"] == "center.length_mm"


def _apply(ring: dict[str, Any], path: str, value: Any) -> None:
    *around, last = path.split(".")
    part: Any = ring
    for step in around:
        part = part[int(step)] if isinstance(part, list) else part.setdefault(step, {})
    if value is None:
        part.pop(last, None)
    else:
        part[last] = value


RINGS: dict[str, dict[str, Any]] = {
    "low": {"center": EMERALD, "setting": LOW, "wedding_band": STRAIGHT},
    "refused": {"center": EMERALD, "setting": LOW, "wedding_band": STRAIGHT | {"accepts_gap": False}},
    "long sides": {"center": EMERALD, "setting": LOW, "side_stones": trapezoids(7.0, "step"), "finger": US6},
    "clash": {"center": EMERALD, "setting": LOW, "side_stones": trapezoids(5.5, "brilliant")},
    "unequal": {"center": EMERALD, "setting": LOW, "side_stones": [
        trapezoids(5.5, "step")[0], trapezoids(5.9, "step")[0] | {"color": "M"}]},
    "wide": {"center": EMERALD, "setting": LOW, "finger": US6, "side_stones": [
        {"shape": "round", "length_mm": 5.1, "width_mm": 5.1}] * 2},
    "thin": {"center": EMERALD | {"carat": 2.5}, "setting": LOW | {
        "shank_width_mm": 1.4, "shank_thickness_mm": 1.3, "shank": "pave", "shank_melee_mm": 1.5,
        "claws": {"count": 3, "wire_mm": 0.6}, "bezel_wall_mm": 0.3, "split_leg_mm": 1.0,
        "culet_height_mm": 0.5, "melee_color": "D"}},
    "pear": {"center": {"shape": "pear", "girdle_min": "medium"}, "setting": {"head": "claw"}},
    "tension": {"center": {"shape": "round"}, "setting": {"head": "tension"}},
    "nickel": {"center": {"shape": "round"}, "setting": {"metal": "white_gold"},
               "wearer": {"avoids": ["nickel"]}},
    "high": {"center": {"shape": "round", "depth_mm": 4.0}, "setting": {"culet_height_mm": 4.0},
             "wearer": {"wear": "active"}},
    "huge": {"center": {"shape": "oval", "length_mm": 30.0, "width_mm": 20.0}, "setting": {}, "finger": US6},
}  # fmt: skip


@pytest.mark.parametrize("name", list(RINGS))
def test_every_change_makes_its_finding_better(client: httpx.Client, name: str) -> None:
    ring = RINGS[name]
    tried = 0
    for found in ask(client, **ring)["findings"]:
        if not SEVERITY[found["verdict"]] or not found["change"]:
            continue
        changed = copy.deepcopy(ring)
        for change in found["change"]:
            _apply(changed, change["field"], change["value"])
        after = {f["rule"]: f["verdict"] for f in ask(client, **changed)["findings"]}
        assert SEVERITY[after.get(found["rule"], "silent")] < SEVERITY[found["verdict"]], found
        tried += 1
    assert tried


@pytest.mark.parametrize(
    ("ring", "pointer"),
    [
        ({"center": {"shape": "round", "length_mm": 0}}, "/center/length_mm"),
        ({"center": {"shape": "round"}, "finger": {"system": "us", "size": "99"}}, "/finger/size"),
        ({"center": {"shape": "round"}, "finger": {"system": "iso", "size": "L"}}, "/finger/size"),
        ({"center": {"shape": "round"}, "setting": {"halo": {"melee_mm": 9}}}, "/setting/halo/melee_mm"),
        ({"center": {"shape": "round"}, "setting": {"shank_width_mm": -1}}, "/setting/shank_width_mm"),
        ({"center": {"shape": "round"}, "side_stones": []}, "/side_stones"),
        ({"center": {"shape": "round"}, "setting": {"head": "glue"}}, "/setting/head"),
    ],
)
def test_nonsense_is_refused_with_its_place(client: httpx.Client, ring: dict[str, Any], pointer: str) -> None:
    answer = client.post("/v1/pairings", json=ring)
    assert answer.status_code == 422
    assert pointer in {error["pointer"] for error in answer.json()["errors"]}


def test_a_halo_larger_than_the_finger_is_a_finding(client: httpx.Client) -> None:
    center = {"shape": "round", "length_mm": 14.0, "width_mm": 14.0}
    halo = {"rows": 3, "melee_mm": 3.5}
    answer = ask(client, center=center, setting={"halo": halo}, finger=US6)
    assert finding(answer, "setting.coverage")["verdict"] == "fail"


def test_a_version_without_rules_about_rings_says_so(client: httpx.Client) -> None:
    for path in ("/v1/pairings", "/v1/side-stones"):
        answer = client.post(path, json={"center": {"shape": "round"}, "ruleset": "house@1.1.0"})
        assert (answer.status_code, answer.json()["code"]) == (404, "rules_missing")
