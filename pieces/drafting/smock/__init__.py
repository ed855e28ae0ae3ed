"""The harbour smock: a pullover for the boathouse with a front slit, in five sizes and two necklines."""

from __future__ import annotations

from collections.abc import Callable

from drafting.piece import Cut, Drawing, Piece
from drafting.smock import body as torso
from drafting.smock import collar, details, sleeve
from drafting.smock.measures import SIZES, Measures
from drafting.write import pattern_text

_BAND = (40.0, 36.0)
_STAND = (34.0, 30.0)
_COLLAR = 50.0
"""Deeper than the stand, so that it covers the neck seam when it is turned."""


def text() -> str:
    return pattern_text(_head(), pieces())


def pieces() -> tuple[Piece, ...]:
    return (
        Piece("1", "Front", _fabric(1, "on fold"), _graded(_front)),
        Piece("2", "Back", _fabric(1, "on fold"), _graded(lambda m: torso.back(torso.body(m)))),
        Piece("3", "Yoke", _fabric(2, "on fold"), _graded(lambda m: torso.yoke(torso.body(m)))),
        Piece("4", "Sleeve", _fabric(2, "mirrored"), _graded(lambda m: sleeve.sleeve(_sleeve(m)))),
        Piece("5", "Cuff", _faced(4, 2, "alike"), _graded(lambda m: sleeve.cuff(_sleeve(m)))),
        Piece("6", "Band collar", _faced(2, 1, "alike"), _graded(_band)),
        Piece("7", "Collar stand", _faced(2, 1, "alike"), _graded(_stand)),
        Piece("8", "Collar", _faced(2, 1, "on fold"), _graded(_collar)),
        Piece(
            "9",
            "Placket",
            (Cut("fabric", 1, "alike"), Cut("interfacing", 1, "alike", region="overlap")),
            _graded(details.placket),
        ),
        Piece("10", "Pocket", _fabric(2, "mirrored"), _graded(details.pocket)),
        Piece("11", "Pocket flap", _fabric(4, "mirrored"), _graded(details.flap)),
        Piece("12", "Sleeve binding", _fabric(2, "alike"), {"every": sleeve.binding()}, "included"),
        Piece("13", "Underarm gusset", _fabric(2, "alike"), {"every": sleeve.gusset()}),
        Piece("14", "Vent facing", _fabric(4, "mirrored"), {"every": details.vent_facing()}),
        Piece("15", "Buttonhole guide", (), _graded(details.guide), "included"),
        Piece("16", "Hanging loop", _fabric(1, "alike"), {"every": details.loop()}, "included"),
    )


def _fabric(count: int, how: str) -> tuple[Cut, ...]:
    return (Cut("fabric", count, how),)


def _faced(count: int, interfaced: int, how: str) -> tuple[Cut, ...]:
    return (Cut("fabric", count, how), Cut("interfacing", interfaced, how))


def _graded(draw: Callable[[Measures], Drawing]) -> dict[str, Drawing]:
    return {size: draw(m) for size, m in SIZES.items()}


def _sleeve(m: Measures) -> sleeve.Sleeve:
    return sleeve.sleeve_block(torso.body(m), m)


def _front(m: Measures) -> Drawing:
    return torso.front(torso.body(m), m, details.pocket_corners(m))


def _band(m: Measures) -> Drawing:
    b = torso.body(m)
    return collar.stand(collar.stand_block(b, *_BAND), b, with_collar=False)


def _stand(m: Measures) -> Drawing:
    b = torso.body(m)
    return collar.stand(collar.stand_block(b, *_STAND), b, with_collar=True)


def _collar(m: Measures) -> Drawing:
    return collar.collar(collar.stand_block(torso.body(m), *_STAND), _COLLAR)


def _head() -> str:
    sizes = ", ".join(f'"{size}"' for size in SIZES)
    buttons = ", ".join(f"{size} = {m.slit_buttons + 3}" for size, m in SIZES.items())
    chests = ", ".join(f"{size} {m.chest / 10:g}" for size, m in SIZES.items())
    return f"""
name = "Harbour smock"
unit = "mm"
sizes = [{sizes}]
seam_allowance = "10 mm"
about = \"\"\"
For a chest of {chests} cm.
A pullover smock for rowing and deck work, worn over a jersey: yoke, front slit with a pointed placket,
cuffs, underarm gussets, side vents. Seams 10 mm, hem 25 mm, pocket tops 30 mm; the strips (12, 16) are
drawn with what they need.
\"\"\"

[views.A]
title = "Band collar"
pieces = ["1", "2", "3", "4", "5", "6", "9", "10", "11", "12", "13", "14", "15"]
optional = ["16"]

[views.B]
title = "Stand with turned collar"
pieces = ["1", "2", "3", "4", "5", "7", "8", "9", "10", "11", "12", "13", "14", "15"]
optional = ["16"]

# On a cloth with a print. The yoke is left out at the shoulders and the front: its lines lie at an angle
# there. Cuffs, band and stand are cut lengthwise and match nothing.
[[match]]
centre = ["1", "2"]

[[match]]
meet = ["side", "armhole front"]

[[match]]
meet = "pocket corner"
lines = "both"

[[match]]
pair = "4"

[[match]]
meet = "yoke back"
level = "everything"

[[match]]
centre = ["3", "8"]
level = "everything"

[fabric.fabric]
name = "Deck canvas, light"
width = "140 cm"
selvage = "10 mm"
gap = "3 mm"
shrink_along = "3 %"
shrink_across = "1 %"
step = "10 cm"
price = 14.5
price_per = "1 m"
currency = "EUR"

[fabric.interfacing]
name = "Non-woven interfacing, fusible"
width = "90 cm"
grain = "any"
gap = "3 mm"
step = "10 cm"
price = 6.2
price_per = "1 m"
currency = "EUR"

[[notion]]
name = "Button"
detail = "11 mm, four holes: placket, neck, cuffs"
count = {{ {buttons} }}

[[notion]]
name = "Button"
detail = "9 mm, two holes: collar points"
count = 2
views = ["B"]

[[notion]]
name = "Sewing thread"
detail = "polyester, 200 m reel"
count = 2
enough_for = 2

[[notion]]
name = "Cotton tape"
detail = "10 mm wide, 40 cm, to stay the yoke seam"
count = 1

[[notion]]
name = "Brass ring"
detail = "20 mm, for the hanging loop"
count = 1
with = "16"
"""
