"""The whole check: what the job asks for against what the layout says, material by material."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import shapely

from marker.check.bounds import least_flat, least_length
from marker.check.cloths import Cloth, cloth_of, over_the_edge, wrong_cloths
from marker.check.demand import Key, Wanted, wanted_of
from marker.check.direction import direction_faults, hem_faults, nap_faults
from marker.check.fault import Fault
from marker.check.geometry import DEPTH_TOLERANCE, Shape, overlapping, shrunk, solid, too_close
from marker.check.matching import match_faults, spread_faults
from marker.check.placed import Laid, faults_of, images_of, laid_shape
from marker.check.spread import EDGE_TOLERANCE, Ground, grounds_of
from marker.check.told import cloth_faults, family_of, obstacle_faults, text_faults, tried_faults
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import Layout, MaterialLayout, Missing, Placement, Tried
from marker.model.match import Match

WASTE_TOLERANCE = 0.01
"""Percentage points that the waste stated may be off."""
BUY_TOLERANCE = 1e-6
"""Millimetres that the length to buy may be off by."""
STEP_SLACK = 0.001
"""Millimetres for which no further step need be begun: rounding."""
BOUND_TOLERANCE = 0.01
"""Millimetres that a bound claimed may be above what is shown."""
CLAIM_MARGIN = 0.5
"""Millimetres by which the outlines of the search are larger than the true ones: so much less is claimed."""
PROVEN_TOLERANCE = 1.0
"""Millimetres by which a layout proven shortest may be longer than its bound: finer than cloth is cut."""
PARTS_TOLERANCE = 0.001
"""Millimetres that the parts of it may be off."""

Finding = tuple[str, str]
"""Piece number, if it is about one, and the sentence."""


@dataclass(frozen=True)
class Task:
    """What one material has to yield, and from what. ``directed``: all pieces face one way.

    ``fold`` is the spread that was asked for, None where a layout does not tell; ``simpler`` how much
    more may be bought for fewer outlines to cut.
    """

    fabric: Fabric
    wanted: dict[Key, Wanted]
    asked: tuple[Match, ...]
    matching: str
    directed: bool
    fold: object = None
    simpler: float = 0.0

    @property
    def asks_lengthwise(self) -> bool:
        return any(match.lengthwise for match in self.asked)

    @property
    def whole_repeats(self) -> float | None:
        """The repeat that the length is a whole number of, so that every ply starts at the same place of it.

        Vilumsone-Nemes, Industrial Cutting of Textile Materials, p. 231.
        """
        crosswise = any(match.crosswise for match in self.asked)
        return self.fabric.print.along if self.fabric.print and crosswise else None


def verify(layout: Layout, job: Job) -> list[Fault]:
    """All that does not hold of ``layout`` for ``job``, in the order of its materials; ``[]``: it holds.

    What must hold is worked out from the job's pieces and fabrics. Where pieces may lie on folded
    cloth is checked on the flat cloth: every layer is folded back to where it came from, so one rule
    for overlaps, gaps, flaws and prints serves each way of spreading. Overlaps and places outside the
    cloth are told apart from rounding by ``DEPTH_TOLERANCE`` (see ``overlapping_pairs``).

    A layout that says honestly which copies found no place on the cloth there is holds; ``missing``
    tells what it lacks.
    """
    faults = [Fault("", "", sentence) for sentence in _wrong_job(layout, job)]
    materials = dict.fromkeys(cut.material for piece in job.pieces for cut in piece.cuts)
    listed = dict.fromkeys(laid.material for laid in layout.materials)
    for material in materials:
        if material not in listed:
            faults.append(Fault(material, "", f"{material} is to be cut and is not laid out"))
    for material in listed:
        entries = [laid for laid in layout.materials if laid.material == material]
        if material not in materials:
            faults.append(Fault(material, "", f"nothing is to be cut from {material}"))
        elif material not in job.fabrics:
            faults.append(Fault(material, "", f"no fabric is chosen for {material}"))
        else:
            found = _material(entries, job, job.fabrics[material], layout.asked)
            faults += [Fault(material, piece, sentence) for piece, sentence in found]
    return faults


def limited(
    entries: Sequence[MaterialLayout], job: Job, *, thorough: bool = True
) -> tuple[MaterialLayout, ...]:
    """The layouts of one material, claiming no more of how short they are than ``verify`` can show.

    What the search claims beyond that stays on as its own account of it (``searched``). Not ``thorough``: no
    more than is seen at once. What does not hold otherwise is left for ``verify``.
    """
    material = entries[0].material
    task, _ = _task(job, material, job.fabrics[material], {})
    found = []
    for entry in entries:
        cloth = cloth_of(task.fabric, entry.cloth)
        bound = 0.0
        if cloth is not None and _numbers_hold(entry, cloth):
            grounds, _ = _grounds(entry, cloth, task)
            pieces, _ = _laid(entry, grounds, task.wanted)
            if grounds and _in_form(pieces):
                claimed = entry.lower_bound - CLAIM_MARGIN if thorough else 0.0
                bound = min(entry.lower_bound, _shown(entry, task, pieces, grounds, claimed))
        bound = max(bound, 0.0)
        proven = 0 < entry.length <= bound + PROVEN_TOLERANCE
        # Of a remnant the search has looked at more copies than came to lie on it.
        more = entry.lower_bound > bound + CLAIM_MARGIN and not entry.cloth
        searched = min(entry.lower_bound, entry.length) if more else 0.0
        short = entry.short_least
        if short:
            short = min(short, max(0.0, _least_short(entry, task.fabric, task.wanted)))
        found.append(replace(entry, lower_bound=bound, proven=proven, searched=searched, short_least=short))
    return tuple(found)


def missing(layout: Layout) -> list[Fault]:
    """What a layout says had no place on the cloth there is: no faults, if ``verify`` finds none."""
    found = []
    for laid in layout.materials:
        for lack in laid.missing:
            what = f"{lack.name}, {lack.region}" if lack.region else lack.name
            found.append(Fault(laid.material, lack.piece, f"{what}: {lack.count} had no place on the cloth"))
    return found


def _wrong_job(layout: Layout, job: Job) -> Iterator[str]:
    for what, ours, theirs in (
        ("pattern", job.pattern, layout.pattern),
        ("size", job.size, layout.size),
        ("view", job.view, layout.view),
        ("number of garments", job.quantity, layout.quantity),
    ):
        if ours != theirs:
            yield f"the layout is for {what} {theirs} and {ours} is asked for"


def _material(
    entries: Sequence[MaterialLayout], job: Job, fabric: Fabric, said: Mapping[str, object]
) -> Iterator[Finding]:
    """One material: each of its cloths by itself, then the copies that come off all of them."""
    task, uncuttable = _task(job, entries[0].material, fabric, said)
    design, asked, wanted = fabric.print, task.asked, task.wanted
    yield from uncuttable
    wrong = list(wrong_cloths(entries, fabric))
    yield from (("", sentence) for sentence in wrong)
    if asked and len(entries) > 1 and not wrong:
        yield "", "a print cannot be made to match across several pieces of cloth"
    lacking = [lack for entry in entries for lack in entry.missing]
    every: list[Laid] = []
    for entry in entries:
        cloth = cloth_of(fabric, entry.cloth)
        if cloth is None:
            continue
        if not _numbers_hold(entry, cloth):
            yield "", "the layout has a width or length that is no proper number"
            wrong.append(entry.cloth)
            continue
        grounds, askew = _grounds(entry, cloth, task)
        yield from (("", sentence) for sentence in [*askew, *_refused(entry, cloth, task)])
        pieces, lost = _laid(entry, grounds, wanted)
        yield from lost
        yield from _each(pieces, cloth, task)
        yield from _apart(pieces, fabric.gap, cloth)
        if design is not None and asked:
            yield from (("", sentence) for sentence in spread_faults(entry, grounds, asked, design))
            yield from match_faults(pieces, asked, design)
        # Of a roll by itself all that is asked for, so that a wrong count is not told as wrong waste as well.
        alone = len(entries) == 1 and cloth.remnant is None and not lacking
        used = sum(
            (want.total if alone else _net(pieces, want)) * want.shape.area for want in wanted.values()
        )
        yield from (("", sentence) for sentence in _lengths(entry, cloth, task, pieces, grounds, used))
        yield from (("", sentence) for sentence in _told(entry, cloth, task, grounds, used))
        every += pieces
    if not wrong:
        yield from _counts(every, wanted, lacking)
        yield from _honest(entries, fabric, wanted)


def _task(job: Job, material: str, fabric: Fabric, said: Mapping[str, object]) -> tuple[Task, list[Finding]]:
    """What a material has to yield, and what cannot be cut; ``said`` is what else was asked for."""
    design, asked = fabric.print, job.asked_of(material)
    directed = fabric.nap or (design is not None and not (design.even_along and design.even_across))
    wanted, uncuttable = wanted_of(job, material, directed, asked)
    simpler = said.get("simpler", 0.0)
    spare = float(simpler) if isinstance(simpler, int | float) else 0.0
    return Task(fabric, wanted, asked, job.matching, directed, said.get("fold"), spare), uncuttable


def _grounds(layout: MaterialLayout, cloth: Cloth, task: Task) -> tuple[list[Ground], list[str]]:
    return grounds_of(
        layout.lay, layout.bands, cloth.width, cloth.selvage, layout.length, task.asks_lengthwise
    )


def _numbers_hold(layout: MaterialLayout, cloth: Cloth) -> bool:
    numbers = (
        layout.width,
        *layout.usable,
        layout.length,
        layout.buy,
        layout.waste_percent,
        layout.lower_bound,
        layout.short,
        layout.short_least,
        layout.searched,
        *(value for tried in layout.tried for value in (tried.length, tried.buy) if value is not None),
    )
    unused = cloth.remnant is not None and not layout.placements
    return all(math.isfinite(n) for n in numbers) and layout.length >= 0 and (layout.length > 0 or unused)


def _laid(
    layout: MaterialLayout, grounds: Sequence[Ground], wanted: dict[Key, Wanted]
) -> tuple[list[Laid], list[Finding]]:
    """The placements that can be looked at, and what keeps others from it."""
    pieces, lost = [], []
    for placement in layout.placements:
        shape = laid_shape(placement)
        if shape is None:
            lost.append(
                (placement.piece, f"{placement.name} has an outline of less than three proper points")
            )
        elif not 0 <= placement.band < len(layout.bands):
            lost.append((placement.piece, f"{placement.name} lies on no band of the cloth"))
        else:
            ground = grounds[placement.band] if grounds else None
            layers = layout.bands[placement.band].layers
            pieces.append(Laid(placement, wanted.get(_key(placement)), shape, ground, layers))
    return pieces, lost


def _each(pieces: Sequence[Laid], cloth: Cloth, task: Task) -> Iterator[Finding]:
    """Form, place and direction of every piece by itself."""
    border = None if cloth.remnant else task.fabric.border
    free = []
    for laid in pieces:
        by_hem = border is not None and laid.hem is not None
        sentences = [
            *faults_of(laid),
            *direction_faults(laid, task.fabric, by_hem=by_hem),
        ]
        if border is not None and by_hem:
            sentences += hem_faults(laid, border, cloth.usable)
        else:
            free.append(laid)
        yield from ((laid.placement.piece, sentence) for sentence in sentences)
    if task.directed:
        yield from ((laid.placement.piece, sentence) for laid, sentence in nap_faults(free))


def _net(pieces: Sequence[Laid], want: Wanted) -> int:
    """Copies of a cut that come off some placements and are to be used."""
    return sum(sum(laid.yields) - laid.placement.spare for laid in pieces if laid.wanted is want)


def _key(placement: Placement) -> Key:
    return placement.piece, placement.region, placement.on_fold or placement.opened


def _refused(layout: MaterialLayout, cloth: Cloth, task: Task) -> Iterator[str]:
    """What is stated of the cloth as a whole, and spreads that it does not allow."""
    stated = "none" if not task.asked and layout.matched == "none" else task.matching
    if layout.matched != stated:
        yield f"the print is said to match at level “{layout.matched}”, and “{stated}” is asked for"
    if layout.lay == "crosswise fold" and task.directed:
        yield "a crosswise fold turns one layer end for end, which cloth with a nap does not allow"
    if (task.fabric.tube and cloth.remnant is None) != (layout.lay == "tubular"):
        yield "a tube is laid as a tube, and only a tube is"
    hems = any(want.piece.hem and not region for (_, region, _), want in task.wanted.items())
    if task.fabric.border and cloth.remnant is None and hems and layout.lay != "open":
        yield "hems along a border are cut from open cloth, and from no other"
    if abs(layout.width - cloth.width) > EDGE_TOLERANCE:
        yield f"the cloth is {cloth.width:.2f} mm wide and {layout.width:.2f} mm is stated"
    usable = cloth.usable
    if any(abs(a - b) > EDGE_TOLERANCE for a, b in zip(usable, layout.usable, strict=True)):
        stated = f"{layout.usable[0]:.2f} to {layout.usable[1]:.2f} mm"
        yield f"the cloth can be used from {usable[0]:.2f} to {usable[1]:.2f} mm and {stated} is stated"


def _apart(pieces: Sequence[Laid], gap: float, cloth: Cloth) -> Iterator[Finding]:
    """Overlaps, gaps, flaws and the edges of remnants, on the flat cloth."""
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
    for a, b, distance in too_close(shapes, gap - DEPTH_TOLERANCE):
        pair = (owner[a], owner[b])
        if pair[0] != pair[1] and pair not in overlaps:
            gaps[pair] = min(distance, gaps.get(pair, math.inf))
    for (one, other), distance in sorted(gaps.items()):
        apart = f"lie {distance:.2f} mm apart and {gap:.2f} mm are to be kept"
        yield pieces[one].placement.piece, f"{pieces[one].at} and {pieces[other].at} {apart}"
    if not all(laid.ground is not None for laid in pieces):
        return
    if cloth.flaws:
        cores = [shrunk(shape, DEPTH_TOLERANCE) for shape in shapes]
        hits = shapely.STRtree(cores).query(cloth.flaws, predicate="intersects").T.tolist()
        for index in sorted({owner[hit] for _, hit in hits}):
            yield pieces[index].placement.piece, f"{pieces[index].at} is cut over a flaw of the cloth"
    if cloth.remnant:
        for index, sentence in over_the_edge(shapes, cloth.remnant):
            laid = pieces[owner[index]]
            yield laid.placement.piece, f"{laid.at} {sentence}"


def _counts(
    pieces: Sequence[Laid], wanted: dict[Key, Wanted], lacking: Sequence[Missing]
) -> Iterator[Finding]:
    said: dict[tuple[str, str], int] = {}
    for lack in lacking:
        said[lack.piece, lack.region] = said.get((lack.piece, lack.region), 0) + lack.count
    for key, want in wanted.items():
        mine = [laid for laid in pieces if laid.wanted is want]
        drawn = sum(laid.yields[0] for laid in mine)
        mirrored = sum(laid.yields[1] for laid in mine)
        spare = sum(laid.placement.spare for laid in mine)
        what = f"{want.piece.name}, {key[1]}" if key[1] else want.piece.name
        # Cuts of one piece, whole and not, share what is said to be missing.
        gone = min(said.get(key[:2], 0), max(want.total - _net(mine, want), 0))
        said[key[:2]] = said.get(key[:2], 0) - gone
        gone_too = f" and {gone} said to be missing" if gone else ""
        if drawn + mirrored - spare + gone != want.total:
            spared = f", {spare} of them to spare" if spare else ""
            yield key[0], f"{what}: {want.total} asked for and {drawn + mirrored} laid out{spared}{gone_too}"
            continue
        useful = max(min(drawn, a) + min(mirrored, b) for a, b in want.hands)
        if want.by_diagonal and useful + gone < want.total:
            given = f"{drawn} lie on one and {mirrored} on the other"
            yield key[0], f"{what}: left and right are cut on opposite diagonals, and {given}"
        elif not want.handless and useful + gone < want.total:
            a, b = max(want.hands)
            given = f"{drawn} as drawn and {mirrored} mirrored laid out"
            yield key[0], f"{what}: {a} as drawn and {b} mirrored asked for and {given}{gone_too}"
    for (number, _), over in said.items():
        if over:
            yield number, f"piece {number}: {over} more are said to be missing than are"


def _honest(
    entries: Sequence[MaterialLayout], fabric: Fabric, wanted: dict[Key, Wanted]
) -> Iterator[Finding]:
    """What is said to be missing could have no place, and is called by its name."""
    names = {key[:2]: want.piece.name for key, want in wanted.items()}
    for entry in entries:
        for lack in entry.missing:
            if lack.count < 1:
                yield lack.piece, f"{lack.name}: {lack.count} are said to be missing, which means nothing"
            name = names.get((lack.piece, lack.region), lack.name)
            if name != lack.name:
                yield lack.piece, f"{lack.name}, said to be missing, is called “{name}” in the pattern"
        if entry.short < 0 or (entry.short > 0 and not entry.missing):
            yield "", f"the cloth is said to be {entry.short:.2f} mm short, and nothing is missing for it"
        least = _least_short(entry, fabric, wanted) if entry.short_least else 0.0
        if not 0 <= entry.short_least <= max(0.0, min(entry.short, least)) + CLAIM_MARGIN * (entry.short > 0):
            said = f"less than {entry.short_least:.2f} mm more of the cloth is said never to be enough"
            yield "", f"{said}, and it is {entry.short:.2f} mm short with {max(least, 0.0):.2f} mm shown"
    if fabric.roll and any(entry.missing for entry in entries):
        yield "", "pieces are said to have no place, and there is a roll to cut them from"


def _in_form(pieces: Sequence[Laid]) -> bool:
    """Whether all that is laid is what is asked for: else a bound says nothing."""
    return all(laid.motion is not None for laid in pieces)


def _least_short(entry: MaterialLayout, fabric: Fabric, wanted: dict[Key, Wanted]) -> float:
    """Millimetres that one remnant must be longer at least.

    All pieces have no more area than all cloth between the selvages; on a single remnant, no less length
    than a bound for cloth that never ends.
    """
    cloth = cloth_of(fabric, entry.cloth)
    if cloth is None or cloth.remnant is None:
        return 0.0
    held = 0.0
    for each in fabric.remnants:
        area = solid(each.outline).area - sum(solid(hole).area for hole in each.holes)
        long, wide = (max(point[axis] for point in each.outline) for axis in (0, 1))
        held += min(area, long * (wide - 2 * each.selvage))
    low, high = cloth.usable
    by_area = (sum(want.total * want.shape.area for want in wanted.values()) - held) / (high - low)
    if len(fabric.remnants) > 1 or cloth.along is None:
        return by_area
    return max(by_area, least_flat(wanted.values(), fabric, high - low) - cloth.along)


def _shown(
    layout: MaterialLayout,
    task: Task,
    pieces: Sequence[Laid],
    grounds: Sequence[Ground],
    claimed: float,
) -> float:
    """The length below which it can be shown that nothing is laid; if ``claimed``, not only at once."""
    border = None if layout.cloth else task.fabric.border
    repeat = None if layout.cloth else task.whole_repeats
    shown = least_length(
        layout.bands,
        grounds,
        pieces,
        task.fabric,
        crosswise=layout.lay == "crosswise fold",
        at_border=lambda laid: border is not None and laid.hem is not None,
        claimed=0.0 if repeat else claimed,
    )
    return math.ceil((shown - EDGE_TOLERANCE) / repeat) * repeat if repeat else shown


def _lengths(
    layout: MaterialLayout,
    cloth: Cloth,
    task: Task,
    pieces: Sequence[Laid],
    grounds: Sequence[Ground],
    used: float,
) -> Iterator[str]:
    """``used``: square millimetres of what is cut and wanted."""
    spread = layout.length / 2 if layout.lay == "crosswise fold" else layout.length
    reach = max((laid.shape.bounds[2] for laid in pieces if not laid.shape.is_empty), default=0.0)
    if reach > spread + DEPTH_TOLERANCE:
        yield f"the pieces reach to {reach:.2f} mm along and the length stated ends at {spread:.2f} mm"
    if cloth.along is not None and layout.length > cloth.along + DEPTH_TOLERANCE:
        yield f"the remnant is {cloth.along:.2f} mm long and {layout.length:.2f} mm of it are said to be used"
    if layout.lower_bound > layout.length + DEPTH_TOLERANCE:
        bound = f"no layout is said to be under {layout.lower_bound:.2f} mm"
        yield f"the length is {layout.length:.2f} mm and {bound}"
    elif grounds and layout.lower_bound > BOUND_TOLERANCE and _in_form(pieces):
        shown = _shown(layout, task, pieces, grounds, layout.lower_bound)
        if layout.lower_bound > shown + BOUND_TOLERANCE:
            bound = f"no layout of this spread is said to be under {layout.lower_bound:.2f} mm"
            yield f"{bound}, and no more than {shown:.2f} mm can be shown"
    if layout.searched > layout.length + DEPTH_TOLERANCE:
        yield f"the length is {layout.length:.2f} mm, and the search is said to know of none under it"
    if layout.proven and layout.length > layout.lower_bound + PROVEN_TOLERANCE:
        yield f"the length is said to be proven shortest, and the bound is {layout.lower_bound:.2f} mm"
    repeat = task.whole_repeats
    if repeat is not None and cloth.remnant is None:
        off = abs((layout.length + repeat / 2) % repeat - repeat / 2)
        if off > EDGE_TOLERANCE:
            yield (
                f"the length is {layout.length:.2f} mm, {off:.2f} mm off a whole number of repeats"
                f" of {repeat:.2f} mm"
            )
    waste = 100 * (1 - used / (layout.length * cloth.width)) if layout.length else layout.waste_percent
    if abs(waste - layout.waste_percent) > WASTE_TOLERANCE:
        yield f"{waste:.2f} % of the cloth is waste and {layout.waste_percent:.2f} % is stated"
    if cloth.remnant is not None:
        if abs(layout.buy) > BUY_TOLERANCE:
            yield f"a remnant is in hand, and {layout.buy:.2f} mm to buy are stated"
        return
    need, amounts = _bought(layout.length, task)
    if not _is_one_of(layout.buy, amounts):
        right = amounts[0]
        yield f"{need:.2f} mm are needed, so {right:.2f} mm to buy, and {layout.buy:.2f} mm are stated"
    elif layout.parts is not None:
        begin_on = task.whole_repeats or 0.0
        stated = layout.parts
        for what, ours, theirs in (
            ("the lay", layout.length, stated.lay),
            ("the repeat to begin on", begin_on, stated.begin_on),
            ("shrinkage", need - layout.length - begin_on, stated.shrinkage),
            ("rounding", layout.buy - need, stated.rounding),
        ):
            if not abs(ours - theirs) <= PARTS_TOLERANCE:
                yield f"{ours:.2f} mm of what is to buy are for {what}, and {theirs:.2f} mm are stated"


def _told(
    layout: MaterialLayout, cloth: Cloth, task: Task, grounds: Sequence[Ground], used: float
) -> Iterator[str]:
    """What is told of the cloth and of other spreads, where the figures it follows from are right."""
    remnant, fabric = cloth.remnant is not None, task.fabric
    yield from cloth_faults(layout, fabric, cloth)
    if grounds:
        yield from obstacle_faults(layout, grounds, cloth)
    if task.fold not in (None, "best", family_of(layout.lay)):
        yield f"the spread “{task.fold}” is asked for, and the cloth is laid “{layout.lay}”"
    if not remnant and not _is_one_of(layout.buy, _bought(layout.length, task)[1]):
        return
    yield from text_faults(layout, fabric, remnant)
    amounts = [_nearest(tried, task) for tried in layout.tried]
    yield from tried_faults(layout, task.fold, task.simpler, remnant, amounts, used / cloth.width)


def _nearest(tried: Tried, task: Task) -> float:
    """The length to buy for a spread that was tried, as told if that can be."""
    if tried.length is None or tried.buy is None:
        return 0.0
    amounts = _bought(tried.length, task)[1]
    return tried.buy if _is_one_of(tried.buy, amounts) else amounts[0]


def _is_one_of(value: float, amounts: Sequence[float]) -> bool:
    return any(abs(value - amount) <= BUY_TOLERANCE for amount in amounts)


def _bought(length: float, task: Task) -> tuple[float, tuple[float, float]]:
    """What a lay of the roll takes before it shrinks, and what to buy, a step begun for rounding or not.

    The shop's cut may fall anywhere in the repeat and the lay begins at one place of it (every ply at the
    same: Vilumsone-Nemes, p. 231), so where the print must match along the cloth a repeat more is needed.
    """
    need = (length + (task.whole_repeats or 0.0)) / (1 - task.fabric.shrink_along)
    step = task.fabric.step
    begun, spared = (math.ceil((need - slack) / step) * step for slack in (BUY_TOLERANCE, STEP_SLACK))
    return need, (begun, spared)
