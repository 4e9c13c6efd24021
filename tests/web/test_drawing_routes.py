"""Drawings over HTTP: the same numbers as the other routes tell, strict addresses, steady bytes.

All stones are invented.
"""

import re
from typing import Any, Final
from urllib.parse import urlencode
from xml.etree import ElementTree as ET

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradefloor.trade.shapes import SHAPES
from raw import CANARY, Wire, named, problem

SVG: Final = "{http://www.w3.org/2000/svg}"
STONE: Final = "shape=emerald&length_mm=8.21&width_mm=5.6"
RING: Final = (
    "shape=oval&length_mm=8.5&width_mm=6.2&halo_rows=2&halo_melee_mm=1.3&side_shape=half_moon&side_length_mm=5"
    "&side_width_mm=2.4&size=6&system=us&orientation=along"
)
BAND: Final = f"{STONE}&depth_pct=66&band_thickness_mm=1.8&band_width_mm=2.2&culet_height_mm=1.2"
QUERIES: Final = {
    "/v1/drawings/stone.svg": STONE,
    "/v1/drawings/stones.svg": "shapes=emerald,oval&lengths_mm=8.0,9.1&widths_mm=5.8,6.4",
    "/v1/drawings/finger.svg": f"{STONE}&size=6&system=us&orientation=along",
    "/v1/drawings/side.svg": f"{STONE}&depth_pct=66&table_pct=62&culet=none",
    "/v1/drawings/ring.svg": RING,
    "/v1/drawings/band.svg": BAND,
    "/v1/drawings/ratios/emerald.svg": "ruleset=house@1.3.0&as_of=2026-11-25",
}
TARGETS: Final = [f"{path}?{query}" for path, query in QUERIES.items()]


def _words(answer: httpx.Response) -> str:
    assert answer.status_code == 200, answer.text
    return " ".join(e.text or "" for e in ET.fromstring(answer.content).iter(f"{SVG}text"))  # noqa: S314 - ours


def _errors(answer: httpx.Response) -> list[str]:
    assert answer.status_code == 422, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["code"] == "query_invalid"
    return [error["pointer"] for error in answer.json()["errors"]]


@pytest.mark.parametrize("target", TARGETS)
def test_a_drawing_is_an_svg_that_may_be_kept_and_runs_nothing(client: httpx.Client, target: str) -> None:
    answer = client.get(target)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert ET.fromstring(answer.content).tag == f"{SVG}svg"  # noqa: S314 - our own


@pytest.mark.parametrize("path", [path for path in QUERIES if "ratios" not in path])
def test_a_drawing_of_measures_keeps_for_five_minutes(client: httpx.Client, path: str) -> None:
    assert client.get(f"{path}?{QUERIES[path]}").headers["cache-control"] == "public, max-age=300"


@pytest.mark.parametrize(
    ("query", "kept"),
    [
        ("ruleset=house@1.3.0&as_of=2026-11-25", "public, max-age=31536000, immutable"),
        ("ruleset=house@1.3.0", "public, max-age=300"),
        ("ruleset=house&as_of=2026-11-25", "public, max-age=300"),
        ("", "public, max-age=300"),
    ],
)
def test_a_drawing_of_rules_keeps_as_long_as_they_are_sure_to(
    client: httpx.Client, query: str, kept: str
) -> None:
    assert client.get(f"/v1/drawings/ratios/oval.svg?{query}").headers["cache-control"] == kept


@pytest.mark.parametrize("target", TARGETS)
def test_who_has_a_drawing_is_not_sent_it_again(client: httpx.Client, target: str) -> None:
    first = client.get(target)
    again = client.get(target, headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["etag"] == first.headers["etag"]
    assert client.get(target, headers={"If-None-Match": '"other"'}).content == first.content


@pytest.mark.parametrize("target", TARGETS)
def test_head_answers_like_get_without_bytes(wire: Wire, target: str) -> None:
    head, whole = wire.ask("HEAD", target), wire.get(target)
    assert (head.status, head.body) == (200, b"")
    assert head.steady_headers == whole.steady_headers


def test_the_order_of_parameters_changes_nothing(client: httpx.Client) -> None:
    turned = "&".join(reversed(RING.split("&")))
    one, other = (client.get(f"/v1/drawings/ring.svg?{query}") for query in (RING, turned))
    assert one.content == other.content


def test_another_process_draws_the_same_bytes(client: httpx.Client, elsewhere: httpx.Client) -> None:
    assert [elsewhere.get(t).content for t in TARGETS] == [client.get(t).content for t in TARGETS]


# The same numbers as the other routes


def _pairing(client: httpx.Client, **parts: Any) -> dict[str, Any]:
    answer = client.post("/v1/pairings", json={"ruleset": "house@1.3.0", "as_of": "2026-11-25", **parts})
    assert answer.status_code == 200, answer.text
    geometry: dict[str, Any] = answer.json()["geometry"]
    return geometry


def test_a_drawn_ring_tells_what_its_pairing_tells(client: httpx.Client) -> None:
    side = {"shape": "half_moon", "length_mm": 5, "width_mm": 2.4}
    geometry = _pairing(
        client,
        center={"shape": "oval", "length_mm": 8.5, "width_mm": 6.2},
        setting={"halo": {"rows": 2, "melee_mm": 1.3}, "orientation": "along"},
        side_stones=[side, side],
        finger={"system": "us", "size": "6"},
    )
    answer = client.get(f"/v1/drawings/ring.svg?{RING}")
    words = _words(answer)
    assert f"span {geometry['span_mm']:.2f} mm" in words
    assert f"span {geometry['span_pct']} % of it" in words
    assert f"covers {geometry['coverage_pct']} % of the finger" in words
    assert f"finger {geometry['finger']['inner_diameter_mm']} mm" in words
    assert answer.text.count('data-part="melee"') == geometry["halo"]["count"]


@pytest.mark.parametrize("extra", ["", "&culet_height_mm=3", "&orientation=across", "&gallery_bottom_mm=1.3"])
def test_a_drawn_gap_is_the_one_its_pairing_tells(client: httpx.Client, extra: str) -> None:
    setting: dict[str, Any] = dict(part.split("=") for part in extra.split("&") if part)
    if "culet_height_mm" in setting:
        setting["culet_height_mm"] = 3
    if setting.pop("gallery_bottom_mm", None):
        setting["gallery"] = {"bottom_mm": 1.3}
    geometry = _pairing(
        client,
        center={"shape": "emerald", "length_mm": 8.21, "width_mm": 5.6, "depth_pct": 66},
        setting=setting,
        wedding_band={"width_mm": 2.2, "thickness_mm": 1.8},
    )
    query = f"{STONE}&depth_pct=66&band_thickness_mm=1.8&band_width_mm=2.2{extra}"
    words = _words(client.get(f"/v1/drawings/band.svg?{query}"))
    if geometry["flush"]:
        assert "no gap" in words
    else:
        assert f"gap {geometry['band_gap_mm']:.2f} mm" in words
        assert f"The {geometry['band_obstacle']} keeps the band" in words


def test_a_drawn_area_is_the_one_an_evaluation_measures(client: httpx.Client) -> None:
    measures = client.get(f"/v1/evaluations?{STONE}").json()["measures"]
    assert f"{measures['face_up_mm2']:.1f} mm²" in _words(client.get(f"/v1/drawings/stone.svg?{STONE}"))


@pytest.mark.parametrize("shape", ["emerald", "oval", "heart", "round", "princess", "asscher"])
def test_drawn_bands_are_those_of_the_rule_set(client: httpx.Client, shape: str) -> None:
    rules = client.get("/v1/rulesets/house/1.3.0").json()["rules"]
    (look,) = (look for look in rules["looks"] if shape in look["shapes"])
    words = _words(client.get(f"/v1/drawings/ratios/{shape}.svg?ruleset=house@1.3.0"))
    for band in look["bands"]:
        assert band["look"].replace("_", " ") in words
        assert all(
            f"{float(band[end]):.2f}" in words for end in ("from", "below") if band.get(end) is not None
        )


# What is refused


@pytest.mark.parametrize("shape", ["portrait", "mixed_cut", "rose", "epaulette", "cadillac", "kite"])
@pytest.mark.parametrize("drawing", ["stone", "side", "ring", "band"])
def test_a_shape_without_an_outline_is_a_problem_and_no_picture(
    client: httpx.Client, drawing: str, shape: str
) -> None:
    query = f"shape={shape}&length_mm=7&width_mm=6" + ("&depth_pct=60" if drawing in {"side", "band"} else "")
    answer = client.get(f"/v1/drawings/{drawing}.svg?{query}")
    assert _errors(answer) == ["/shape"]
    assert "emerald" in answer.json()["errors"][0]["allowed"]


@pytest.mark.parametrize(
    ("path", "query", "pointers"),
    [
        ("stone", "shape=oval&length_mm=8", ["/width_mm"]),
        ("stone", "shape=oval&length_mm=8&width_mm=0.9", ["/length_mm"]),
        ("stone", f"{STONE}&corner_mm=2.81", ["/corner_mm"]),
        ("stone", f"{STONE}&size=6", ["/size"]),
        ("stone", f"{STONE}&title=x", ["/title"]),
        ("stones", "shapes=oval,rose&lengths_mm=8,8&widths_mm=6,6", ["/shapes"]),
        ("stones", "shapes=oval,oval&lengths_mm=8&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,8,8&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,8&widths_mm=6,6,6,6", ["/widths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,201&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,0&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,-7&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,1e400&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,.5&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval,oval&lengths_mm=8,NaN&widths_mm=6,6", ["/lengths_mm"]),
        ("stones", "shapes=oval&lengths_mm=8&widths_mm=6", ["/shapes", "/lengths_mm", "/widths_mm"]),
        ("stones", f"shapes={','.join(['oval'] * 7)}&lengths_mm=8,8&widths_mm=6,6", ["/shapes"]),
        ("stones", "shapes=oval,,oval&lengths_mm=8,8&widths_mm=6,6", ["/shapes"]),
        ("stones", "", ["/shapes", "/lengths_mm", "/widths_mm"]),
        ("finger", STONE, ["/system", "/size"]),
        ("finger", f"{STONE}&system=us&size=17", ["/size"]),
        ("finger", f"{STONE}&system=us&size=L", ["/size"]),
        ("finger", f"{STONE}&system=uk&size=6", ["/size"]),
        ("finger", f"{STONE}&system=us&size=6&orientation=upwards", ["/orientation"]),
        ("side", f"{STONE}&depth_pct=10", ["/depth_pct"]),
        ("side", f"{STONE}&culet=huge", ["/culet"]),
        ("side", "shape=hexagon&length_mm=6&width_mm=6", ["/depth_pct"]),
        ("ring", f"{STONE}&system=us", ["/size"]),
        ("ring", f"{STONE}&side_shape=trapezoid", ["/side_length_mm", "/side_width_mm"]),
        ("ring", f"{STONE}&side_shape=epaulette&side_length_mm=4&side_width_mm=3", ["/side_shape"]),
        ("ring", f"{STONE}&halo_rows=4", ["/halo_rows"]),
        ("ring", f"{STONE}&halo_rows=1.5", ["/halo_rows"]),
        ("ring", f"{STONE}&halo_melee_mm=4", ["/halo_melee_mm"]),
        ("ring", "shape=round&length_mm=1&width_mm=1&halo_melee_mm=3.5", ["/halo_melee_mm"]),
        ("band", f"{STONE}&gallery_half_extent_mm=3", ["/gallery_bottom_mm"]),
        ("band", f"{STONE}&band_width_mm=31", ["/band_width_mm"]),
        ("ratios/oval", "shape=oval", ["/shape"]),
        ("ratios/oval", "as_of=yesterday", ["/as_of"]),
    ],
)
def test_a_parameter_that_does_not_fit_is_named(
    client: httpx.Client, path: str, query: str, pointers: list[str]
) -> None:
    assert _errors(client.get(f"/v1/drawings/{path}.svg?{query}")) == pointers


@pytest.mark.parametrize(
    "query",
    named(
        {
            "nothing": "",
            "repeat": f"{STONE}&shape=emerald",
            "unknown name": f"{STONE}&unknown={CANARY}",
            "unknown word": f"shape={CANARY}&length_mm=8&width_mm=6",
            "mark-up": "shape=%3Cscript%3E&length_mm=8&width_mm=6",
            "not a number": "shape=oval&length_mm=NaN&width_mm=6",
            "infinite": "shape=oval&length_mm=Infinity&width_mm=6",
            "too large for a number": "shape=oval&length_mm=1e400&width_mm=6",
            "too large for a stone": "shape=oval&length_mm=200.001&width_mm=60",
            "no millimetres": "shape=oval&length_mm=0&width_mm=0",
            "negative": "shape=oval&length_mm=-8&width_mm=6",
            "comma": "shape=oval&length_mm=8,0&width_mm=6",
            "empty": "shape=oval&length_mm=&width_mm=6",
            "rule set": f"{STONE}&ruleset=house",
            "not utf-8": f"{STONE}&corner_mm=%FF",
        }
    ),
)
@pytest.mark.parametrize("path", [path for path in QUERIES if "ratios" not in path])
def test_a_hostile_address_is_refused_and_not_repeated(wire: Wire, path: str, query: str) -> None:
    problem(wire.get(f"{path}?{query}"), 422, "query_invalid")


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("/v1/drawings/ratios/baguette.svg", "rules_missing"),
        ("/v1/drawings/ratios/rose.svg", "rules_missing"),
        ("/v1/drawings/ratios/oval.svg?ruleset=wording", "rules_missing"),
        (f"/v1/drawings/ratios/{CANARY}.svg", "not_found"),
        ("/v1/drawings/ratios/OVAL.svg", "not_found"),
        ("/v1/drawings/ratios/oval", "not_found"),
        ("/v1/drawings/ratios/oval.svg?ruleset=nobody", "ruleset_unknown"),
        ("/v1/drawings/ratios/oval.svg?ruleset=house@9", "version_unknown"),
        ("/v1/drawings", "not_found"),
        ("/v1/drawings/stone", "not_found"),
        (f"/v1/drawings/{CANARY}.svg", "not_found"),
    ],
)
def test_what_has_no_drawing_is_not_found(wire: Wire, path: str, code: str) -> None:
    problem(wire.get(path), 404, code)


@pytest.mark.parametrize("path", QUERIES)
def test_a_drawing_is_only_read(wire: Wire, path: str) -> None:
    answer = wire.post("{}", path)
    problem(answer, 405, "method_not_allowed")
    assert answer.headers["allow"] == "GET, HEAD"


# Whatever the wire takes

_MEASURE: Final = st.floats(0.001, 200).map(lambda value: round(value, 3)) | st.floats(1, 12)
_RINGS: Final = st.fixed_dictionaries(
    {"shape": st.sampled_from(sorted(SHAPES)), "length_mm": _MEASURE, "width_mm": _MEASURE},
    optional={
        "corner_mm": _MEASURE,
        "halo_rows": st.integers(1, 3),
        "halo_melee_mm": st.floats(0.8, 3.5),
        "shank_width_mm": st.floats(0.1, 30),
        "shank_thickness_mm": st.floats(0.1, 30),
        "orientation": st.sampled_from(["along", "across"]),
    },
)
_SIDES: Final[st.SearchStrategy[dict[str, Any]]] = st.just({}) | st.fixed_dictionaries(
    {"side_shape": st.sampled_from(sorted(SHAPES)), "side_length_mm": _MEASURE, "side_width_mm": _MEASURE}
)
_FINGERS: Final[st.SearchStrategy[dict[str, Any]]] = (
    st.just({}) | st.just({"system": "iso", "size": "41"}) | st.just({"system": "us", "size": "16"})
)
_BANDS: Final = st.fixed_dictionaries(
    {},
    optional={
        "depth_mm": _MEASURE,
        "depth_pct": st.floats(0.1, 200),
        "table_pct": st.floats(0.01, 100),
        "crown_height_pct": st.floats(0.01, 100),
        "girdle_pct": st.floats(0.01, 100),
        "culet_height_mm": _MEASURE,
        "band_width_mm": st.floats(0.1, 30),
        "band_thickness_mm": st.floats(0.1, 30),
        "gallery_bottom_mm": st.floats(0.1, 30),
        "basket_wire_mm": st.floats(0.1, 30),
        "claw_overhang_mm": st.floats(0.1, 30),
    },
)


def _drawn_or_refused(client: httpx.Client, path: str, query: dict[str, Any]) -> None:
    answer = client.get(f"{path}?{urlencode(query)}")
    assert answer.status_code in {200, 422}, (query, answer.text)
    if answer.status_code == 200:
        assert not re.search(r"nan|inf[ \"]", answer.text)
        ET.fromstring(answer.content)  # noqa: S314 - our own


@given(_RINGS, _SIDES, _FINGERS)
def test_any_ring_is_drawn_or_refused(
    client: httpx.Client, ring: dict[str, Any], side: dict[str, Any], finger: dict[str, Any]
) -> None:
    _drawn_or_refused(client, "/v1/drawings/ring.svg", {**ring, **side, **finger})


@given(_RINGS, _BANDS)
def test_any_band_is_drawn_or_refused(
    client: httpx.Client, ring: dict[str, Any], band: dict[str, Any]
) -> None:
    _drawn_or_refused(client, "/v1/drawings/band.svg", {**ring, **band})


# The contract


def test_the_contract_tells_the_media_type(client: httpx.Client) -> None:
    paths = client.get("/openapi.json").json()["paths"]
    drawn = {path: methods for path, methods in paths.items() if path.startswith("/v1/drawings/")}
    assert len(drawn) == len(QUERIES)
    for methods in drawn.values():
        assert list(methods) == ["get"]
        assert list(methods["get"]["responses"]["200"]["content"]) == ["image/svg+xml"]
        assert {"304", "422"} <= set(methods["get"]["responses"])
        for parameter in methods["get"]["parameters"]:
            assert parameter["description"], parameter["name"]
