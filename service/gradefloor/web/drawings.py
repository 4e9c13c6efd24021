"""`/v1/drawings`: stones, rings and ratios drawn to scale, as SVG from an address that can be cached."""

import asyncio
from collections.abc import Callable
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path, Query
from pydantic import Field, TypeAdapter, ValidationError, WithJsonSchema, create_model
from starlette.requests import Request
from starlette.responses import Response

from gradefloor.drawing.bands import draw_band
from gradefloor.drawing.plans import DRAWN, UndrawableError
from gradefloor.drawing.rings import draw_finger, draw_ring
from gradefloor.drawing.scales import RatioBand, draw_ratios
from gradefloor.drawing.stones import draw_side, draw_stone, draw_stones
from gradefloor.rules.format import LookBand
from gradefloor.trade.assembly import Ring
from gradefloor.trade.settings import Finger, Gallery, Halo, Setting, SideStone, WeddingBand
from gradefloor.trade.shapes import SHAPES, ShapeName
from gradefloor.trade.stones import Millimetres, Stone, Wire
from gradefloor.web import gate
from gradefloor.web.addresses import FRESH_SECONDS, freshness
from gradefloor.web.pages import respond
from gradefloor.web.problems import FieldError, ProblemError
from gradefloor.web.service import AsOf, RuleSetReference, Service

MEDIA_TYPE: Final = "image/svg+xml"
FRESH: Final = f"public, max-age={FRESH_SECONDS}"
_HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
}
PATH: Final = "/v1/drawings"


class Drawing(Response):
    """An SVG document."""

    media_type = MEDIA_TYPE


def _of(model: type[Wire], *names: str, needed: tuple[str, ...] = ()) -> dict[str, Any]:
    """Fields of a model for an address; `needed` ones have to be there."""
    fields: dict[str, Any] = {}
    for name in (*needed, *names):
        field = model.model_fields[name]
        annotation: Any = field.annotation
        if name in needed and name in {"length_mm", "width_mm"}:
            fields[name] = (Millimetres, Field(description=field.description))
        else:
            fields[name] = (annotation, field)
    return fields


def _renamed(model: type[Wire], **names: str) -> dict[str, Any]:
    """Fields of a model under other names, none of them needed."""
    return {
        new: (
            model.model_fields[old].rebuild_annotation() | None,
            Field(None, description=model.model_fields[old].description),
        )
        for new, old in names.items()
    }


# Any shape is read, so that a refusal can say why; the contract has those that are drawn.
_Shape = Annotated[ShapeName, WithJsonSchema({"type": "string", "enum": list(DRAWN)})]
_SHAPE_FIELD: Final = (_Shape, Field(description=Stone.model_fields["shape"].description))
_SEEN: Final = {"shape": _SHAPE_FIELD, **_of(Stone, "corner_mm", needed=("length_mm", "width_mm"))}
_HEIGHTS: Final = _of(Stone, "depth_mm", "depth_pct", "table_pct", "crown_height_pct", "girdle_pct")
_ORIENTED: Final = _of(Setting, "orientation")
_SHANK: Final = _of(Setting, "shank_width_mm", "shank_thickness_mm")
# A whole number is read from an address as any number is.
_Rows = Annotated[float, Field(strict=True, ge=1, le=3, multiple_of=1)]
_HALO: Final = {
    "halo_rows": (_Rows | None, Field(None, description=Halo.model_fields["rows"].description)),
    **_renamed(Halo, halo_melee_mm="melee_mm"),
}

StoneDrawingQuery: Final[type[Wire]] = create_model(
    "StoneDrawingQuery", __base__=Wire, __doc__="One stone seen from above.", **_SEEN
)
FingerDrawingQuery: Final[type[Wire]] = create_model(
    "FingerDrawingQuery",
    __base__=Wire,
    __doc__="One stone on a finger.",
    **_SEEN,
    **_of(Finger, needed=("system", "size")),
    **_ORIENTED,
    **_SHANK,
)
SideDrawingQuery: Final[type[Wire]] = create_model(
    "SideDrawingQuery",
    __base__=Wire,
    __doc__="One stone seen from the side.",
    **_SEEN,
    **_HEIGHTS,
    **_of(Stone, "culet"),
)
RingDrawingQuery: Final[type[Wire]] = create_model(
    "RingDrawingQuery",
    __base__=Wire,
    __doc__="A ring seen from above; with a size and its system on its finger.",
    **_SEEN,
    **_HALO,
    side_shape=(_Shape | None, Field(None, description="Shape of the stone on each side.")),
    side_length_mm=(
        Millimetres | None,
        Field(None, description="How far the stone on each side lies against the center, in mm."),
    ),
    side_width_mm=(
        Millimetres | None,
        Field(None, description="How far the stone on each side reaches away from the center, in mm."),
    ),
    **_renamed(Finger, system="system", size="size"),
    **_ORIENTED,
    **_SHANK,
)
BandDrawingQuery: Final[type[Wire]] = create_model(
    "BandDrawingQuery",
    __base__=Wire,
    __doc__="A straight band beside a ring, seen from the side.",
    **_SEEN,
    **_HEIGHTS,
    **_HALO,
    **_renamed(WeddingBand, band_width_mm="width_mm", band_thickness_mm="thickness_mm"),
    **_renamed(Gallery, gallery_bottom_mm="bottom_mm", gallery_half_extent_mm="half_extent_mm"),
    **_of(Setting, "culet_height_mm", "basket_wire_mm", "claw_overhang_mm"),
    **_ORIENTED,
    **_SHANK,
)

_ONE_WORD: Final = f"^({'|'.join(SHAPES)})$"
_WORDS: Final = r"^[a-z_]{1,24}(,[a-z_]{1,24}){1,5}$"
# Millimetres as in JSON; what they may be is checked one by one.
_NUMBERS: Final = r"^[0-9.eE+-]{1,24}(,[0-9.eE+-]{1,24}){1,5}$"


class StonesDrawingQuery(Wire):
    """Two to six stones: lists that run beside each other, their members parted by commas."""

    shapes: Annotated[str, Field(pattern=_WORDS, description="Two to six shapes.", examples=["emerald,oval"])]
    lengths_mm: Annotated[
        str,
        Field(pattern=_NUMBERS, description="Their lengths in mm, in the same order.", examples=["8.0,9.1"]),
    ]
    widths_mm: Annotated[
        str,
        Field(pattern=_NUMBERS, description="Their widths in mm, in the same order.", examples=["5.8,6.4"]),
    ]


class RatioDrawingQuery(Wire):
    """Whose bands to draw."""

    ruleset: RuleSetReference | None = None
    as_of: AsOf | None = None


_SHAPE: Final[TypeAdapter[Any]] = TypeAdapter(ShapeName)
_MILLIMETRES: Final[TypeAdapter[Any]] = TypeAdapter(Millimetres)


def routes(router: APIRouter, service: Service) -> None:  # noqa: C901 - one function for each address
    drawn: dict[str, Any] = {"tags": ["drawings"], "response_class": Drawing, "response_model": None}

    @router.get(f"{PATH}/stone.svg", operation_id="drawStone", summary="Draw a stone from above", **drawn)
    async def stone_drawing(query: Annotated[StoneDrawingQuery, Query()], request: Request) -> Response:
        """The outline to scale with its length and width; facet lines are schematic.

        Shapes whose outline does not follow from two or three measures are refused.
        """
        return _answer(request, lambda: draw_stone(_stone(_flat(query))))

    @router.get(
        f"{PATH}/stones.svg", operation_id="drawStones", summary="Draw stones beside each other", **drawn
    )
    async def stones_drawing(query: Annotated[StonesDrawingQuery, Query()], request: Request) -> Response:
        """Two to six stones at one scale, lettered, with their millimetres and what each shows from above."""
        stones = _read_stones(query)
        return _answer(request, lambda: draw_stones(stones), several=True)

    @router.get(f"{PATH}/finger.svg", operation_id="drawFinger", summary="Draw a stone on a finger", **drawn)
    async def finger_drawing(query: Annotated[FingerDrawingQuery, Query()], request: Request) -> Response:
        """The stone to scale on a finger as wide as the inside of that size, with the share it covers."""
        ring = _ring(_flat(query))
        return _answer(request, lambda: draw_finger(ring))

    @router.get(f"{PATH}/side.svg", operation_id="drawSide", summary="Draw a stone from the side", **drawn)
    async def side_drawing(query: Annotated[SideDrawingQuery, Query()], request: Request) -> Response:
        """Table, crown, girdle, pavilion and culet over the width; what is not stated is assumed by name."""
        return _answer(request, lambda: draw_side(_stone(_flat(query))))

    @router.get(f"{PATH}/ring.svg", operation_id="drawRing", summary="Draw a ring from above", **drawn)
    async def ring_drawing(query: Annotated[RingDrawingQuery, Query()], request: Request) -> Response:
        """Center, halo, one stone on each side and the finger, with the numbers of `POST /v1/pairings`.

        A halo is drawn where its rows or its melee are given, side stones where shape, length and width are.
        """
        ring = _ring(_flat(query))
        # Three rows of small melee around a large stone take a quarter of a second.
        return await asyncio.to_thread(_answer, request, lambda: draw_ring(ring))

    @router.get(
        f"{PATH}/band.svg", operation_id="drawBand", summary="Draw a wedding band beside a ring", **drawn
    )
    async def band_drawing(query: Annotated[BandDrawingQuery, Query()], request: Request) -> Response:
        """The gap between a straight band and the ring, and what causes it, with the numbers of pairings."""
        ring = _ring(_flat(query), band=True)
        return _answer(request, lambda: draw_band(ring))

    @router.get(
        f"{PATH}/ratios/{{shape}}.svg",
        operation_id="drawRatios",
        summary="Draw the looks of a shape by length to width",
        **drawn,
    )
    async def ratios_drawing(
        shape: Annotated[
            str, Path(pattern=_ONE_WORD, description="Shape and facet style.", examples=["oval"])
        ],
        query: Annotated[RatioDrawingQuery, Query()],
        request: Request,
    ) -> Response:
        """The bands of a rule set on a scale, each with an outline of its own ratio."""
        release, _ = await service.rules(query.ruleset, query.as_of)
        if shape not in SHAPES:
            raise ProblemError("not_found")
        rules = release.compiled.shapes.get(shape)
        if rules is None or rules.look is None:
            raise ProblemError("rules_missing")
        bands = [_band(band) for band in rules.look.bands]
        fresh = freshness(query.as_of, (query.ruleset, release))
        source = f"rule set {release.name} {release.version}"
        try:
            return respond(request, draw_ratios(shape, bands, source), MEDIA_TYPE, fresh, _HEADERS)
        except UndrawableError:
            raise ProblemError(
                "rules_missing", detail="This shape has no outline that could be drawn."
            ) from None


def _flat(query: Wire) -> dict[str, Any]:
    return query.model_dump(exclude_none=True)


def _some(flat: dict[str, Any], *names: str) -> dict[str, Any]:
    return {name: flat[name] for name in names if name in flat}


def _stone(flat: dict[str, Any]) -> Stone:
    return Stone(**_some(flat, *Stone.model_fields))


def _ring(flat: dict[str, Any], *, band: bool = False) -> Ring:
    """The ring as `POST /v1/pairings` would have it from the same parts."""
    setting = _some(flat, *Setting.model_fields)
    halo = {name.removeprefix("halo_"): flat[name] for name in ("halo_rows", "halo_melee_mm") if name in flat}
    if halo:
        setting["halo"] = Halo(**halo)
    gallery = {
        name.removeprefix("gallery_"): flat[name]
        for name in ("gallery_bottom_mm", "gallery_half_extent_mm")
        if name in flat
    }
    if gallery:
        _all_or_none(flat, "gallery_bottom_mm")
        setting["gallery"] = Gallery(**gallery)
    sides = _all_or_none(flat, "side_shape", "side_length_mm", "side_width_mm")
    finger = _all_or_none(flat, "system", "size")
    side = {name.removeprefix("side_"): value for name, value in sides.items()}
    worn = {
        name.removeprefix("band_"): flat[name]
        for name in ("band_width_mm", "band_thickness_mm")
        if name in flat
    }
    return Ring(
        _stone(flat),
        Setting(**setting),
        [SideStone(**side)] * 2 if side else (),
        WeddingBand(**worn) if band else None,
        gate.validate(Finger, finger, code="query_invalid") if finger else None,
    )


def _all_or_none(flat: dict[str, Any], *names: str) -> dict[str, Any]:
    """Parameters that belong together."""
    found = _some(flat, *names)
    missing = [name for name in names if name not in found]
    if missing and (found or len(names) == 1):
        errors: list[FieldError] = [
            {
                "pointer": f"/{name}",
                "found": "nothing",
                "allowed": f"a value for {name}, which goes with the others",
            }
            for name in missing
        ]
        raise ProblemError("query_invalid", errors)
    return found


def _read_stones(query: StonesDrawingQuery) -> list[Stone]:
    """Stones from lists of equal length."""
    shapes, lengths, widths = (text.split(",") for text in (query.shapes, query.lengths_mm, query.widths_mm))
    errors: list[FieldError] = [
        {
            "pointer": f"/{name}",
            "found": f"{len(found)} members",
            "allowed": f"{len(shapes)}, one for each shape",
        }
        for name, found in (("lengths_mm", lengths), ("widths_mm", widths))
        if len(found) != len(shapes)
    ]
    if errors:
        raise ProblemError("query_invalid", errors)
    return [
        Stone(
            shape=_read(_SHAPE, "shapes", str, shape),
            length_mm=_read(_MILLIMETRES, "lengths_mm", gate.number, length),
            width_mm=_read(_MILLIMETRES, "widths_mm", gate.number, width),
        )
        for shape, length, width in zip(shapes, lengths, widths, strict=True)
    ]


def _read(adapter: TypeAdapter[Any], name: str, reader: Callable[[str], Any], text: str) -> Any:
    """One member of a list, as the contract types it."""
    try:
        return adapter.validate_python(reader(text))
    except ValidationError as error:
        detail = error.errors(include_url=False)[0]["msg"].removeprefix("Input should be ").replace("'", "")
    except ValueError as error:
        detail = str(error)
    found: FieldError = {"pointer": f"/{name}", "found": "text", "allowed": f"for each member {detail}"}
    raise ProblemError("query_invalid", [found])


def _band(band: LookBand) -> RatioBand:
    return RatioBand(band.look, band.from_, band.below)


def _answer(request: Request, draw: Callable[[], str], *, several: bool = False) -> Response:
    """The drawing, or a problem that says what cannot be drawn."""
    try:
        return respond(request, draw(), MEDIA_TYPE, FRESH, _HEADERS)
    except UndrawableError as error:
        lists = {"shape": "shapes", "length_mm": "lengths_mm", "width_mm": "widths_mm"}
        field = lists.get(error.field, "shapes") if several else error.field
        found: FieldError = {"pointer": f"/{field}", "found": error.found, "allowed": error.allowed}
        raise ProblemError("query_invalid", [found], detail="There is nothing true to draw.") from None
