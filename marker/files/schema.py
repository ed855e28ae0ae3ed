"""What pattern and fabric files may hold: one pydantic model for each kind of table.

Field names here are the field names of the files (see the aliases); descriptions end up in the JSON
Schema that editors complete from. Lengths are read in the file's own unit, which comes in through the
validation context under "unit".
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)
from pydantic_core import InitErrorDetails

from marker.units import System, parse_length_system, parse_percent

MOST_COPIES = 1000
"""Copies one cut may ask for."""

UNITS = ("mm", "cm", "in")

FINEST = 0.1
"""Millimetres that matching lines must be allowed to miss each other by."""

_INCLUDED = "included"


class Measure(NamedTuple):
    """A length in millimetres, and the unit family it was written in."""

    mm: float
    system: System


class Included(NamedTuple):
    """The outline is the cutting line; ``mm`` inside it runs the stitching line, None if nobody says."""

    mm: float | None


def _measure(value: Any, info: ValidationInfo) -> Measure:
    unit = (info.context or {}).get("unit", "mm")
    found = Measure(*parse_length_system(value, unit or "mm"))
    if unit is None and found.mm != parse_length_system(value, "in")[0]:
        units = ("cm", "in") if found.mm < 300 else ("mm", "in")
        number = f"{value}".strip()
        raise ValueError(
            f'{number} of which unit? Write "{number} {units[0]}" or "{number} {units[1]}", '
            'or unit = "cm" at the top of the file for all numbers in it'
        )
    return found


def _positive(value: Any, info: ValidationInfo) -> Measure:
    measure = _measure(value, info)
    if measure.mm <= 0:
        raise ValueError(f"{value!r} is nothing: write a length greater than 0")
    return measure


def _allowance(value: Any, info: ValidationInfo) -> Measure | Included:
    text = value.strip() if isinstance(value, str) else ""
    included = text[: len(_INCLUDED)].lower() == _INCLUDED
    if included and len(text) == len(_INCLUDED):
        return Included(None)
    if text and not any(char.isdigit() for char in text):
        raise ValueError(
            f'{value!r} is no allowance: write a length like "10 mm", "included" or "included 10 mm"'
        )
    measure = _measure(text[len(_INCLUDED) :] if included else value, info)
    if measure.mm > 200:
        raise ValueError(
            f"{value!r} is more than 20 cm, which is no seam allowance; check the number and the unit"
        )
    return Included(measure.mm) if included else measure


def _names(value: Any) -> list[str]:
    """One name, or a list of them."""
    names = value if isinstance(value, list) else [value]
    if not names:
        raise ValueError("is an empty list: write at least one name")
    words = [_word(name) for name in names]
    for word in words:
        if not isinstance(word, str):
            raise ValueError(f"{word!r} is no name: write a text in quotes, or a list of them")
        if words.count(word) > 1:
            raise ValueError(f"{word} is listed twice: leave one out")
    return words


def _tolerance(value: Any, info: ValidationInfo) -> Measure:
    measure = _positive(value, info)
    if measure.mm < FINEST:
        raise ValueError(
            f"{value!r} is finer than cloth can be laid: write a tolerance of at least {FINEST:g} mm"
        )
    return measure


def _shrinkage(value: Any) -> float:
    fraction = parse_percent(value)
    if fraction >= 0.5:
        raise ValueError(f"{value!r} is absurd for cloth: write the percentage it shrinks by, like 3 %")
    return fraction


def _word(value: Any) -> Any:
    """A name; numbers written without quotes are welcome."""
    if isinstance(value, int) and not isinstance(value, bool):
        value = str(value)
    if isinstance(value, str):
        value = value.strip()
        if not value:
            raise ValueError("is empty: write at least one letter or digit")
        if len(value) > 100:
            raise ValueError("is longer than 100 characters: write a shorter one")
        _one_line(value)
    return value


def _one_line(text: str) -> str:
    if len(text.splitlines()) > 1:
        raise ValueError("goes over several lines: write it on one line")
    unseen = next((i for i, char in enumerate(text) if not char.isprintable()), None)
    if unseen is not None:
        where = f'after "{text[:unseen][-20:]}"' if unseen else "at its start"
        what = f"holds a character that cannot be seen (U+{ord(text[unseen]):04X}) {where}"
        raise ValueError(f"{what}: type these words afresh")
    return text


def _angle(value: float) -> float:
    if not 0 <= value <= 45:
        raise ValueError(f"{value:g} is no tolerance: write degrees from 0 to 45")
    return value


def _counts(value: Any) -> dict[str, int] | int:
    for count in value.values() if isinstance(value, dict) else [value]:
        if isinstance(count, bool) or not isinstance(count, int):
            raise ValueError(
                f"{count!r} is no count: write a whole number, or one for each size like {{ S = 6 }}"
            )
        if not 0 <= count <= MOST_COPIES:
            raise ValueError(f"{count} is no count: write a whole number from 0 to {MOST_COPIES}")
    if isinstance(value, dict):
        return {str(size): count for size, count in value.items()}
    return int(value)


_LENGTH_SCHEMA = {
    "anyOf": [
        {"type": "number", "minimum": 0},
        {"type": "string", "examples": ["140 cm", "55 in", "1 3/8 yd"]},
    ]
}
_POSITIVE_SCHEMA = {"anyOf": [{"type": "number", "exclusiveMinimum": 0}, _LENGTH_SCHEMA["anyOf"][1]]}
_WORD_SCHEMA = {"anyOf": [{"type": "string", "minLength": 1}, {"type": "integer"}]}

Length = Annotated[Measure, PlainValidator(_measure), WithJsonSchema(_LENGTH_SCHEMA)]
PositiveLength = Annotated[Measure, PlainValidator(_positive), WithJsonSchema(_POSITIVE_SCHEMA)]
Allowance = Annotated[
    Measure | Included,
    PlainValidator(_allowance),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0},
                {"type": "string", "examples": ["10 mm", "included", "included 15 mm"]},
            ]
        }
    ),
]
Tolerance = Annotated[Measure, PlainValidator(_tolerance), WithJsonSchema(_POSITIVE_SCHEMA)]
Shrinkage = Annotated[
    float,
    PlainValidator(_shrinkage),
    WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "examples": ["3 %"]}]}),
]
Counts = Annotated[
    dict[str, int] | int,
    PlainValidator(_counts),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "integer", "minimum": 0, "maximum": MOST_COPIES},
                {"type": "object", "additionalProperties": {"type": "integer", "minimum": 0}},
            ]
        }
    ),
]
Word = Annotated[str, BeforeValidator(_word), WithJsonSchema(_WORD_SCHEMA)]
Phrase = Annotated[str, AfterValidator(_one_line)]
Words = Annotated[
    list[str],
    PlainValidator(_names),
    WithJsonSchema(
        {"anyOf": [*_WORD_SCHEMA["anyOf"], {"type": "array", "items": _WORD_SCHEMA, "minItems": 1}]}
    ),
]
Number = Annotated[float, Field(allow_inf_nan=False)]
PointGiven = Annotated[list[Number], Field(min_length=2, max_length=2)]
TwoPoints = Annotated[list[PointGiven], Field(min_length=2, max_length=2)]


def _spot(value: Any, point: ValidatorFunctionWrapHandler) -> Any:
    """[x, y], or the name of a corner."""
    return _word(value) if isinstance(value, str) else point(value)


if TYPE_CHECKING:
    Spot = list[float] | str
else:
    Spot = Annotated[PointGiven, WrapValidator(_spot, json_schema_input_type=PointGiven | str)]
TwoSpots = Annotated[list[Spot], Field(min_length=2, max_length=2)]
Place = Annotated[list[Length], Field(min_length=2, max_length=2)]
Count = Annotated[int, Field(ge=1, le=MOST_COPIES)]


class Table(BaseModel):
    """What all tables share: no unknown fields, and no guessing of types."""

    model_config = ConfigDict(extra="forbid", strict=True, populate_by_name=False)


class NotchTable(Table):
    """A mark on the edge: at a place, or so far from a named corner along the outline."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {
                    "required": ["at"],
                    "properties": {"from": False, "towards": False, "distance": False},
                },
                {"required": ["from", "towards", "distance"], "properties": {"at": False}},
            ],
        }
    )

    name: Word = Field(description="Notches of one name meet in sewing.")
    at: Spot | None = Field(
        None, description="[x, y] on the outline, snapped to it if within 1 mm; or the name of a corner."
    )
    from_: Word | None = Field(
        None, alias="from", description="In place of at: the named corner that it is measured from."
    )
    towards: Word | None = Field(
        None, description="The named corner that it is measured towards, the shorter way round."
    )
    distance: Length | None = Field(None, description="How far it is from there, along the outline as drawn.")


class MarkTable(Table):
    """A named place inside a piece, such as where the corner of a pocket comes to lie."""

    name: Word = Field(description="Notches and marks of one name meet in sewing.")
    at: PointGiven = Field(description="[x, y] inside the piece.")


class StretchTable(Table):
    """A stretch of the outline with a seam allowance of its own."""

    from_: Spot = Field(
        alias="from", description="[x, y] on the outline where the stretch begins, or the name of a corner."
    )
    to: Spot = Field(description="Where it ends, going the way the outline is drawn.")
    width: Length = Field(description="The allowance there; 0 for none.")


class CornerTable(Table):
    """One corner of a piece measured with a ruler, or a point that a curve goes through between two corners.

    Length, bulge and hollow are about the edge that leads to the corner from the one before it; at the first
    corner, from the last one.
    """

    at: PointGiven | None = Field(None, description="[x, y] of the corner.")
    through: PointGiven | None = Field(
        None, description="[x, y] of a point on the curve between the corner before and the one after."
    )
    right: Length | None = Field(None, description="The corner is so far to the right of the one before.")
    left: Length | None = Field(None, description="So far to the left.")
    up: Length | None = Field(None, description="So far up.")
    down: Length | None = Field(None, description="So far down.")
    go: PositiveLength | None = Field(
        None, description="The corner is so far from the one before, in the direction that turn says."
    )
    turn: Number | None = Field(
        None,
        description="Degrees to turn to the right before going, from the edge before; minus: to the left.",
    )
    length: PositiveLength | None = Field(
        None, description="The measured length of the edge that leads here, to check the others against."
    )
    bulge: PositiveLength | None = Field(
        None,
        description="The edge that leads here is curved: so far outwards in its middle, part of a circle.",
    )
    hollow: PositiveLength | None = Field(None, description="So far inwards in its middle.")
    name: Word | None = Field(
        None, description="What to call the place, for notches, fold, hem, allowances and other sizes."
    )


def _corner(value: Any) -> Any:
    """A bare [x, y] is a corner at that place."""
    return {"at": value} if isinstance(value, list) else value


Corner = Annotated[CornerTable, BeforeValidator(_corner, json_schema_input_type=PointGiven | CornerTable)]


class MoveTable(Table):
    """How far a corner of another size moves."""

    by: PointGiven | None = Field(None, description="[x, y]: so far to the right, and so far down.")
    right: Length | None = Field(None, description="So far to the right.")
    left: Length | None = Field(None, description="So far to the left.")
    up: Length | None = Field(None, description="So far up.")
    down: Length | None = Field(None, description="So far down.")


def _move(value: Any) -> Any:
    """A bare [x, y] is how far to the right and down."""
    return {"by": value} if isinstance(value, list) else value


Move = Annotated[MoveTable, BeforeValidator(_move, json_schema_input_type=PointGiven | MoveTable)]


class DrawingTable(Table):
    """One piece in one size. Coordinates as in SVG: x to the right, y down, in the file's unit.

    It has an outline, or else corners, or else it is like another size.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {"required": ["outline", "grain"]},
                {"required": ["corners", "grain"]},
                {"required": ["like"]},
            ],
            "dependentRequired": {"move": ["like"], "named_corners": ["outline"]},
        }
    )

    outline: str | None = Field(None, description="SVG path data of the closed outline.")
    corners: list[Corner] | None = Field(
        None, description="The corners in order, all the way round, in place of an outline.", min_length=3
    )
    like: Word | None = Field(
        None,
        description="In place of an outline: the size that this one is copied from, but for what it says.",
    )
    move: dict[Word, Move] = Field(
        {}, description="Named corners of that size that lie elsewhere in this one, and how far they move."
    )
    named_corners: dict[Word, PointGiven] = Field(
        {}, description="Names for places on an outline: { underarm = [x, y] }."
    )
    grain: TwoPoints | None = Field(
        None, description="[tail, head] of the grain line; the head is the top of the garment."
    )
    fold: TwoSpots | None = Field(
        None,
        description="Both ends of the edge that is laid on the fold, points or names of corners: a straight "
        "stretch of the outline.",
    )
    notches: list[NotchTable] = Field([], description="Marks on the edge.")
    hem: TwoSpots | None = Field(
        None,
        description="Both ends of the edge that goes along a border, points or names of corners: a straight "
        "stretch of the outline.",
    )
    marks: list[MarkTable] = Field([], description="Named places inside the piece that can be matched.")
    drills: list[PointGiven] = Field([], description="[x, y] of drill holes inside the piece.")
    lines: list[str] = Field([], description="SVG path data of lines inside the piece, marked and not cut.")
    allowances: list[StretchTable] = Field([], description="Stretches with an allowance of their own.")
    regions: dict[Word, str] = Field(
        {}, description="Named parts of the piece, as SVG path data of cutting lines."
    )

    @model_validator(mode="after")
    def _has_grain(self) -> Self:
        if self.grain is None and self.like is None:
            missing = InitErrorDetails(type="missing", loc=("grain",), input=self)
            raise ValidationError.from_exception_data("DrawingTable", [missing])
        return self


class CutTable(Table):
    """How many copies are cut from one material."""

    material: Word = Field(description='"fabric", "interfacing", "lining" or any other name.')
    count: Count = Field(description="Copies for one garment; on fold counts whole, opened-out pieces.")
    how: Literal["mirrored", "alike", "on fold"] | None = Field(
        None,
        description="Left and right hands, all the same, or on the fold. Left out: on fold if the drawing "
        "has a fold edge, else mirrored for an even count and alike for one.",
    )
    region: Word | None = Field(None, description="The region to cut instead of the whole piece.")


class PieceTable(Table):
    """One piece of the pattern."""

    number: Word = Field(description="What the views call the piece.")
    name: Word = Field(description='What the piece is called, like "Front".')
    seam_allowance: Allowance | None = Field(
        None, description='Overrides the pattern\'s: a length to add, "included" or "included 15 mm".'
    )
    bias: bool = Field(False, description="True if it is cut with its grain line at 45° to the cloth.")
    cuts: list[CutTable] = Field([], description="What is cut from it; none makes the piece a guide.")
    drawing: dict[str, DrawingTable] = Field(
        description='One drawing for each size, or "every" for a piece that is the same in all sizes.',
        min_length=1,
    )


class ViewTable(Table):
    """One version of the garment."""

    title: Phrase = Field("", description="A few words about this version.")
    pieces: list[Word] = Field(description="Numbers of the pieces that it always has.", min_length=1)
    optional: list[Word] = Field([], description="Numbers of the pieces that it has only when asked for.")


class FlawTable(Table):
    """A place on the cloth not to cut over: a round spot, or an outline."""

    along: Length | None = Field(None, description="Middle of a spot, along the length from the cut end.")
    across: Length | None = Field(None, description="Middle of a spot, across from the lower selvage.")
    radius: PositiveLength | None = Field(None, description="Radius of a spot.")
    outline: str | None = Field(None, description="SVG path data, x along the length and y across the width.")


class PrintTable(Table):
    """What repeats on a cloth. Lengths as sold, before it shrinks."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [
                {
                    "properties": {"kind": {"const": "stripes along"}},
                    "required": ["across"],
                    "not": {"required": ["along"]},
                },
                {
                    "properties": {"kind": {"const": "stripes across"}},
                    "required": ["along"],
                    "not": {"required": ["across"]},
                },
                {"properties": {"kind": {"enum": ["check", "motifs"]}}, "required": ["along", "across"]},
            ]
        }
    )

    kind: Literal["stripes along", "stripes across", "check", "motifs"] = Field(
        description='"stripes along" run the length of the cloth, "stripes across" from selvage to selvage.'
    )
    along: PositiveLength | None = Field(
        None, description="The repeat along the length; of all but stripes along."
    )
    across: PositiveLength | None = Field(
        None, description="The repeat across the width; of all but stripes across."
    )
    start: Place = Field(
        [Measure(0.0, "metric"), Measure(0.0, "metric")],
        description="The middle of a bar or motif: how far from the cut end, and from the lower selvage.",
    )
    even: Literal["both", "along", "across", "none"] = Field(
        "both",
        description='The ways in which a mirror image looks the same: "along" is turned end for end, '
        '"across" mirrored from selvage to selvage.',
    )
    tolerance: Tolerance = Field(
        Measure(1.0, "metric"), description="How far lines that should meet may miss each other."
    )


class BorderTable(Table):
    """A border along one selvage."""

    side: Literal["lower", "upper"] = Field(description="The selvage it runs along.")
    width: PositiveLength = Field(description="From the selvage inwards, as sold.")


class RemnantTable(Table):
    """A piece of this cloth in hand: a rectangle, or an outline. Lengths as it lies now."""

    model_config = ConfigDict(
        json_schema_extra={"oneOf": [{"required": ["outline"]}, {"required": ["length", "width"]}]}
    )

    name: Word = Field(description="What to call it in the plan.")
    outline: str | None = Field(
        None, description="SVG path data, x along the grain and y across, as seen from the right side."
    )
    length: PositiveLength | None = Field(None, description="Of a rectangle: along the grain.")
    width: PositiveLength | None = Field(None, description="Of a rectangle: across the grain.")
    holes: list[str] = Field([], description="SVG path data of what is cut out of it, or spoilt.")
    washed: bool = Field(
        False,
        description="True if it has been washed already; else what the cloth loses in the wash is taken off.",
    )


class FabricTable(Table):
    """One cloth as it is sold."""

    model_config = ConfigDict(
        json_schema_extra={
            "anyOf": [
                {"required": ["width"]},
                {"required": ["roll", "remnant"], "properties": {"roll": {"const": False}}},
            ]
        }
    )

    name: Word | None = Field(None, description="What the cloth is called.")
    width: PositiveLength | None = Field(
        None,
        description="Selvage to selvage as sold; of a tube, lying flat. Left out if there are only remnants.",
    )
    selvage: Length = Field(Measure(0.0, "metric"), description="Keep this clear at both selvages.")
    nap: bool = Field(False, description="True if all pieces must face one way.")
    grain: Literal["lengthwise", "any"] = Field("lengthwise", description='"any" for non-woven cloth.')
    grain_tolerance: Annotated[Number, AfterValidator(_angle)] = Field(
        0.0, description="Degrees a piece may lie off the grain, either way."
    )
    gap: Length = Field(Measure(0.0, "metric"), description="Distance to leave between pieces.")
    shrink_along: Shrinkage = Field(0.0, description='Shrinkage of the length, "3 %" or 3.')
    shrink_across: Shrinkage = Field(0.0, description='Shrinkage of the width, "1 %" or 1.')
    tube: bool = Field(False, description="True for a tubular knit.")
    step: PositiveLength | None = Field(
        None, description='The steps it is sold in; left out: "10 cm", or "1/8 yd" for a width in inches.'
    )
    price: Annotated[Number, Field(ge=0)] | None = Field(None, description="Price of price_per.")
    price_per: PositiveLength | None = Field(None, description='Length the price is for; "1 m" or "1 yd".')
    currency: Phrase = Field("", description='Like "EUR".', max_length=20)
    flaws: list[FlawTable] = Field([], description="Places of the roll not to cut over.")
    print: PrintTable | None = Field(None, description="Stripes, checks or motifs that can be matched.")
    border: BorderTable | None = Field(None, description="A border along one selvage.")
    remnant: list[RemnantTable] = Field([], description="Pieces of it in hand, used up before any is bought.")
    roll: bool = Field(True, description="False if there are only the remnants, and none to buy.")


class NotionTable(Table):
    """Something to buy that is not cloth."""

    name: Word = Field(description='Like "Button".')
    detail: Phrase = Field("", description='Like "11 mm, four holes".', max_length=200)
    count: Counts = Field(description="How many for one garment, or one number for each size.")
    enough_for: Annotated[int, Field(ge=1)] = Field(
        1, description="How many garments the count is enough for, like reels of thread that last for two."
    )
    views: list[Word] = Field([], description="The views that need it; left out: every view.")
    with_: Word | None = Field(None, alias="with", description="Only when this optional piece is cut.")


class MatchTable(Table):
    """Something to match when the cloth has a print: it has one of meet, centre and pair."""

    model_config = ConfigDict(
        json_schema_extra={
            "oneOf": [{"required": ["meet"]}, {"required": ["centre"]}, {"required": ["pair"]}],
            "dependentRequired": {"at": ["centre"]},
        }
    )

    meet: Words | None = Field(
        None, description="Notches or marks that meet where they are stitched, one name or several."
    )
    centre: Words | None = Field(
        None, description="Numbers of pieces whose middle lies on the middle of a bar or motif."
    )
    pair: Words | None = Field(
        None, description="Numbers of pieces whose copies all show the same part of the print."
    )
    lines: Literal["crosswise", "lengthwise", "both"] | None = Field(
        None,
        description="The lines of the print that meet there; left out: crosswise for meet, lengthwise for "
        "centre, both for pair.",
    )
    level: Literal["main", "everything"] = Field(
        "main", description='"everything": only when everything is to match.'
    )
    at: Word | None = Field(None, description="A notch or mark that is the middle of the pieces to centre.")


class PatternFile(Table):
    """A whole pattern file."""

    name: Word = Field(description="What the pattern is called.")
    unit: Literal["mm", "cm", "in"] = Field(description="Unit of every bare number in this file.")
    about: str = Field("", description="Anything worth saying about the pattern.")
    sizes: list[Word] = Field(["one size"], description="Names of the sizes, in order.", min_length=1)
    seam_allowance: Allowance | None = Field(
        None,
        description='Added all round every piece, like "10 mm"; "included" if outlines are cutting lines, '
        'and "included 15 mm" if the stitching line is known to run so far inside.',
    )
    views: dict[Word, ViewTable] = Field(
        {}, description="Versions of the garment; the first one is the default."
    )
    fabric: dict[Word, FabricTable] = Field({}, description="The cloth for each material.")
    notion: list[NotionTable] = Field([], description="Buttons and the like.")
    piece: list[PieceTable] = Field(description="The pieces.", min_length=1)
    match: list[MatchTable] = Field([], description="What matches when the cloth has a print.")


class FabricFile(Table):
    """A file of fabrics only."""

    unit: Literal["mm", "cm", "in"] | None = Field(
        None,
        description="Unit of every bare number in this file; left out, lengths say their own unit and path "
        "data is in millimetres.",
    )
    fabric: dict[Word, FabricTable] = Field(description="The cloth for each material.", min_length=1)
