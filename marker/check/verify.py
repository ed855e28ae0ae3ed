"""The whole check: what the job asks for against what the layout says, material by material."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely

from marker.check.demand import Key, Wanted, wanted_of
from marker.check.fault import Fault
from marker.check.geometry import DEPTH_TOLERANCE, Shape, overlapping, shrunk, solid, too_close
from marker.check.placed import Laid, faults_of, images_of, laid_shape, nap_faults
from marker.check.spread import EDGE_TOLERANCE, grounds_of
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout, Placement

WASTE_TOLERANCE = 0.01
"""Percentage points that the waste stated may be off."""
BUY_TOLERANCE = 1e-6
"""Millimetres: the length to buy may be off by it, and a step is not begun for less."""

Finding = tuple[str, str]
"""Piece number, if it is about one, and the sentence."""


def verify(layout: Layout, job: Job) -> list[Fault]:
    """All that does not hold of ``layout`` for ``job``, in the order of its materials; ``[]``: it holds.

    What must hold is worked out from the job's pieces and fabrics. Where pieces may lie on folded
    cloth is checked on the flat cloth: every layer is folded back to where it came from, so one rule
    for overlaps, gaps and flaws serves each way of spreading. Overlaps and places outside the cloth
    are told apart from rounding by ``DEPTH_TOLERANCE`` (see ``overlapping_pairs``).
    """
    faults = [Fault("", "", sentence) for sentence in _wrong_job(layout, job)]
    materials = dict.fromkeys(cut.material for piece in job.pieces for cut in piece.cuts)
    listed = [laid.material for laid in layout.materials]
    for material in materials:
        if listed.count(material) != 1:
            times = "not laid out" if material not in listed else "laid out more than once"
            faults.append(Fault(material, "", f"{material} is to be cut and is {times}"))
    for laid in layout.materials:
        if laid.material not in materials:
            faults.append(Fault(laid.material, "", f"nothing is to be cut from {laid.material}"))
        elif laid.material not in job.fabrics:
            faults.append(Fault(laid.material, "", f"no fabric is chosen for {laid.material}"))
        else:
            found = _material(laid, job, job.fabrics[laid.material])
            faults += [Fault(laid.material, piece, sentence) for piece, sentence in found]
    return faults


def _wrong_job(layout: Layout, job: Job) -> Iterator[str]:
    for what, ours, theirs in (
        ("size", job.size, layout.size),
        ("view", job.view, layout.view),
        ("number of garments", job.quantity, layout.quantity),
    ):
        if ours != theirs:
            yield f"the layout is for {what} {theirs} and {ours} is asked for"


def _material(layout: MaterialLayout, job: Job, fabric: Fabric) -> Iterator[Finding]:
    width = fabric.width * (2 if fabric.tube else 1) * (1 - fabric.shrink_across)
    selvage = 0.0 if fabric.tube else fabric.selvage
    numbers = (
        layout.width,
        *layout.usable,
        layout.length,
        layout.buy,
        layout.waste_percent,
        layout.lower_bound,
    )
    if not all(math.isfinite(number) for number in numbers) or layout.length <= 0:
        yield "", "the layout has a width or length that is no proper number"
        return
    grounds, wrong = grounds_of(layout.lay, layout.bands, width, selvage, layout.length)
    yield from (("", sentence) for sentence in [*wrong, *_refused(layout, fabric)])
    yield from (("", sentence) for sentence in _cloth(layout, width, selvage))

    wanted, uncuttable = wanted_of(job, layout.material, fabric.nap)
    yield from uncuttable
    pieces: list[Laid] = []
    for placement in layout.placements:
        shape = laid_shape(placement)
        if shape is None:
            yield placement.piece, f"{placement.name} has an outline of less than three proper points"
            continue
        if not 0 <= placement.band < len(layout.bands):
            yield placement.piece, f"{placement.name} lies on no band of the cloth"
            continue
        pieces.append(
            Laid(
                placement,
                wanted.get(_key(placement)),
                shape,
                grounds[placement.band] if grounds else None,
                layout.bands[placement.band].layers,
            )
        )
    for laid in pieces:
        yield from ((laid.placement.piece, sentence) for sentence in faults_of(laid, fabric))
    if fabric.nap:
        yield from ((laid.placement.piece, sentence) for laid, sentence in nap_faults(pieces))
    yield from _apart(pieces, fabric)
    yield from _counts(pieces, wanted)
    yield from (("", sentence) for sentence in _lengths(layout, fabric, width, pieces, wanted))


def _key(placement: Placement) -> Key:
    return placement.piece, placement.region, placement.on_fold or placement.opened


def _refused(layout: MaterialLayout, fabric: Fabric) -> Iterator[str]:
    if layout.lay == "crosswise fold" and fabric.nap:
        yield "a crosswise fold turns one layer end for end, which cloth with a nap does not allow"
    if fabric.tube != (layout.lay == "tubular"):
        yield "a tube is laid as a tube, and only a tube is"


def _cloth(layout: MaterialLayout, width: float, selvage: float) -> Iterator[str]:
    if abs(layout.width - width) > EDGE_TOLERANCE:
        yield f"the cloth is {width:.2f} mm wide and {layout.width:.2f} mm is stated"
    usable = (selvage, width - selvage)
    if any(abs(a - b) > EDGE_TOLERANCE for a, b in zip(usable, layout.usable, strict=True)):
        stated = f"{layout.usable[0]:.2f} to {layout.usable[1]:.2f} mm"
        yield f"the cloth can be used from {usable[0]:.2f} to {usable[1]:.2f} mm and {stated} is stated"


def _apart(pieces: Sequence[Laid], fabric: Fabric) -> Iterator[Finding]:
    """Overlaps, gaps and flaws, on the flat cloth."""
    shapes: list[Shape] = []
    owner: list[int] = []
    for index, laid in enumerate(pieces):
        images = images_of(laid)
        shapes += images
        owner += [index] * len(images)
    overlaps: dict[tuple[int, int], float] = {}
    for a, b, depth in overlapping(shapes, DEPTH_TOLERANCE):
        pair = (owner[a], owner[b])
        if pair[0] != pair[1]:
            overlaps[pair] = max(depth, overlaps.get(pair, 0.0))
    for (one, other), depth in sorted(overlaps.items()):
        sentence = f"{pieces[one].at} and {pieces[other].at} overlap by up to {depth:.2f} mm"
        yield pieces[one].placement.piece, sentence
    gaps: dict[tuple[int, int], float] = {}
    for a, b, distance in too_close(shapes, fabric.gap - DEPTH_TOLERANCE):
        pair = (owner[a], owner[b])
        if pair[0] != pair[1] and pair not in overlaps:
            gaps[pair] = min(distance, gaps.get(pair, math.inf))
    for (one, other), distance in sorted(gaps.items()):
        apart = f"lie {distance:.2f} mm apart and {fabric.gap:.2f} mm are to be kept"
        yield pieces[one].placement.piece, f"{pieces[one].at} and {pieces[other].at} {apart}"
    if fabric.flaws and all(laid.ground is not None for laid in pieces):
        flaws = [solid(flaw) for flaw in fabric.flaws]
        cores = [shrunk(shape, DEPTH_TOLERANCE) for shape in shapes]
        hits = shapely.STRtree(cores).query(flaws, predicate="intersects").T.tolist()
        for index in sorted({owner[hit] for _, hit in hits}):
            yield pieces[index].placement.piece, f"{pieces[index].at} is cut over a flaw of the cloth"


def _counts(pieces: Sequence[Laid], wanted: dict[Key, Wanted]) -> Iterator[Finding]:
    for key, want in wanted.items():
        mine = [laid for laid in pieces if laid.wanted is want]
        drawn = sum(laid.yields[0] for laid in mine)
        mirrored = sum(laid.yields[1] for laid in mine)
        spare = sum(laid.placement.spare for laid in mine)
        what = f"{want.piece.name}, {key[1]}" if key[1] else want.piece.name
        if drawn + mirrored - spare != want.total:
            spared = f", {spare} of them to spare" if spare else ""
            yield key[0], f"{what}: {want.total} asked for and {drawn + mirrored} laid out{spared}"
        elif not want.handless and not any(drawn >= a and mirrored >= b for a, b in want.hands):
            a, b = max(want.hands)
            given = f"{drawn} as drawn and {mirrored} mirrored laid out"
            yield key[0], f"{what}: {a} as drawn and {b} mirrored asked for and {given}"


def _lengths(
    layout: MaterialLayout, fabric: Fabric, width: float, pieces: Sequence[Laid], wanted: dict[Key, Wanted]
) -> Iterator[str]:
    spread = layout.length / 2 if layout.lay == "crosswise fold" else layout.length
    reach = max((laid.shape.bounds[2] for laid in pieces if not laid.shape.is_empty), default=0.0)
    if reach > spread + DEPTH_TOLERANCE:
        yield f"the pieces reach to {reach:.2f} mm along and the length stated ends at {spread:.2f} mm"
    if layout.lower_bound > layout.length + DEPTH_TOLERANCE:
        bound = f"no layout is said to be under {layout.lower_bound:.2f} mm"
        yield f"the length is {layout.length:.2f} mm and {bound}"
    area = sum(want.shape.area * want.total for want in wanted.values())
    waste = 100 * (1 - area / (layout.length * width))
    if abs(waste - layout.waste_percent) > WASTE_TOLERANCE:
        yield f"{waste:.2f} % of the cloth is waste and {layout.waste_percent:.2f} % is stated"
    need = layout.length / (1 - fabric.shrink_along)
    right = math.ceil((need - BUY_TOLERANCE) / fabric.step) * fabric.step
    if abs(layout.buy - right) > BUY_TOLERANCE:
        yield f"{need:.2f} mm are needed, so {right:.2f} mm to buy, and {layout.buy:.2f} mm are stated"
