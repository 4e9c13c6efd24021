"""Spellings seen in suppliers' lists, and the word each stands for.

Codes and misspellings: from memory and common practice, no source, unless a table says otherwise. A code
that two shapes share is in no table of codes: it stands in `SHARED_SHAPES` and is never guessed.
"""

import re
from collections.abc import Mapping
from typing import Final

from gradefloor.trade.cells import key
from gradefloor.trade.grades import COLOR
from gradefloor.trade.shapes import SHAPES


def _spelled(table: Mapping[str, str]) -> dict[str, str]:
    """Spelling to word, from word to spellings with commas between them; the word itself is one, too."""
    found: dict[str, str] = {}
    for word, spellings in table.items():
        for spelling in (word, *spellings.split(",")):
            if key(spelling) and found.setdefault(key(spelling), word) != word:
                raise AssertionError(f"{spelling!r} is spelled for two words")
    return found


# Shapes

SHAPE_CODES: Final = _spelled(
    dict.fromkeys(SHAPES, "")
    | {
        "round": "RD,RB,RBC,RND,BR,RO,ROUND BRILL,ROUND BR,RD BRILLIANT,BRILLIANT,BRILLANT,ROND,RUND,ROUN",
        "princess": "PRN,PRIN,PC,PN,PRC,PRINC,SMB,SQMB,SQ MOD BR,SQBR,QUAD,RMB,RCBR,PRINCES,PRINCCESS,"
        "PRINZESS",
        "radiant": "RA,RAD,RDN,RT,RADIENT,CCRMB,CRMB,CCSMB,CSMB,SQ RAD,SQ RADIANT,SQUARE RADIANT,SQRT,"
        "L RAD,LR,"
        "LRAD,LONG RADIANT,ELONGATED RADIANT",
        "cushion": "CU,CUS,CUSH,CSH,CX,CUSION,CUSHON,CHUSHION,PILLOW,LONG CUSHION,ELONG CU,ELONGATED CUSHION,"
        "SQ CUSHION,SQUARE CUSHION,COUSSIN,KISSEN",
        "cushion_brilliant": "CB,CBR,SCB,CUSH BR,CUSHION BR,CU BR",
        "cushion_modified": "CM,CMB,SCMB,CUSH MOD,CUSHION MOD,CU MOD,CUSHION MODIFIED BR",
        "oval": "OV,OVL,OVAL BR,OB,OVALE,OVEL",
        "pear": "PS,PE,PSH,TEARDROP,TEAR DROP,PB,PMB,PEER,PER,POIRE,TROPFEN",
        "marquise": "MQ,MAR,MQS,MARQ,MARQUIS,MQB,NAV,NAVETTE,MARQUEE,MARQUIZ",
        "heart": "HT,HS,HRT,HRT BR,HB,HEARTH,COEUR,CŒUR,HERZ",
        "trillion": "TR,TRI,TRL,TRILL,TRILLIANT,TRIANGLE,TRIANGULAR,TRILION",
        "emerald": "SMARAGD,EMERAUDE,EM,EC,EMR,EMD,EMRD,EMERLAD,EMARALD,EMRALD,EMERALD CUT,RECT EMERALD",
        "asscher": "AS,ASH,ASC,AC,SQEM,SE,SEM,SQ EMERALD,SQUARE EMERALD,SQ EM CUT,ASHER,ASCHER,ASSHER,"
        "ASCHER CUT",
        "carre": "CARRÉ",
        "french_square": "FRENCH",
        "hexagon": "HEX,HEXAGONAL",
        "octagon": "OCT,OCTAGONAL",
        "step_marquise": "DUTCH MARQUISE,STEP CUT MARQUISE,STEP MQ",
        "portrait": "PORT,TABLE CUT",
        "mixed_cut": "MIXED",
        "old_european": "OEC,OE,EURO,OLD EURO,OLD EUROPEAN CUT,OLDEUROPEAN",
        "circular_brilliant": "CIR,CBRL,TRANS,TRANSITIONAL",
        "old_mine": "OM,OMC,OLD MINER,OLD MINE CUT",
        "rose": "RS,ROSECUT",
        "single_cut": "SC,SINGLE,8/8",
        "baguette": "BAG,BG,BT,BAGUETE,BAGUETT,STRAIGHT BAGUETTE",
        "tapered_baguette": "TB,TBG,TAPER,TAPERED,TAP BAG,TAPERED BAG",
        "trapezoid": "TRAP,TPZ,TZ,TRAPEZE",
        "half_moon": "HM,HMN,HALFMOON",
        "shield": "SHLD",
        "bullet": "BUL",
        "kite": "KT",
        "lozenge": "LOZ",
        "epaulette": "EPAU,EPAULET",
        "cadillac": "CAD",
    }
)

# Codes that are never guessed, with what they may stand for.
SHARED_SHAPES: Final[dict[str, tuple[str, ...]]] = {
    "R": ("round", "radiant"),
    "B": ("round", "baguette"),
    "P": ("pear", "princess"),
    "PR": ("pear", "princess"),
    "SQ": ("princess", "asscher", "carre"),
    "SQUARE": ("princess", "asscher", "carre"),
    "RECT": ("emerald", "radiant", "baguette"),
    "RECTANGLE": ("emerald", "radiant", "baguette"),
    "RECTANGULAR": ("emerald", "radiant", "baguette"),
    "RC": ("radiant", "rose", "cushion"),
    "C": ("cushion", "carre", "circular_brilliant"),
    "E": ("emerald", "asscher", "epaulette"),
    "S": ("asscher", "princess", "shield"),
    "OMB": ("oval", "old_mine"),
    "M": ("marquise", "old_mine"),
    "H": ("heart", "half_moon", "hexagon"),
    "T": ("trillion", "tapered_baguette", "trapezoid"),
    "EU": ("old_european", "round"),
    "O": ("oval", "old_european", "octagon"),
}

# Shape and style as printed on reports: from memory, not verified against any laboratory.
REPORT_SHAPES: Final = _spelled(
    {
        "round": "ROUND BRILLIANT,ROUND BRILLIANT CUT,STANDARD ROUND BRILLIANT,ROUND MODIFIED BRILLIANT",
        "princess": "SQUARE MODIFIED BRILLIANT,RECTANGULAR MODIFIED BRILLIANT,PRINCESS CUT",
        "radiant": "CUT-CORNERED SQUARE MODIFIED BRILLIANT,CUT-CORNERED RECTANGULAR MODIFIED BRILLIANT,"
        "CUT CORNERED RECT MODIFIED BRILLIANT,CUT CORNERED RECT MOD BRILLIANT,CUT CORNERED SQ MOD BRILLIANT",
        "cushion_brilliant": "CUSHION BRILLIANT,SQUARE CUSHION BRILLIANT,RECTANGULAR CUSHION BRILLIANT",
        "cushion_modified": "CUSHION MODIFIED BRILLIANT,SQUARE CUSHION MODIFIED BRILLIANT,"
        "RECTANGULAR CUSHION MODIFIED BRILLIANT",
        "oval": "OVAL BRILLIANT,OVAL MODIFIED BRILLIANT",
        "pear": "PEAR BRILLIANT,PEAR MODIFIED BRILLIANT",
        "marquise": "MARQUISE BRILLIANT,MARQUISE MODIFIED BRILLIANT",
        "heart": "HEART BRILLIANT,HEART MODIFIED BRILLIANT",
        "trillion": "TRIANGULAR BRILLIANT,TRIANGULAR MODIFIED BRILLIANT",
        "emerald": "EMERALD CUT,CUT-CORNERED RECTANGULAR STEP,CUT-CORNERED RECTANGULAR STEP CUT",
        "asscher": "SQUARE EMERALD CUT,CUT-CORNERED SQUARE STEP,CUT-CORNERED SQUARE STEP CUT",
        "carre": "SQUARE STEP,SQUARE STEP CUT",
        "french_square": "FRENCH CUT,SQUARE FRENCH CUT",
        "hexagon": "HEXAGONAL STEP,HEXAGONAL STEP CUT",
        "octagon": "OCTAGONAL STEP,OCTAGONAL STEP CUT",
        "step_marquise": "MARQUISE STEP,MARQUISE STEP CUT",
        "portrait": "PORTRAIT CUT",
        "mixed_cut": "MIXED CUT,RECTANGULAR MIXED CUT,SQUARE MIXED CUT",
        "old_european": "OLD EUROPEAN BRILLIANT",
        "circular_brilliant": "CIRCULAR BRILLIANT",
        "old_mine": "OLD MINE BRILLIANT",
        "rose": "ROSE CUT,ROUND ROSE CUT,PEAR ROSE CUT,OVAL ROSE CUT",
        "single_cut": "SINGLE CUT,ROUND SINGLE CUT",
        "baguette": "RECTANGULAR STEP,RECTANGULAR STEP CUT",
        "tapered_baguette": "TAPERED STEP,TAPERED BAGUETTE STEP,TAPERED BAGUETTE STEP CUT",
        "trapezoid": "TRAPEZOID STEP,TRAPEZOID STEP CUT,TRAPEZOID BRILLIANT,TRAPEZOID MODIFIED BRILLIANT",
        "half_moon": "HALF MOON STEP,HALF MOON STEP CUT,HALF MOON BRILLIANT,HALF MOON MODIFIED BRILLIANT",
        "shield": "SHIELD STEP,SHIELD STEP CUT,SHIELD BRILLIANT,SHIELD MODIFIED BRILLIANT",
        "bullet": "BULLET STEP,BULLET STEP CUT,BULLET BRILLIANT",
        "kite": "KITE STEP,KITE STEP CUT,KITE BRILLIANT",
        "lozenge": "LOZENGE STEP,LOZENGE STEP CUT,LOZENGE BRILLIANT",
        "epaulette": "EPAULETTE STEP,EPAULETTE STEP CUT",
        "cadillac": "CADILLAC STEP,CADILLAC BRILLIANT",
    }
)

# Color

# Old trade names: from memory, and taken wide. CIBJO words, 2010s wording: from memory.
COLOR_NAMES: Final = {
    key(name): grades
    for name, grades in {
        "RIVER": "D-E", "TOP WESSELTON": "F-G", "TW": "F-G", "WESSELTON": "H", "TOP CRYSTAL": "I-J",
        "CRYSTAL": "J-K", "TOP CAPE": "K-L", "CAPE": "M-O", "EXCEPTIONAL WHITE PLUS": "D",
        "EXCEPTIONAL WHITE": "E", "RARE WHITE PLUS": "F", "RARE WHITE": "G", "WHITE": "H",
        "SLIGHTLY TINTED WHITE": "I-J", "SLIGHTLY TINTED": "I-J", "TINTED WHITE": "K-L", "TINTED": "K-L",
        "COLORLESS": "D-F", "COLOURLESS": "D-F", "NEAR COLORLESS": "G-J", "NEAR COLOURLESS": "G-J",
        "FAINT YELLOW": "K-M", "DEF": "D-F", "GHI": "G-I", "GHIJ": "G-J", "EFG": "E-G", "FGH": "F-H",
        "HIJ": "H-J", "IJK": "I-K", "JKL": "J-L",
    }.items()
}  # fmt: skip
BROWNS: Final = frozenset(
    {"TLB", "TTLB", "TTLC", "TLC", "LB", "OWLB", "LC", "DB", "NATTLB", "BROWN", "CHAMPAGNE"}
)
# `Fancy Vivid Yellow` and its codes: color is graded on a scale of its own there.
FANCY_COLOR: Final = re.compile(
    r"(NATURAL )?FANCY\b.*|F(LT|L|INT|I|VIV|V|DK|DP|D)\.? ?(Y|P|B|O|G|PINK|BLUE|YELLOW|YEL|OY|GY|BY|BR|PP|PK)"
    r"|F[YP]|(F\.)(INT|VIV|LT|DK)\.? ?[A-Z]+"
)
# 0 to 10 in halves, half a step a grade from D on: another school's scale, from memory.
NUMBERED_COLORS: Final = {f"{number / 2:g}": COLOR.grades[number] for number in range(21)}

# Clarity

CLARITY_WORDS: Final = _spelled(
    {
        "FL": "FLAWLESS",
        "IF": "INTERNALLY FLAWLESS",
        "VVS1": "VERY VERY SLIGHTLY INCLUDED 1",
        "VVS2": "VERY VERY SLIGHTLY INCLUDED 2",
        "VS1": "VERY SLIGHTLY INCLUDED 1",
        "VS2": "VERY SLIGHTLY INCLUDED 2",
        "SI1": "SLIGHTLY INCLUDED 1",
        "SI2": "SLIGHTLY INCLUDED 2",
        # Piqué is the other school's word for the same three grades.
        "I1": "P1,PK1,PIQUE 1,PIQUÉ 1,PI,INCLUDED 1",
        "I2": "P2,PK2,PIQUE 2,PIQUÉ 2,INCLUDED 2",
        "I3": "P3,PK3,PIQUE 3,PIQUÉ 3,INCLUDED 3",
    }
)
CLARITY_WORDS.pop("PI")  # the numeral may be a one or a letter
# Spellings that say less than a grade, a grade of no standard scale, and misread characters.
CLARITY_ASSUMED: Final = {
    "VVS": "VVS1-VVS2", "VS": "VS1-VS2", "SI": "SI1-SI2", "I": "I1-I3", "P": "I1-I3", "PIQUE": "I1-I3",
    "PIQUÉ": "I1-I3", "LC": "FL-IF", "LOUPECLEAN": "FL-IF", "SI3": "SI2-I1", "S11": "SI1", "S12": "SI2",
    "SL1": "SI1", "SL2": "SI2", "5I1": "SI1", "5I2": "SI2", "V51": "VS1", "V52": "VS2", "VSI": "VS1",
    "VSL": "VS1", "VVSI": "VVS1", "VV51": "VVS1", "VV52": "VVS2", "WS1": "VVS1", "WS2": "VVS2",
}  # fmt: skip

# Said to sell, not to grade.
CLAIMS: Final = frozenset(
    {
        "EC", "EYECLEAN", "100EYECLEAN", "CLEAN", "IDEAL", "PREMIUM", "TOP", "TOPWHITE", "AAA", "AA", "A",
        "BEST", "SUPER", "SUPERIDEAL", "LUXURY", "FINEST", "8X", "HEARTSANDARROWS", "HA",
    }
)  # fmt: skip

# Finish

FINISH_WORDS: Final = _spelled(
    {
        "excellent": "EX,EXC,EXL,X,E,EXCEL,EXCELENT",
        "very_good": "VG,V,VGD,VGOOD,V. GOOD,VERYGOOD",
        "good": "GD,G",
        "fair": "FR,F",
        "poor": "PR,P",
    }
)
# Words of other schools, and of rounds whose three grades are all the best.
FINISH_ASSUMED: Final = dict.fromkeys(
    ("ID", "IDEAL", "I", "3X", "XXX", "3EX", "TRIPLEEX", "EXEXEX"), "excellent"
)
TRIPLE: Final = frozenset({"3X", "XXX", "3EX", "TRIPLEEX", "EXEXEX"})

# Fluorescence

FLUORESCENCE_WORDS: Final = _spelled(
    {
        "none": "N,NO,NON,NIL,NAN,INERT,NO FLUOR,NO FLUORESCENCE,NN",
        "faint": "F,FA,FB,FNT,FT,FAI,FNTB",
        "medium": "M,MB,MD,MED,MOD,MDB,MEDB,MODERATE",
        "strong": "SB,ST,STB,STG,STR,STGB",
        "very_strong": "VST,VSB,VSTG,VSTB,V STRONG,VSTR",
    }
)
del FLUORESCENCE_WORDS["NAN"]  # a blank
# The other school has four words, and its "slight" does not map one to one; `S` and `VS` may be either's.
FLUORESCENCE_ASSUMED: Final = {
    "SL": "faint", "SLB": "faint", "SLT": "faint", "SLIGHT": "faint", "VSL": "faint", "VSLB": "faint",
    "VERYSLIGHT": "faint", "VSLT": "faint", "NEGLIGIBLE": "faint", "NEG": "faint", "S": "strong",
    "VS": "very_strong", "E": "very_strong", "EX": "very_strong", "EXTREME": "very_strong",
}  # fmt: skip
FLUORESCENCE_HUES: Final = frozenset(
    {
        "BLUE", "BL", "BLU", "B", "YELLOW", "YEL", "YL", "Y", "WHITE", "WHT", "WH", "W", "ORANGE", "OR",
        "GREEN", "GRN", "FLUORESCENCE", "FLUOR", "COLOR",
    }
)  # fmt: skip

# Girdle and culet

GIRDLE_WORDS: Final = _spelled(
    {
        "extremely_thin": "XTN,ETN,EXTN,XTHN,ETHN,EX THIN,EXT THIN,XT,X THIN",
        "very_thin": "VTN,VTHN,V THIN,V THN,V. THIN",
        "thin": "THN,TN",
        "medium": "MED,M,MD",
        "slightly_thick": "STK,SLTK,SLTHK,SL THICK,SL THK,SL. THICK,SLIGHTLY THK,S THICK,STHK,SLI THICK",
        "thick": "THK,TK,TCK",
        "very_thick": "VTK,VTHK,V THICK,V THK,V. THICK",
        "extremely_thick": "XTK,ETK,EXTK,XTHK,ETHK,EX THICK,EXT THICK,X THICK",
    }
)
GIRDLE_ASSUMED: Final = {"STN": "thin", "SLTN": "thin", "SLIGHTLYTHIN": "thin", "SLTHIN": "thin"}
# How the girdle is finished; said beside its thickness, and no thickness.
GIRDLE_FINISHES: Final = frozenset(
    {
        "F", "P", "B", "FAC", "FACETED", "FACETTED", "POL", "POLISHED", "BRU", "BRUTED", "BR", "SMOOTH",
        "AND", "GIRDLE",
    }
)  # fmt: skip

CULET_WORDS: Final = _spelled(
    {
        "none": "N,NO,NON,NIL,PT,PNT,POINTED,POINT,NONE POINTED,NONE (POINTED),POINTED (NONE)",
        "very_small": "VS,VSM,V SMALL,VSML",
        "small": "S,SM,SML",
        "medium": "M,MED,MD",
        "slightly_large": "SL-L,SLL,SLG,SL LARGE,SL LG,SLIGHTLY LG",
        "large": "L,LG,LRG",
        "very_large": "VL,VLG,V LARGE",
        "extremely_large": "XL,XLG,EL,X LARGE,EX LARGE",
    }
)
CULET_CONDITIONS: Final = frozenset({"ABRADED", "CHIPPED", "CHIP", "ABR", "DAMAGED"})

# What it is, and what was done to it

ORIGINS: Final = _spelled(
    {
        "natural": "N,NAT,NATURAL DIAMOND,MINED,EARTH MINED,EARTH-MINED,ND",
        "laboratory_grown": "LG,LGD,LAB,LAB GROWN,LAB-GROWN,LABGROWN,LAB GROWN DIAMOND,"
        "LABORATORY GROWN DIAMOND,"
        "LAB CREATED,LABORATORY CREATED,CVD,LG CVD,LG-HPHT,LG HPHT,CVD LAB,LAB CVD,LAB HPHT,SYNTHETIC,"
        "MAN MADE,"
        "CREATED,LAB DIAMOND",
    }
)
# Either how a stone was grown or what was done to a mined one.
SHARED_ORIGINS: Final = frozenset({"HPHT", "TREATED", "PROCESSED"})

MATERIALS: Final = _spelled(
    {
        "diamond": "DIA,DIAM,DIAMONDS,NATURAL DIAMOND,LAB GROWN DIAMOND,LAB DIAMOND,LGD",
        "moissanite": "MOISS,MOIS,MOISSANIT,SIC",
        "cubic_zirconia": "CZ,ZIRCONIA,CUBIC ZIRCON",
        "white_sapphire": "WHITE SAPH",
        "white_topaz": "",
        "quartz": "ROCK CRYSTAL",
        "spinel": "WHITE SPINEL",
        "zircon": "WHITE ZIRCON",
        "yag": "",
        "ggg": "",
        "strontium_titanate": "",
        "synthetic_rutile": "RUTILE",
    }
)

TREATMENTS: Final = _spelled(
    {
        "laser_drilled": "LD,LASER DRILL,LASER DRILLING,DRILLED,INTERNAL LASER DRILLING",
        "fracture_filled": "FF,FILLED,FRACTURE FILLING,GLASS FILLED",
        "coated": "COATING,COAT",
        "irradiated": "IRR,IRRADIATION",
        "annealed": "ANNEALING,HEATED",
        "hpht": "HPHT TREATED,HPHT ANNEALED,HPHT PROCESSED,HPHT COLOR",
        "other": "OTHER TREATMENT",
    }
)
# Something was done, but the word does not say what.
TREATED_SOMEHOW: Final = frozenset(
    {
        "CE", "CLARITYENHANCED", "ENHANCED", "COLORENHANCED", "TREATED", "YES", "Y", "POSTGROWTH",
        "POSTGROWTHTREATMENT", "POSTGROWTHTREATED", "COLORTREATED",
    }
)  # fmt: skip
UNTREATED: Final = frozenset(
    {
        "NONE", "NO", "N", "NIL", "NON", "UNTREATED", "NOTREATMENT", "NOTTREATED", "NT", "ASGROWN",
        "NATURAL", "NOTENHANCED", "NOTREATMENTS",
    }
)  # fmt: skip

# A row that has no independent report says so in its laboratory column.
NO_REPORT: Final = frozenset(
    {
        "NONE",
        "NO",
        "NON",
        "NIL",
        "NONCERT",
        "NC",
        "INHOUSE",
        "SELF",
        "NOCERT",
        "UNCERTIFIED",
        "NOTCERTIFIED",
        "OWN",
    }
)

# What a seller says of the tint and the haze; the numbered and mixed words are private scales.
SHADES: Final[dict[str, dict[str, str]]] = {
    "NONE": {"tint": "none"}, "NO": {"tint": "none"}, "N": {"tint": "none"}, "NIL": {"tint": "none"},
    "WHITE": {"tint": "none"}, "WH": {"tint": "none"}, "NOTINGE": {"tint": "none"}, "NT": {"tint": "none"},
    "NBGM": {"tint": "none", "haze": "none"}, "NOBGM": {"tint": "none", "haze": "none"},
    "BROWN": {"tint": "brown"}, "BRN": {"tint": "brown"}, "BR": {"tint": "brown"},
    "GREEN": {"tint": "green"}, "GRN": {"tint": "green"}, "GR": {"tint": "green"},
    "GRAY": {"tint": "gray"}, "GREY": {"tint": "gray"}, "GRY": {"tint": "gray"},
    "YELLOW": {"tint": "yellow"}, "YEL": {"tint": "yellow"}, "YL": {"tint": "yellow"},
    "NOMILKY": {"haze": "none"}, "MILKYNONE": {"haze": "none"},
}  # fmt: skip

EYE_CLEAN: Final = {
    **dict.fromkeys(("YES", "Y", "TRUE", "1", "EC", "EYECLEAN", "100", "100EYECLEAN", "CLEAN"), True),
    **dict.fromkeys(("NO", "N", "FALSE", "0", "NOTEYECLEAN", "NOTCLEAN", "NONE"), False),
}
