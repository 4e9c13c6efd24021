"""Requests that the contract shows. The stones are invented; the tests replay every one of them."""

from typing import Any, Final

import orjson

_EMERALD: Final = {
    "shape": "emerald",
    "carat": 1.46,
    "color": "I",
    "clarity": "VS2",
    "length_mm": 7.69,
    "width_mm": 5.65,
    "depth_mm": 3.73,
    "table_pct": 66,
}
_RADIANT: Final = {
    "shape": "radiant",
    "carat": 2.18,
    "color": "H",
    "clarity": "SI1",
    "length_mm": 8.4,
    "width_mm": 6.56,
    "depth_mm": 4.4,
}

_CENTER: Final = {
    "shape": "emerald",
    "color": "G",
    "length_mm": 8.0,
    "width_mm": 5.8,
    "depth_pct": 65,
    "crown_height_pct": 13,
    "girdle_pct": 3.5,
    "girdle_min": "medium",
    "treatments": [],
}
_LOW_HEAD: Final = {
    "head": "claw",
    "shank": "plain",
    "metal": "platinum",
    "orientation": "along",
    "shank_width_mm": 2.0,
    "culet_height_mm": 1.0,
}
_TRAPEZOID: Final = {
    "shape": "trapezoid",
    "facet_family": "step",
    "length_mm": 7.0,
    "width_mm": 3.0,
    "color": "G",
}


_STOCK: Final = [
    {**_EMERALD, "id": "tray-1", "origin": "natural", "price": 7900},
    {
        "id": "tray-2", "shape": "emerald", "origin": "natural",
        "carat": 1.72, "color": "H", "clarity": "VS1",
        "length_mm": 8.2, "width_mm": 5.9, "depth_mm": 3.85, "price": 10400,
    },
    {
        "id": "tray-3", "shape": "emerald", "origin": "natural",
        "carat": 1.55, "color": "F", "clarity": "VS1",
        "length_mm": 7.9, "width_mm": 5.6, "depth_mm": 3.7, "price": 11800,
    },
    {
        "id": "tray-4", "shape": "emerald", "origin": "natural",
        "carat": 1.35, "color": "G", "clarity": "VS1",
        "length_mm": 7.5, "width_mm": 5.4, "depth_mm": 3.5, "price": 6900,
    },
    {
        "id": "tray-5", "shape": "emerald", "origin": "natural",
        "carat": 1.60, "color": "G", "clarity": "SI2",
        "length_mm": 8.0, "width_mm": 5.75, "depth_mm": 3.75, "price": 6100,
    },
]  # fmt: skip
_CALM_WISH: Final = {
    "tastes": ["calm", "broad_flashes", "long"],
    "carat": [1.6],
    "metal": "rose_gold",
    "warmth": "unwelcome",
}
_NOW: Final = {"ruleset": "house@1.3.0", "as_of": "2026-11-25"}

BODIES: Final[dict[str, dict[str, dict[str, Any]]]] = {
    "evaluateStone": {
        "emerald_to_be_seen": {
            "summary": "An invented emerald cut whose clarity has to be seen",
            "value": {
                "stone": _EMERALD,
                "context": {"metal": "platinum"},
                "ruleset": "house@1.0.0",
                "as_of": "2026-11-25",
            },
        },
        "radiant_whose_bow_tie_is_unknown": {
            "summary": "An invented long radiant: numbers fine, bow-tie unknown",
            "value": {
                "stone": {**_RADIANT, "id": "tray-7/3", "origin": "natural"},
                "context": {"metal": "platinum", "position": "center", "jewelry": "ring"},
                "ruleset": "house@1.0.0",
                "as_of": "2026-11-25",
            },
        },
        "princess_with_a_thin_girdle": {
            "summary": "An invented princess that would chip in claws",
            "value": {
                "stone": {
                    "shape": "princess",
                    "carat": 1.01,
                    "color": "G",
                    "clarity": "VS2",
                    "girdle_min": "very_thin",
                    "girdle_max": "medium",
                },
                "context": {"metal": "platinum", "jewelry": "ring", "protection": "claws"},
                "ruleset": "house@1.0.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "evaluateStones": {
        "two_stones_and_a_mistake": {
            "summary": "Two invented stones, and one that cannot be read",
            "value": {
                "stones": [_EMERALD, _RADIANT, {"shape": "emerald", "carat": -1}],
                "context": {"metal": "platinum"},
                "ruleset": "strict@1.0.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "readRows": {
        "two_rows_nobody_cleaned": {
            "summary": "Two invented rows as a supplier might send them",
            "value": {
                "rows": [
                    {
                        "Shape": "SQ EM",
                        "Cts": "1,51",
                        "Color": "G/H",
                        "Clarity": "VS 1",
                        "Measurements": "6.52*6.48*4.31 mm",
                        "Depth": "66.5%",
                        "Fluor": "None",
                        "Box": "17",
                    },
                    {
                        "Shape": "RB",
                        "Cts": "1.20",
                        "Color": "F",
                        "Clarity": "VS2",
                        "Measurements": "6.45-6.48x3.98",
                        "Depth": "61.6",
                        "Fluor": "",
                        "Box": "18",
                    },
                ],
                "origin": "natural",
                "ruleset": "house@1.1.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "judgeRing": {
        "emerald_that_pushes_the_band_away": {
            "summary": "An invented long emerald cut set low, side stones too long for it, a straight band",
            "value": {
                "center": _CENTER,
                "setting": _LOW_HEAD,
                "side_stones": [_TRAPEZOID, _TRAPEZOID],
                "wedding_band": {"shape": "straight", "thickness_mm": 1.7},
                "finger": {"size": "6", "system": "us"},
                "wearer": {"wear": "everyday"},
                "ruleset": "house@1.2.0",
                "as_of": "2026-11-25",
            },
        },
        "pear_without_a_setting": {
            "summary": "An invented pear that wants a setting, and a finger",
            "value": {
                "center": {
                    "shape": "pear",
                    "carat": 1.5,
                    "color": "G",
                    "length_mm": 9.4,
                    "width_mm": 6.1,
                    "girdle_min": "medium",
                },
                "finger": {"size": "L½", "system": "uk"},
                "wearer": {"wear": "active"},
                "ruleset": "house@1.2.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "orderSideStones": {
        "sides_for_an_emerald": {
            "summary": "Side stones for an invented emerald cut on US size 6",
            "value": {
                "center": _CENTER,
                "finger": {"size": "6", "system": "us"},
                "ruleset": "house@1.2.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "specifyWish": {
        "calm_and_long_in_rose_gold": {
            "summary": "An invented wish whose metal and warmth contradict each other",
            "value": {"wish": _CALM_WISH, **_NOW},
        },
        "low_and_flush_within_a_budget": {
            "summary": "A low emerald cut, a flush band, a budget, and a small invented list",
            "value": {
                "wish": {
                    "shapes": ["emerald"],
                    "carat": [1.5, 1.8],
                    "metal": "platinum",
                    "setting": {"height": "low"},
                    "wedding_band": {"accepts_gap": False},
                    "budget": {
                        "amount": [9000, 13000],
                        "currency": "EUR",
                        "covers": "ring",
                        "tax_included": True,
                        "tax_pct": 20,
                        "setting_cost": 1800,
                    },
                },
                "stones": _STOCK,
                **_NOW,
            },
        },
        "moissanite": {
            "summary": "A substitute, by millimetres and its own classes",
            "value": {"wish": {"shapes": ["emerald"], "carat": [1.5], "materials": ["moissanite"]}, **_NOW},
        },
    },
    "shortlistStones": {
        "emerald_cuts_of_one_list": {
            "summary": "Five invented emerald cuts, one of them below a floor",
            "value": {
                "wish": {
                    "shapes": ["emerald"],
                    "carat": [1.5, 1.8],
                    "metal": "platinum",
                    "priorities": ["size"],
                },
                "currency": "EUR",
                "stones": _STOCK,
                **_NOW,
            },
        },
    },
    "compareStones": {
        "round_emerald_radiant": {
            "summary": "Three invented stones of one weight",
            "value": {
                "stones": [
                    {
                        "shape": "round",
                        "carat": 2.2,
                        "color": "H",
                        "clarity": "VS2",
                        "cut_grade": "excellent",
                        "length_mm": 8.38,
                        "width_mm": 8.35,
                        "depth_mm": 5.16,
                        "price": 19800,
                    },
                    {
                        "shape": "emerald",
                        "carat": 2.2,
                        "color": "G",
                        "clarity": "VS1",
                        "length_mm": 8.6,
                        "width_mm": 6.35,
                        "depth_mm": 4.24,
                        "price": 17200,
                    },
                    {
                        "shape": "radiant",
                        "carat": 2.2,
                        "color": "H",
                        "clarity": "SI1",
                        "length_mm": 8.25,
                        "width_mm": 6.6,
                        "depth_mm": 4.42,
                        "price": 13900,
                    },
                ],
                "context": {"metal": "platinum"},
                **_NOW,
            },
        },
        "shapes_before_there_is_a_stone": {
            "summary": "Two shapes at one weight",
            "value": {
                "shapes": ["emerald", "radiant"],
                "carat": 1.5,
                "context": {"metal": "platinum"},
                **_NOW,
            },
        },
    },
    "askOpinions": {
        "house_and_strict": {
            "summary": "An invented emerald cut that one school trusts and the other does not",
            "value": {
                "stone": {**_EMERALD, "observations": {"eye_clean": True}},
                "context": {"metal": "platinum"},
                "rulesets": ["house@1.3.0", "strict@1.3.0"],
                "as_of": "2026-11-25",
            },
        },
    },
    "annotateListings": {
        "emerald_in_two_markets": {
            "summary": "An invented emerald cut as an English and a French page list it",
            "value": {
                "listings": [
                    {
                        "stone": {**_EMERALD, "id": "tray-1", "origin": "natural"},
                        "context": {"metal": "platinum"},
                        "title": "Emerald cut natural diamond",
                        "description": "A calm stone, 1.46 ct, graded I and VS2.",
                        "price": {"amount": 7900, "currency": "EUR"},
                        "url": "https://shop.example/tray-1",
                        "market": "UK",
                    },
                    {
                        "stone": {**_EMERALD, "id": "tray-9", "origin": "laboratory_grown"},
                        "description": "Un diamant de laboratoire d'une grande sérénité.",
                        "market": "FR",
                    },
                ],
                "ruleset": "house@1.3.0",
                "wording_ruleset": "wording@1.0.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "auditWording": {
        "perfect_half_carat": {
            "summary": "Invented copy that claims more than its stone has, and one that does not",
            "value": {
                "texts": [
                    {
                        "id": "window-1",
                        "text": "Perfect 1/2 ct blue-white diamond",
                        "market": "US",
                        "carat": 0.50,
                        "clarity": "VS1",
                        "color": "I",
                    },
                    {
                        "id": "window-2",
                        "text": "Diamant de laboratoire de 0,80 ct",
                        "market": "FR",
                        "origin": "laboratory_grown",
                        "carat": 0.80,
                    },
                    {
                        "id": "window-3",
                        "title": "Emerald cut natural diamond, 1.46 ct",
                        "text": "Graded VS2 and I. Not flawless: a small feather shows under a loupe.",
                        "market": "UK",
                        "origin": "natural",
                        "shape": "emerald",
                        "carat": 1.46,
                        "clarity": "VS2",
                        "color": "I",
                    },
                ],
                "ruleset": "wording@1.0.0",
                "as_of": "2026-11-25",
            },
        },
    },
    "readLead": {
        "emerald_by_march": {
            "summary": "An invented message",
            "value": {
                "lead": {
                    "id": "L-2047",
                    "message": "Looking for something like a 2ct emerald, budget around 15-20k all in, she's "
                    "about a 6, want the band flush, proposing in March",
                },
                **_NOW,
            },
        },
        "what_is_it_worth": {
            "summary": "A question that an appraiser answers",
            "value": {
                "lead": {
                    "message": "What is my grandmother's ring worth? I need a figure for the insurance."
                },
                **_NOW,
            },
        },
    },
    "measureImpact": {
        "a_weight_that_cannot_be": {
            "summary": "Two invented stones, of which one weighs too much for its dimensions",
            "value": {
                "from": "1.0.0",
                "to": "1.1.0",
                "as_of": "2026-11-25",
                "stones": [
                    {**_EMERALD, "id": "tray-1"},
                    {
                        "id": "tray-9",
                        "shape": "round",
                        "carat": 1.2,
                        "color": "F",
                        "clarity": "VS1",
                        "cut_grade": "excellent",
                        "length_mm": 6.45,
                        "width_mm": 6.48,
                        "depth_mm": 3.98,
                        "report": {"issuer": "GIA", "comments": []},
                        "treatments": [],
                    },
                ],
            },
        },
    },
    "evaluateStream": {
        "two_lines_and_a_mistake": {
            "summary": "Two invented stones on lines of their own, and a line that is no JSON",
            "value": "\n".join(
                (
                    orjson.dumps({"stone": _EMERALD, "context": {"metal": "platinum"}}).decode(),
                    "not a stone",
                    orjson.dumps(_RADIANT).decode(),
                )
            ),
        },
    },
}

_OUTLINE: Final = {"shape": "emerald", "length_mm": 8.21, "width_mm": 5.6}

PARAMETERS: Final[dict[str, dict[str, Any]]] = {
    "evaluateStream": {"metal": "platinum", "ruleset": "house@1.0.0", "as_of": "2026-11-25"},
    "evaluateStoneFromAddress": {
        **_EMERALD,
        "metal": "platinum",
        "eye_clean": True,
        "ruleset": "house@1.0.0",
        "as_of": "2026-11-25",
    },
    "annotateListingFromAddress": {
        **_EMERALD,
        "origin": "natural",
        "metal": "platinum",
        "market": "US",
        "ruleset": "house@1.3.0",
        "wording_ruleset": "wording@1.0.0",
        "as_of": "2026-11-25",
    },
    "drawStone": _OUTLINE,
    "drawStones": {"shapes": "emerald,oval", "lengths_mm": "8.0,9.1", "widths_mm": "5.8,6.4"},
    "drawFinger": {**_OUTLINE, "system": "us", "size": "6", "orientation": "along"},
    "drawSide": {**_OUTLINE, "depth_pct": 66, "table_pct": 63},
    "drawRing": {
        "shape": "oval",
        "length_mm": 8.5,
        "width_mm": 6.2,
        "halo_rows": 1,
        "halo_melee_mm": 1.3,
        "side_shape": "half_moon",
        "side_length_mm": 5,
        "side_width_mm": 2.4,
        "system": "us",
        "size": "6",
    },
    "drawBand": {**_OUTLINE, "depth_pct": 66, "band_width_mm": 2.2, "band_thickness_mm": 1.8},
    "drawRatios": {"shape": "emerald", "ruleset": "house@1.3.0", "as_of": "2026-11-25"},
    "compareVersions": {"name": "house", "from": "1.0.0", "to": "1.1.0"},
    "measureImpact": {"name": "house"},
    "getRuleSet": {"name": "house"},
    "getRuleSetVersion": {"name": "strict", "version": "1.0.0"},
    "getRule": {"name": "house", "version": "1.0.0", "id": "clarity.steps"},
}
