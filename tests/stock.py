"""An invented stock of stones with invented prices, for lists. Nothing here was ever on sale."""

import random
from typing import Any, Final

from gradefloor.trade.grades import CLARITY, COLOR
from gradefloor.trade.weights import exact, usual_size

SHAPES: Final = ("emerald", "radiant", "round", "oval")
_RATIOS: Final = {"emerald": (1.25, 1.55), "radiant": (1.0, 1.5), "round": (1.0, 1.01), "oval": (1.3, 1.6)}


def stone(at: random.Random, number: int) -> dict[str, Any]:
    """One stone whose millimetres and price roughly follow from its weight, shape and grades."""
    shape = at.choice(SHAPES)
    carat = round(at.uniform(0.7, 3.0), 2)
    ratio = exact(round(at.uniform(*_RATIOS[shape]), 2))
    size = usual_size(shape, exact(carat), ratio)
    assert size is not None
    color, clarity = at.choice(COLOR.grades[:8]), at.choice(CLARITY.grades[2:8])
    price = 4000 * carat**1.9 * 0.93 ** COLOR.rank(color) * 0.88 ** CLARITY.rank(clarity)
    spread = at.uniform(0.97, 1.03)
    return {
        "id": f"tray-{number}",
        "shape": shape,
        "origin": "natural",
        "carat": carat,
        "color": color,
        "clarity": clarity,
        "length_mm": round(float(size.length_mm) * spread, 2),
        "width_mm": round(float(size.width_mm) * spread, 2),
        "depth_mm": round(float(size.depth_mm) / spread**2, 2),
        "polish": "excellent",
        "symmetry": at.choice(("excellent", "very_good")),
        **({"cut_grade": at.choice(("excellent", "very_good"))} if shape == "round" else {}),
        "report": {"issuer": at.choice(("GIA", "Some Laboratory"))},
        "observations": {"eye_clean": True, "bow_tie": at.choice(("none", "slight"))}
        if at.random() < 0.6
        else {},
        "price": round(price * at.uniform(0.85, 1.15), 2),
    }


def stock(count: int, seed: int = 7) -> list[dict[str, Any]]:
    at = random.Random(seed)  # noqa: S311 - an invented stock needs no secret
    return [stone(at, number) for number in range(count)]
