"""What the stones are made of: density, optics, hardness, and what follows for weight and for the eye."""

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cache
from typing import Final, Literal

# How far a figure can be trusted: `published` stands in a regulation, a paper or an issuer's own page;
# `secondary` was read on a page that quotes it; `from_memory` is believed standard, no source seen.
Solidity = Literal["published", "secondary", "from_memory"]

_THOUSANDTH: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Figure:
    """One constant as the range it is met in (`low == high` for a single value)."""

    low: Decimal
    high: Decimal
    solidity: Solidity
    source: str

    @property
    def middle(self) -> Decimal:
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Substance:
    """Constants of one material; densities in g/cm³, the rest without unit.

    Refractive index at 589 nm; dispersion between the Fraunhofer lines B and G; hardness on Mohs' scale.
    `birefringence` is zero for a singly refracting material.
    """

    density_g_cm3: Figure
    refractive_index: Figure
    dispersion: Figure
    birefringence: Figure
    mohs: Figure


def _figure(text: str, solidity: Solidity, source: str) -> Figure:
    low, _, high = text.partition("-")
    return Figure(Decimal(low), Decimal(high or low), solidity, source)


def _remembered(text: str) -> Figure:
    return _figure(text, "from_memory", "common gemmological tables, from memory")


_SINGLY: Final = _figure("0", "published", "cubic or amorphous: singly refracting by symmetry")
_FTC: Final = "16 CFR 23, definition of diamond"
_PETER: Final = "Peter 1923, Z. Phys. 15, 358"
_NASSAU: Final = "Nassau, McClure, Elen & Shigley, Gems & Gemology 33(4), 1997"
_WOOD: Final = "Wood & Nassau 1982, Appl. Opt. 21, 2978"
_MALITSON: Final = "Malitson & Dodge 1972, J. Opt. Soc. Am. 62, 1405"
_GHOSH: Final = "Ghosh 1999, Opt. Commun. 163, 95"
_ZELMON: Final = "Zelmon 1998, Appl. Opt. 37, 4933"
_TROPF: Final = "Tropf & Thomas in Palik II, 1991"
_BOND: Final = "Bond 1965, J. Appl. Phys. 36, 1674"
_DEVORE: Final = "Devore 1951, J. Opt. Soc. Am. 41, 416"
_ENCYCLOPAEDIA: Final = "copy of an encyclopaedia article"
_TESTER: Final = "mineral note of a maker of hardness testers"

MATERIALS: Final[dict[str, Substance]] = {
    "diamond": Substance(
        _figure("3.52", "published", _FTC),
        _figure("2.417-2.42", "published", f"{_FTC}; {_PETER}"),
        _figure("0.044", "published", _PETER),
        _SINGLY,
        _figure("10", "published", _FTC),
    ),
    "moissanite": Substance(
        _figure("3.22", "published", _NASSAU),
        _figure("2.648-2.691", "published", _NASSAU),
        _figure("0.104", "published", _NASSAU),
        _figure("0.043", "published", _NASSAU),
        _figure("9.25", "published", _NASSAU),
    ),
    "cubic_zirconia": Substance(
        _figure("5.6-6.0", "secondary", _ENCYCLOPAEDIA),
        _figure("2.15-2.18", "secondary", f"{_ENCYCLOPAEDIA}; {_WOOD} lies within"),
        _figure("0.058-0.066", "secondary", f"{_ENCYCLOPAEDIA}; {_WOOD} lies within"),
        _SINGLY,
        _figure("8-8.5", "secondary", _ENCYCLOPAEDIA),
    ),
    "white_sapphire": Substance(
        _remembered("4.00"),
        _figure("1.760-1.768", "published", _MALITSON),
        _figure("0.018", "published", _MALITSON),
        _figure("0.008", "published", _MALITSON),
        _remembered("9"),
    ),
    "white_topaz": Substance(
        _figure("3.49-3.57", "secondary", _TESTER),
        _figure("1.609-1.643", "secondary", _TESTER),
        _remembered("0.014"),
        _remembered("0.008-0.010"),
        _figure("8", "secondary", _TESTER),
    ),
    "quartz": Substance(
        _remembered("2.65"),
        _figure("1.544-1.553", "published", _GHOSH),
        _figure("0.013", "published", _GHOSH),
        _figure("0.009", "published", _GHOSH),
        _remembered("7"),
    ),
    "spinel": Substance(
        _remembered("3.60-3.64"),  # natural, synthetic
        _figure("1.716-1.728", "from_memory", f"{_TROPF}; synthetic from memory"),
        _figure("0.020", "published", _TROPF),
        _SINGLY,
        _remembered("8"),
    ),
    "zircon": Substance(
        _remembered("4.70"),
        _remembered("1.925-1.984"),
        _remembered("0.039"),
        _remembered("0.059"),
        _remembered("7.5"),
    ),
    "yag": Substance(
        _remembered("4.55"),
        _figure("1.833", "published", _ZELMON),
        _figure("0.027", "published", _ZELMON),
        _SINGLY,
        _remembered("8.25"),
    ),
    "ggg": Substance(
        _remembered("7.05"), _remembered("1.970"), _remembered("0.045"), _SINGLY, _remembered("6.5")
    ),
    "strontium_titanate": Substance(
        _remembered("5.13"),
        _figure("2.408", "published", _BOND),
        _figure("0.190-0.210", "from_memory", f"handbooks, from memory, say less than {_BOND}"),
        _SINGLY,
        _remembered("5-6"),
    ),
    "synthetic_rutile": Substance(
        _remembered("4.26"),
        _figure("2.613-2.909", "published", _DEVORE),
        _figure("0.28-0.40", "from_memory", f"handbooks, from memory, say less than {_DEVORE}"),
        _figure("0.287-0.296", "from_memory", f"handbooks, from memory, say less than {_DEVORE}"),
        _remembered("6-6.5"),
    ),
}
_DIAMOND_G_CM3: Final = MATERIALS["diamond"].density_g_cm3.middle


@cache
def relative_density(material: str) -> Decimal:
    """Density over that of diamond, so the weight of the same cut in the same size; KeyError if unknown."""
    return MATERIALS[material].density_g_cm3.middle / _DIAMOND_G_CM3


@cache
def relative_density_range(material: str) -> tuple[Decimal, Decimal]:
    """Lowest and highest density met, over that of diamond; KeyError for an unknown material."""
    density = MATERIALS[material].density_g_cm3
    return density.low / _DIAMOND_G_CM3, density.high / _DIAMOND_G_CM3


def convert_carat(carat: Decimal, material: str, to_material: str) -> Decimal:
    """Weight in ct, to 0.001, of the same cut in the same size of another material.

    KeyError for an unknown material. By density alone: exact for equal volumes.
    """
    return (carat * relative_density(to_material) / relative_density(material)).quantize(
        _THOUSANDTH, ROUND_HALF_UP
    )


# From how far a stone is looked at without a lens: the distance of most distinct vision, 10 inches.
USUAL_DISTANCE_MM: Final = 250.0


def visible_mm(distance_mm: float, arc_minutes: float = 1.0) -> float:
    """Extent in mm that subtends an angle at a viewing distance in mm.

    One minute of arc is normal resolution, 20/20 or 6/6 (IES, "visual acuity"). Smaller things may still
    be noticed by their contrast; no published limit for inclusions in cut stones is known.
    """
    return distance_mm * math.tan(math.radians(arc_minutes / 60))


def seen_arc_minutes(size_mm: float, distance_mm: float) -> float:
    """Angle in minutes of arc that an extent in mm subtends at a viewing distance in mm."""
    return math.degrees(math.atan(size_mm / distance_mm)) * 60
