"""Small jobs with answers that can be counted by hand."""

from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.piece import Cut, Piece


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0):
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def wedge(length: float = 300.0, tall: float = 200.0, short: float = 100.0):
    """A right-angled trapezium: no mirror image of itself."""
    return ((0.0, 0.0), (length, 0.0), (length, short), (0.0, tall))


def piece(number, outline, *cuts, fold=None, grain=((0.0, 10.0), (100.0, 10.0))):
    return Piece(number, f"Part {number}", tuple(outline), grain, tuple(cuts), fold_edge=fold)


def fold_half(number, length, half, *cuts):
    """A rectangle ``length`` along the grain whose whole is twice ``half`` across, drawn as its half."""
    return piece(number, rectangle(length, half), *cuts, fold=((0.0, 0.0), (length, 0.0)))


def cut(count, how="alike", material="fabric", **more):
    return Cut(material, count, how, **more)


def job(*pieces, quantity=1, **fabric):
    materials = {cut.material for piece in pieces for cut in piece.cuts}
    settings = {"width": 1000.0, **fabric}
    fabrics = {name: Fabric(name=name, **settings) for name in materials}
    return Job("Test", "M", "A", tuple(pieces), fabrics, quantity)
