"""Ordered grading scales and ranges on them. Holds no opinion about which grade is good enough."""

from typing import Final, NamedTuple


class Span(NamedTuple):
    """A grade or a range of grades as ranks on its scale, 0 being the best; `best <= worst`."""

    best: int
    worst: int


class Scale:
    """Grades in order, best first (for girdle and culet: thinnest and smallest first)."""

    def __init__(self, name: str, *grades: str) -> None:
        self.name = name
        self.grades = grades
        self._ranks = {grade: rank for rank, grade in enumerate(grades)}
        self._spans = {grade: Span(rank, rank) for grade, rank in self._ranks.items()}
        for first, a in self._ranks.items():
            for second, b in self._ranks.items():
                self._spans[f"{first}-{second}"] = Span(min(a, b), max(a, b))

    def __contains__(self, grade: object) -> bool:
        return grade in self._ranks

    def rank(self, grade: str) -> int:
        """Place of one grade, 0 for the first; KeyError for a word that is not on the scale."""
        return self._ranks[grade]

    def span(self, text: str) -> Span:
        """`G` or `G-H`, in either order; KeyError for anything else."""
        return self._spans[text]

    def write(self, span: Span) -> str:
        """`G`, or `G-H` with the better grade first."""
        best = self.grades[span.best]
        return best if span.best == span.worst else f"{best}-{self.grades[span.worst]}"

    @property
    def pattern(self) -> str:
        """Regular expression for one grade or a range, as it stands in the contract."""
        words = "|".join(self.grades)
        return f"^({words})(-({words}))?$"


# The 23 letters of the D-to-Z scale: IDC Rule Book 3.1 and the laboratories' common glossary.
COLOR: Final = Scale("color", *"DEFGHIJKLMNOPQRSTUVWXYZ")

# Eleven grades at 10x. The CIBJO and IDC scales join FL and IF as "loupe clean"; SI3 is on neither.
CLARITY: Final = Scale("clarity", "FL", "IF", "VVS1", "VVS2", "VS1", "VS2", "SI1", "SI2", "I1", "I2", "I3")

# Polish, symmetry and (for rounds) cut: GIA booklet "Finish, Culet Size, and Girdle Thickness", 2009.
FINISH: Final = Scale("finish", "excellent", "very_good", "good", "fair", "poor")

# Five words of fluorescence strength; another school has four, and they do not map one to one.
FLUORESCENCE: Final = Scale("fluorescence", "none", "faint", "medium", "strong", "very_strong")

# Girdle and culet, eight words each, from memory of the GIA terms.
GIRDLE: Final = Scale(
    "girdle",
    "extremely_thin", "very_thin", "thin", "medium",
    "slightly_thick", "thick", "very_thick", "extremely_thick",
)  # fmt: skip
CULET: Final = Scale(
    "culet",
    "none", "very_small", "small", "medium",
    "slightly_large", "large", "very_large", "extremely_large",
)  # fmt: skip

# Groups of the D-to-Z scale by their first letter: laboratory glossary; boundaries F/G, J/K, M/N, R/S.
COLOR_GROUPS: Final = {
    "colorless": "DEF",
    "near_colorless": "GHIJ",
    "faint": "KLM",
    "very_light": "NOPQR",
    "light": "STUVWXYZ",
}
_GROUP_OF: Final = {letter: group for group, letters in COLOR_GROUPS.items() for letter in letters}


def color_group(letter: str) -> str:
    """Trade group of a letter: `colorless` for D to F, and so on."""
    return _GROUP_OF[letter]


# Highest cut grade that a finish allows (GIA, docslib.org/doc/10046): EX needs polish and symmetry of
# very good or better, VG needs good, G and F need fair, and poor in either makes the cut poor.
_CEILING: Final = {
    "excellent": "excellent",
    "very_good": "excellent",
    "good": "very_good",
    "fair": "good",
    "poor": "poor",
}


def cut_ceiling(polish: str, symmetry: str) -> str:
    """Best cut grade a round may carry with this polish and symmetry."""
    worst = max(polish, symmetry, key=FINISH.rank)
    return _CEILING[worst]
