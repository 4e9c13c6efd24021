"""What each fact and measure is called and means, in a jeweller's words.

The title stands before a value in the rule book; editors show the sentence beside the name.
Both say the same as the functions that read the facts, and the lists themselves stand where those are.
"""

from collections.abc import Mapping
from typing import Final

Told = tuple[str, str]  # title and sentence


# Of a stone

_STONE: Final[dict[str, Told]] = {
    "material": ("material", "What the stone is made of."),
    "origin": ("origin", "Mined or made in a laboratory."),
    "cushion_kind": (
        "kind of cushion",
        "Which kind of cushion: with broad facets (brilliant) or crushed ice (modified).",
    ),
    "cut_grade": ("cut grade on the report", "Cut grade on the report."),
    "polish": ("polish", "Polish grade on the report."),
    "symmetry": ("symmetry", "Symmetry grade on the report."),
    "fluorescence": ("fluorescence", "Strength of fluorescence on the report."),
    "girdle_min": ("girdle at its thinnest", "Girdle at its thinnest."),
    "girdle_max": ("girdle at its thickest", "Girdle at its thickest."),
    "culet": ("culet", "Size of the culet facet."),
    "color_best": ("color, at the better end of its range", "Color letter; of a range, the better end."),
    "color_group": (
        "group of color letters",
        "Group of color letters; of a range, the group of the worse end.",
    ),
    "clarity_worst": ("clarity, at the lower end of its range", "Clarity grade; of a range, the worse end."),
    "millimetres": ("length and width in mm", "Whether length and width in mm are known."),
    "treatment": ("treatment", "What was done to the stone; of several, the gravest for whoever works it."),
    "eye_clean": ("looked at without a lens", "What somebody saw without a lens, face up."),
    "weight_fit": (
        "weight against its millimetres",
        "Whether weight in ct and dimensions in mm can belong to one stone of its material.",
    ),
    "bow_tie": ("dark band across the middle", "Dark band across the middle, as somebody saw it."),
    "windowing": ("window in the middle", "How far one sees through the stone, as somebody saw it."),
    "haze": ("haze", "Loss of transparency in daylight, as somebody saw it."),
    "tint": ("tint face up", "Tint face up beside the metal, as somebody saw it."),
    "seen_in": ("seen in", "How somebody looked at it: in hand, in a video or in a photograph."),
    "inclusion_type": ("kind of inclusion", "Kind of the inclusion that matters most."),
    "inclusion_place": (
        "place of the inclusion",
        "Where the inclusion that matters most lies, seen face up.",
    ),
    "inclusion_sight": (
        "size of the inclusion against what an eye resolves",
        "Whether its size in mm is under or over what an eye resolves at that distance.",
    ),
    "clouds": ("comment on clouds", "What the report's comments say of clouds."),
    "graining_comment": ("comment on graining", "Whether the report comments on graining."),
    "surface_comment": (
        "comment that the surface is reached",
        "Whether the report comments on something that reaches the surface.",
    ),
    "angle_comment": ("comment on angles", "Whether the report comments on angles."),
    "treatment_comment": ("comment on a treatment", "Whether the report comments on a treatment."),
    "unread_comment": (
        "a comment that is not known",
        "Whether a comment of the report is none of the known ones, so that a person reads it.",
    ),
    "report": ("laboratory of the report", "Whether the laboratory is one of `issuers`."),
    "assessment": (
        "quality class on the report",
        "Quality class in place of letter grades, for stones made in a laboratory.",
    ),
    "letters": (
        "letter grades on the report",
        "Whether this laboratory still gave letter grades to made stones on the report's day.",
    ),
    "cut_scope": (
        "cut grade of this laboratory for this shape",
        "Whether the laboratory grades the cut of this shape.",
    ),
    "cut_ceiling": (
        "cut grade against polish and symmetry",
        "Whether polish and symmetry allow the stated cut grade.",
    ),
    "jewelry": ("kind of jewel", "Kind of jewel."),
    "protection": ("what holds the edge", "What holds the edge of the stone."),
    "setting": ("how it is set", "Whether it is known what holds the edge."),
    "tone": ("color of the head", "Color of the head's metal: white, or warm as yellow and rose gold are."),
}
# Findings name these measures too, so their titles stand with the measures.
MEASURE_WORDS: Final[dict[str, str]] = {
    "ratio": "Length over width, rounded to two decimals; no unit.",
    "depth_pct": "Depth in % of width (round: of the mean diameter).",
    "table_pct": "Table in % of width (round: of the mean diameter).",
    "crown_height_pct": "Crown height in % of width.",
    "girdle_pct": "Girdle thickness in % of width.",
    "depth_gap_points": "Stated depth less the depth that the millimetres give, in points of percent.",
    "report_age_years": "Age of the report in years on the day of asking.",
}

# Of a ring

_RING: Final[dict[str, Told]] = {
    "head": ("head", "What holds the center's edge."),
    "shank": ("shank", "What goes around the finger."),
    "shoulders": ("shoulders", "How the shank meets the head."),
    "orientation": ("how the length lies", "How the center's length lies to the finger."),
    "metal": ("metal of the head", "Metal of the head."),
    "tone": ("color of the head", "Color of the head's metal: white, or warm as yellow and rose gold are."),
    "shank_tone": (
        "color of the shank",
        "Color of the shank's metal, read as the head's if only that is stated.",
    ),
    "shank_metal": ("metal of the shank", "Metal of the shank, read as the head's if only that is stated."),
    "white_gold": ("white gold", "Whether head or shank are of white gold."),
    "halo": ("halo", "Melee around the center: none, seen from above, or hidden under the girdle."),
    "hidden_halo_height": (
        "height of the hidden halo",
        "Whether it is known how high a hidden halo stands above the finger.",
    ),
    "sides": ("side stones", "Whether there are side stones."),
    "side_shape": ("shape of the side stones", "Shape of the side stones; `mixed` where they differ."),
    "side_faceting": (
        "faceting of the side stones",
        "How the side stones are faceted; `mixed` where they differ.",
    ),
    "side_material": ("material of the side stones", "Whether the side stones are of the center's material."),
    "wear": ("how it is worn", "How the ring is worn."),
    "nickel": ("nickel against the skin", "Whether nickel must not touch the skin."),
    "band": ("wedding band", "Shape of the wedding band beside it; `none` without one."),
    "gap": (
        "a gap to the wedding band",
        "Whether the wearer agreed to a gap between ring and band, or refused it.",
    ),
    "band_stones": ("stones around the band", "How far around the wedding band its melee goes."),
    "finger": ("finger size", "Whether the finger size is known."),
}
_RING_MEASURE: Final[dict[str, Told]] = {
    "carat": ("weight of the center", "Weight of the center in ct, as a report rounds it."),
    "ratio": (
        "length to width of the center",
        "Length over width of the center, rounded to two decimals; no unit.",
    ),
    "span_pct": (
        "width of all stones together",
        "Center and side stones across the finger, in % of the ring's inner diameter.",
    ),
    "coverage_pct": (
        "width of the center",
        "Center with its halo across the finger, in % of the ring's inner diameter.",
    ),
    "over_flank_mm": (
        "side stone longer than the straight flank by",
        "How much longer the longest straight-ended side is than the center's flank, in mm.",
    ),
    "pair_gap_mm": ("difference within a pair", "Largest difference within a pair of side stones, in mm."),
    "side_color_letters": (
        "sides apart from the center by",
        "How many letters side stones and center lie apart in color.",
    ),
    "melee_color_letters": (
        "melee whiter than the center by",
        "How many letters the melee is whiter than the center.",
    ),
    "claw_count": ("number of claws", "How many claws; a double claw is two."),
    "claw_wire_mm": ("claw wire", "Thickness of one claw in mm."),
    "bezel_wall_mm": ("wall of the bezel", "Thickness of a bezel's wall in mm."),
    "shank_width_mm": ("width of the shank", "Width of the shank along the finger in mm."),
    "shank_thickness_mm": ("thickness of the shank", "Thickness of the shank in mm."),
    "split_leg_mm": ("leg of the split shank", "Width of one leg of a split shank in mm."),
    "culet_height_mm": (
        "height of the culet above the finger",
        "Height of the center's culet above the finger in mm.",
    ),
    "pave_edge_mm": (
        "metal beside the melee",
        "Metal left beside the melee of the shank, on each side, in mm.",
    ),
    "pave_floor_mm": ("metal under the melee", "Metal left under the melee of the shank, in mm."),
    "total_height_mm": (
        "height of the table above the finger",
        "Height of the table above the finger in mm.",
    ),
    "band_gap_mm": ("gap to the wedding band", "Gap between ring and straight wedding band in mm."),
    "band_clearance_mm": (
        "room beside the wedding band",
        "Room between straight wedding band and what stands nearest, in mm.",
    ),
    "halo_spacing_mm": ("spacing of the halo's melee", "Widest space between the stones of a halo in mm."),
    "halo_share_pct": ("melee of the halo", "Diameter of a halo's melee in % of the center's width."),
}

# Of a wish

_LEAD: Final[dict[str, Told]] = {
    "opposites": (
        "opposite tastes wished together",
        "Two tastes wished at once that mean the opposite of each other.",
    ),
    "shape_kind": (
        "kind of shape wished",
        "What the wished shapes have in common; `pointed` if any has a point.",
    ),
    "outline": ("outline wished", "Whether a long or a broad outline is wished."),
    "size": ("size wished", "Whether a weight or a length is wished."),
    "color_wish": ("color wished", "Group of the lowest color letter wished."),
    "clarity_wish": ("clarity wished", "Lowest clarity grade wished."),
    "warmth": ("a warm tint", "How a warm tint is taken."),
    "metal": ("metal wished", "Metal wished for the head."),
    "tone": (
        "color of the metal wished",
        "Color of the metal wished: white, or warm as yellow and rose gold are.",
    ),
    "style": ("setting wished", "Setting wished, by its name."),
    "sides": ("side stones wished", "Whether a shape of side stones is wished."),
    "height": ("height of the setting", "How high the stone is to stand."),
    "band_fit": (
        "how the wedding band is to lie",
        "How the wedding band is to lie beside the ring; `open` where nothing was said of a gap.",
    ),
    "wear": ("how it will be worn", "How the ring will be worn."),
    "nickel": ("nickel against the skin", "Whether nickel must not touch the skin."),
    "origin": ("origin wished", "Mined, made, or both."),
    "material": ("material wished", "Diamond, a substitute, or both."),
    "budget": ("budget", "Whether a budget was named."),
    "covers": ("what the budget covers", "What the budget is to pay for."),
    "tax": ("tax in the budget", "Whether the budget holds the tax."),
    "finger": ("finger size", "Whether the finger size is known, or only guessed."),
    "surprise": ("a surprise", "Whether the wearer must not know."),
    "comparing": ("another shop's offer at hand", "Whether another shop's offer is at hand."),
    "heirloom": ("a piece of their own to be used", "A stone or metal of their own that is to be used."),
    "errand": ("something else wanted", "Something else than a new ring that is wanted."),
    "gem": ("colored gem wanted", "Colored gem wanted as the center."),
}
_LEAD_MEASURE: Final[dict[str, Told]] = {
    "days_left": ("days left", "Days until it is needed."),
    "carat": ("weight wished", "Weight wished in ct; of a range, the upper end."),
    "amount": ("amount of the budget", "Budget in the currency's main unit; of a range, the upper end."),
}

# Of a term in copy, and of what is sold

_WORDING: Final[dict[str, Told]] = {
    "origin": ("origin", "Mined or made in a laboratory, as the shop states it."),
    "material": ("material", "Diamond or a substitute; diamond where nothing is stated."),
    "clarity": ("clarity of the stone", "Clarity of the stone: flawless, internally flawless, or lower."),
    "color": ("color of the stone", "Color of the stone, in three steps."),
    "make": ("how well it is cut", "How well it is cut: excellent or very good, less, or an old cut."),
    "form": ("shape", "Its shape, as far as a word beside brilliant may name it."),
    "facets": ("number of facets", "Number of facets, in three steps."),
    "laser_drilled": ("laser drilled", "Whether the stone is laser drilled."),
    "fracture_filled": ("fracture filled", "Whether its fractures are filled."),
    "coated": ("coated", "Whether the stone is coated."),
    "irradiated": ("irradiated", "Whether the stone is irradiated."),
    "annealed": ("annealed", "Whether the stone is annealed."),
    "hpht": (
        "treated under high pressure and heat",
        "Whether the stone was treated under high pressure and heat.",
    ),
    "other_treatment": ("treated in another way", "Whether the stone was treated in another way."),
    "treatment": ("treatment", "Whether the stone is treated at all."),
    "iso_24016": ("scope of ISO 24016", "Whether the stone lies in the scope of ISO 24016."),
    "cut_issuer": (
        "cut grade of this laboratory for this shape",
        "Whether the report's laboratory gives cut grades for this shape.",
    ),
    "cut_grade": ("cut grade on the report", "Cut grade on the report."),
    "report": ("report", "Whether a report with its laboratory is stated."),
    "eye_clean": (
        "looked at without a lens",
        "Whether somebody saw that it is eye-clean, or that it is not.",
    ),
    "gold": ("gold", "Gold by its fineness in parts per thousand, or plated."),
    "silver": ("silver", "Silver by its fineness in parts per thousand."),
    "platinum": (
        "platinum",
        "Platinum by its fineness in parts per thousand and the market's limits, or plated.",
    ),
    "qualifier": (
        "word for a made stone",
        "Word for a made stone that stands with the term, or where else it stands.",
    ),
    "direct": ("word directly before it", "Word for a made stone that stands directly at the term."),
    "natural_beside": (
        "natural or mined beside it",
        "Whether a word such as real or mined stands right before the term.",
    ),
    "stone_beside": ("a stone beside it", "Whether a word for the stone stands beside the term."),
    "stone_in_sentence": ("a stone in the same sentence", "Whether the sentence speaks of the stone."),
    "laboratory_beside": (
        "laboratory beside it",
        "Whether a full word for made in a laboratory stands beside the term.",
    ),
    "karat": ("karat figure", "Whether the karats of gold stand beside it, and agree with the fineness."),
    "plated_beside": ("plated beside it", "Whether a word for plated stands beside the term."),
    "number_beside": (
        "fineness beside it",
        "Whether a fineness in parts per thousand stands beside the term.",
    ),
    "form_beside": ("shape beside it", "Whether a form, or round, stands beside brilliant."),
    "facets_beside": ("number of facets beside it", "Whether facets are spoken of beside the term."),
    "decimal_beside": (
        "a weight in hundredths beside it",
        "Whether the weight in decimals of a carat stands nearby.",
    ),
    "tolerance": (
        "range given with a fraction",
        "What stands with a fraction: the range it may mean, that it is not exact, both or nothing.",
    ),
    "weight": (
        "weight in the text against the stone's",
        "How the weight in the text agrees with the stone's.",
    ),
    "written": ("how the weight is written", "Whether the weight is written with decimals."),
    "grade": ("grade in the text against the stone's", "Whether the grade in the text is the stone's."),
}

# Of a listing

_LISTING: Final[dict[str, Told]] = {
    "clarity_verdict": ("verdict on clarity", "Worst verdict about clarity."),
    "color_verdict": ("verdict on color", "Worst verdict about color."),
    "cut_verdict": ("verdict on cut", "Worst verdict about cut."),
    "durability_verdict": ("verdict on durability", "Worst verdict about durability."),
    "proportions_verdict": ("verdict on proportions", "Worst verdict about proportions."),
    "consistency_verdict": (
        "verdict on numbers that do not fit",
        "Worst verdict about numbers that do not belong to one stone.",
    ),
    "material_verdict": ("verdict on the material", "Worst verdict about the material."),
    "sized": ("length and width in mm", "Whether length and width in mm are known."),
    "spread": ("size for its weight", "How large it looks for its weight, beside a usual stone."),
    "look": ("look of its outline", "Whether its outline has a look by name."),
    "family": ("how it is faceted", "How it is faceted."),
    "corners": ("points", "Whether it has points."),
    "circular": ("round outline", "Whether its outline is a circle."),
    "seen": ("looked at without a lens", "What somebody saw without a lens, face up."),
    "tone": ("color of the head", "Color of the head's metal: white, or warm as yellow and rose gold are."),
    "origin": ("origin", "Mined or made in a laboratory."),
    "material": ("material", "Diamond or a substitute; diamond where nothing is stated."),
    "treatment": ("treatment", "Whether the stone is treated."),
    "report": ("report", "Whether a report is named, and whether its number is."),
    "clarity_grade": ("clarity grade", "Whether a clarity grade is stated."),
    "color_grade": ("color grade", "Whether a color grade is stated."),
    "weight": ("weight", "Whether a weight is stated."),
    "fluorescence": ("fluorescence", "Strength of fluorescence on the report."),
    "cut_grade": ("cut grade on the report", "Cut grade on the report."),
}


def _titles(table: Mapping[str, Told]) -> dict[str, str]:
    return {name: title for name, (title, _) in table.items()}


def _sentences(table: Mapping[str, Told]) -> dict[str, str]:
    return {name: sentence for name, (_, sentence) in table.items()}


FACT_TITLES: Final = _titles(_STONE)
RING_FACT_TITLES: Final = _titles(_RING)
RING_MEASURE_TITLES: Final = _titles(_RING_MEASURE)
LEAD_FACT_TITLES: Final = _titles(_LEAD)
LEAD_MEASURE_TITLES: Final = _titles(_LEAD_MEASURE)
WORDING_FACT_TITLES: Final = _titles(_WORDING)
LISTING_FACT_TITLES: Final = _titles(_LISTING)

FACT_WORDS: Final = _sentences(_STONE)
RING_FACT_WORDS: Final = _sentences(_RING)
RING_MEASURE_WORDS: Final = _sentences(_RING_MEASURE)
LEAD_FACT_WORDS: Final = _sentences(_LEAD)
LEAD_MEASURE_WORDS: Final = _sentences(_LEAD_MEASURE)
WORDING_FACT_WORDS: Final = _sentences(_WORDING)
LISTING_FACT_WORDS: Final = _sentences(_LISTING)
