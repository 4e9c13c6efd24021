"""Sentences about floors, windows and looks, put together from the words of the trade. Decides nothing."""

from decimal import Decimal
from typing import Final

from gradefloor.rules.format import LookBand
from gradefloor.rules.tables import Band
from gradefloor.trade.grades import Scale
from gradefloor.trade.shapes import CIRCULAR, SHAPES
from gradefloor.trade.stones import Observations

# What a look at the stone has to say before a grade between the two limits is good enough.
LOOKED: Final[dict[str, tuple[str, str]]] = {
    "clarity": ("seen eye-clean", "stone.observations.eye_clean"),
    "color": ("seen without tint", "stone.observations.tint"),
}


_SEEN_IN: Final = {"hand": "in hand", "video": "on video", "photograph": "in a photograph"}
_LIGHT: Final = {"daylight": "in daylight", "office": "in office light", "spotlight": "under a spotlight"}


def limits(scale: Scale, band: Band) -> str:
    """`VS1 on paper, VS2 once seen eye-clean`."""
    paper = scale.grades[band.on_paper]
    if band.if_seen == band.on_paper:
        return f"{paper} on paper, nothing lower"
    return f"{paper} on paper, {scale.grades[band.if_seen]} once {LOOKED[scale.name][0]}"


def both_limits(scale: Scale, white: Band, warm: Band) -> str:
    return f"white head: {limits(scale, white)}; yellow or rose head: {limits(scale, warm)}"


def seen(observations: Observations) -> str:
    """How, by whom, from how far and in what light, as far as the request says."""
    parts = [
        observations.seen_in and _SEEN_IN[observations.seen_in],
        observations.seen_by and f"by the {observations.seen_by}",
        observations.distance_mm and f"at {observations.distance_mm:g} mm",
        observations.light and _LIGHT[observations.light],
        observations.seen_on and f"on {observations.seen_on.isoformat()}",
    ]
    said = [part for part in parts if part]
    return f" ({', '.join(said)})" if said else ""


def with_article(title: str) -> str:
    """`an oval`, `a pear`."""
    return f"{'an' if title[0] in 'aeio' else 'a'} {title}"


def look_reason(shape: str, ratio: Decimal, band: LookBand) -> str:
    title = with_article(SHAPES[shape].title)
    named = f"Length to width {ratio} is {band.look.replace('_', ' ')} for {title}"
    # How round a round is, is no matter of taste; the window of its ratio speaks of that.
    return f"{named}." if shape in CIRCULAR else f"{named}: taste, not a fault."
