"""Which cut goes on which band: a spread and a set of needs become placing problems."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.cloth.borders import edge_of, goes_along, hem_of, hem_pose
from marker.cloth.demand import Need
from marker.cloth.flaws import flaws_on
from marker.cloth.orient import (
    SCALE,
    Pose,
    Shape,
    bias_poses,
    fold_poses,
    free_poses,
    posed,
    shape,
    shortest,
    tolerance,
    window,
)
from marker.cloth.prints import Ties
from marker.cloth.spread import Section, Spread, Strip
from marker.model.fabric import Fabric
from marker.model.fold import unfold
from marker.model.piece import Ring
from marker.model.ring import signed_area
from marker.nest.problem import Kind, Lattice, Problem, Variant
from marker.units import System, format_position


@dataclass(frozen=True)
class Spot:
    """What one engine variant means on the cloth."""

    strip: int
    pose: Pose


@dataclass(frozen=True, eq=False)
class Laid:
    """What one engine kind means on the cloth: an outline laid so many times, yielding ``copies`` each.

    ``leeway``: degrees that the cloth lets it lie off the grain either way.
    """

    need: Need
    shape: Shape
    spots: tuple[Spot, ...]
    copies: int
    on_fold: bool = False
    opened: bool = False
    leeway: float = 0.0


@dataclass(frozen=True, eq=False)
class Stretch:
    """One section of the spread with its placing problem; kind k of the problem is ``laid[k]``."""

    section: Section
    laid: tuple[Laid, ...]
    problem: Problem


@dataclass(frozen=True, eq=False)
class Plan:
    """A spread with every cut given its place: ready for the engine. ``wanted`` counts the cut pieces.

    ``repeat``: the length has to be a whole number of these millimetres.
    """

    spread: Spread
    stretches: tuple[Stretch, ...]
    wanted: int
    repeat: float | None = None


@dataclass(frozen=True)
class OffPrint(Exception):
    """A cut has no place on any band of a spread where its print would match."""

    need: Need

    def __str__(self) -> str:
        return f"{self.need.label} has no place across the cloth where its print would match"


@dataclass(frozen=True)
class TooWide(Exception):
    """A cut fits no band of a spread: the cut, the height it takes, and the tallest band there is."""

    need: Need
    takes: float
    there_is: float
    system: System

    def __str__(self) -> str:
        takes = format_position(self.takes, self.system)
        return (
            f"{self.need.label} needs {takes} across, there is {format_position(self.there_is, self.system)}"
        )


@dataclass(frozen=True)
class Share:
    """How many placements of one need lie in two layers, on the fold, in one layer by hand, opened out."""

    double: int = 0
    fold: int = 0
    drawn: int = 0
    turned: int = 0
    opened: int = 0


Way = list[list[tuple[Need, Share]]]
"""For each section of a spread, the share of every need that is cut from it."""


def doubled(need: Need) -> Share:
    """All of a need from two layers; an odd copy costs a spare."""
    pairs = (need.drawn + 1) // 2 if need.symmetric else max(need.drawn, need.turned)
    return Share(double=pairs, fold=need.whole)


def single(need: Need) -> Share:
    """All of a need from one layer."""
    return Share(drawn=need.drawn, turned=need.turned, opened=need.whole)


def paired(need: Need) -> Share:
    """What comes in pairs from two layers, the rest from one."""
    pairs = need.drawn // 2 if need.symmetric else min(need.drawn, need.turned)
    taken = 2 * pairs if need.symmetric else pairs
    return Share(
        double=pairs,
        fold=need.whole,
        drawn=need.drawn - taken,
        turned=need.turned - (0 if need.symmetric else pairs),
    )


def fold_depths(needs: Sequence[Need], fabric: Fabric) -> list[float]:
    """Depths worth folding over: just enough for the largest on-fold half, or for the widest pair."""
    halves = [height(need, fabric) for need in needs if need.whole]
    pairs = [height(need, fabric) for need in needs if paired(need).double]
    depths = {round(max(group) + fabric.selvage + 0.1, 1) for group in (halves, pairs) if group}
    return sorted(depths)


def height(need: Need, fabric: Fabric) -> float:
    """Millimetres across of a cut as drawn, the half of one on the fold."""
    form = shape(need.outline, need.piece.grain, None, fabric.gap)
    return float(np.ptp(form.outline[:, 1]))


def plans(
    spread: Spread,
    needs: Sequence[Need],
    fabric: Fabric,
    edges: tuple[Ring, ...] = (),
    ties: Ties | None = None,
) -> list[Plan]:
    """The ways worth trying to share the needs among the sections and bands of a spread.

    ``edges`` are places without cloth, as it lies flat; ``ties`` what a print asks that has to match. Raises
    TooWide when a cut fits nowhere, OffPrint when it does and its print would not match.
    """
    return [_plan(spread, fabric, way, edges, ties) for way in _ways(spread, needs, fabric)]


def _ways(spread: Spread, needs: Sequence[Need], fabric: Fabric) -> list[Way]:
    layers = {strip.layers for section in spread.sections for strip in section.strips}
    if layers == {2}:
        return [[[(need, _two_layers(spread, need)) for need in needs]]]
    if layers == {1}:
        return [[[(need, single(need)) for need in needs]]]
    if len(spread.sections) == 1:
        return _partial_ways(spread, needs, fabric)
    return _mixed_ways(needs)


def _two_layers(spread: Spread, need: Need) -> Share:
    if need.whole and spread.sections[0].crosswise:
        return Share(opened=(need.whole + 1) // 2)
    return doubled(need)


def _partial_ways(spread: Spread, needs: Sequence[Need], fabric: Fabric) -> list[Way]:
    plain = [(need, paired(need)) for need in needs]
    even = _balanced(spread.sections[0].strips, needs, fabric)
    # With nothing in two layers there is no reason to fold.
    ways = [way for way in (plain, even) if any(share.double or share.fold for _, share in way)]
    return [[way] for way in (ways[:1] if plain == even else ways)]


def _balanced(strips: Sequence[Strip], needs: Sequence[Need], fabric: Fabric) -> list[tuple[Need, Share]]:
    """Pairs go to the emptier of the single and the double band, largest first."""
    room = {strip.layers: strip.height for strip in strips}
    load = {1: 0.0, 2: sum(signed_area(need.outline) * need.whole for need in needs)}
    shares = {}
    for k, need in sorted(enumerate(needs), key=lambda pair: -pair[1].area):
        if need.whole:
            shares[k] = paired(need)
            continue
        choices = {2: paired(need), 1: single(need)}
        area = signed_area(need.outline)
        after = {}
        for layers, share in choices.items():
            if layers == 2 and height(need, fabric) > room[2]:
                continue
            one = load[1] + area * (share.drawn + share.turned)
            two = load[2] + area * share.double
            after[layers] = max(one / room[1], two / room[2]), one, two
        layers = min(after, key=lambda key: after[key][0])
        shares[k] = choices[layers]
        load = {1: after[layers][1], 2: after[layers][2]}
    return [(need, shares[k]) for k, need in enumerate(needs)]


def _mixed_ways(needs: Sequence[Need]) -> list[Way]:
    """Folded stretch, then an open one: odd copies lie open, on-fold cuts folded or opened out."""
    ways: list[Way] = []
    for open_wholes in (False, True):
        folded: list[tuple[Need, Share]] = []
        flat: list[tuple[Need, Share]] = []
        for need in needs:
            share = paired(need)
            if open_wholes and need.whole:
                share = Share(opened=need.whole)
            folded.append((need, Share(double=share.double, fold=share.fold)))
            flat.append((need, Share(drawn=share.drawn, turned=share.turned, opened=share.opened)))
        if all(any(share != Share() for _, share in part) for part in (folded, flat)):
            ways.append([folded, flat])
    return ways


def _plan(spread: Spread, fabric: Fabric, shares: Way, edges: tuple[Ring, ...], ties: Ties | None) -> Plan:
    stretches = []
    obstacles = flaws_on(fabric, spread, edges)
    for section, part in zip(spread.sections, shares, strict=True):
        laid: list[Laid] = []
        kinds: list[Kind] = []
        for need, share in part:
            for meaning, kind in _kinds(section, fabric, need, share, ties):
                laid.append(meaning)
                kinds.append(kind)
        low, high = min(strip.low for strip in section.strips), max(strip.high for strip in section.strips)
        problem = Problem(_renumbered(kinds), round((high - low) * SCALE), obstacles, low=round(low * SCALE))
        stretches.append(Stretch(section, tuple(laid), problem))
    wanted = {id(need): need.copies for part in shares for need, _ in part}
    return Plan(spread, tuple(stretches), sum(wanted.values()), ties.repeat if ties else None)


def _renumbered(kinds: Sequence[Kind]) -> tuple[Kind, ...]:
    """The kinds with their groups of lattices numbered from 0 without gaps, each axis for itself."""
    numbers: tuple[dict[int, int], dict[int, int]] = ({}, {})

    def numbered(lattice: Lattice | None, axis: int) -> Lattice | None:
        if lattice is None or lattice.group < 0:
            return lattice
        return replace(lattice, group=numbers[axis].setdefault(lattice.group, len(numbers[axis])))

    return tuple(
        replace(
            kind,
            variants=tuple(
                replace(v, x_lattice=numbered(v.x_lattice, 0), y_lattice=numbered(v.y_lattice, 1))
                for v in kind.variants
            ),
        )
        for kind in kinds
    )


def _kinds(
    section: Section, fabric: Fabric, need: Need, share: Share, ties: Ties | None
) -> list[tuple[Laid, Kind]]:
    """The engine kinds for one need's share of a section."""
    found = []
    if goes_along(need, fabric):
        return _hemmed(section, fabric, need, share)
    if ties is not None and not ties.holds(need):
        ties = None
    form = shape(need.outline, need.piece.grain, None, fabric.gap)
    faces = (False,) if need.symmetric else (False, True)
    if share.double:
        found.append(_free(section, fabric, need, form, 2, faces, share.double, ties))
    if share.drawn:
        found.append(_free(section, fabric, need, form, 1, (False,), share.drawn, ties))
    if share.turned:
        found.append(_free(section, fabric, need, form, 1, (True,), share.turned, ties))
    if share.opened:
        assert need.fold_edge is not None
        whole = shape(unfold(need.outline, need.fold_edge), need.piece.grain, None, fabric.gap)
        layers = section.strips[0].layers if len(section.strips) == 1 else 1
        found.append(_free(section, fabric, need, whole, layers, (False,), share.opened, ties, opened=True))
    if share.fold:
        found.append(_folded(section, fabric, need, share.fold, ties))
    return found


def _free(
    section: Section,
    fabric: Fabric,
    need: Need,
    form: Shape,
    layers: int,
    faces: tuple[bool, ...],
    count: int,
    ties: Ties | None,
    *,
    opened: bool = False,
) -> tuple[Laid, Kind]:
    """A kind that may lie anywhere on the bands of so many layers, or where its print matches."""
    spots: list[Spot] = []
    variants: list[Variant] = []
    seen: set[tuple[bytes, int, Lattice | None, Lattice | None]] = set()
    takes, fits, leeway = float("inf"), False, 0.0
    if ties is not None:
        straight = [Pose(face, rotation) for face in faces for rotation in (0.0, 180.0)]
        poses = [pose for pose in straight if pose.rotation == 0.0 or (ties.turnable and not fabric.nap)]
    elif need.piece.bias and fabric.grain != "any":
        poses = bias_poses(fabric, faces=faces, either=need.symmetric)
    else:
        poses = free_poses(fabric, faces=faces)
        leeway = tolerance(fabric)
        tilt = shortest(form, leeway, 1)[1]
        room = max((strip.height for strip in section.strips if strip.layers == layers), default=0.0)
        if tilt and np.ptp(form.outline[:, 1]) > room + 1e-6:
            # Too wide as drawn: only the tilt that is least across can help.
            poses = free_poses(fabric, faces=faces, tilts=(tilt,))
    for pose in poses:
        polygon, outline = posed(form, pose, fabric.gap)
        takes = min(takes, float(np.ptp(outline[:, 1])))
        x_lattice, y_lattice = ties.lattices(need, form, pose) if ties else (None, None)
        for k, strip in enumerate(section.strips):
            key = (polygon.tobytes(), k, x_lattice, y_lattice)
            if strip.layers != layers or key in seen:
                continue
            variant = window(polygon, outline, strip)
            if variant is None:
                continue
            fits = True
            if _has_place(variant, y_lattice):
                seen.add(key)
                spots.append(Spot(k, pose))
                variants.append(replace(variant, x_lattice=x_lattice, y_lattice=y_lattice))
    if fits and not variants:
        raise OffPrint(need)
    if not variants:
        heights = [strip.height for strip in section.strips if strip.layers == layers]
        raise TooWide(need, takes, max(heights, default=0.0), fabric.system)
    meaning = Laid(need, form, tuple(spots), layers, opened=opened, leeway=leeway)
    return meaning, Kind(tuple(variants), count, _area(form))


def _area(form: Shape) -> float:
    return signed_area(tuple(map(tuple, form.outline))) * SCALE * SCALE


def _has_place(variant: Variant, lattice: Lattice | None) -> bool:
    """Whether a window reaches some place of a lattice across, if that has no free phase."""
    if lattice is None or lattice.group >= 0:
        return True
    first = lattice.offset + math.ceil((variant.y_lo - lattice.offset) / lattice.period) * lattice.period
    return first <= variant.y_hi


def _folded(section: Section, fabric: Fabric, need: Need, count: int, ties: Ties | None) -> tuple[Laid, Kind]:
    """A kind tied to the folds of a section by its fold edge."""
    assert need.fold_edge is not None
    form = shape(need.outline, need.piece.grain, need.fold_edge[0], fabric.gap)
    spots: list[Spot] = []
    variants: list[Variant] = []
    fits = False
    for k, strip in enumerate(section.strips):
        for fold in strip.folds:
            for pose in fold_poses(fabric, form, need.fold_edge, body_below=fold >= strip.high):
                polygon, outline = posed(form, pose, fabric.gap)
                variant = window(polygon, outline, strip, at=fold)
                if variant is None or (ties is not None and not ties.fits(pose)):
                    continue
                fits = True
                x_lattice, y_lattice = ties.lattices(need, form, pose) if ties else (None, None)
                if ties is None or ties.on_line(variant.y_lo, y_lattice):
                    spots.append(Spot(k, pose))
                    variants.append(replace(variant, x_lattice=x_lattice))
    if fits and not variants:
        raise OffPrint(need)
    if not variants:
        heights = [strip.height for strip in section.strips if strip.folds]
        raise TooWide(need, float(np.ptp(form.outline[:, 1])), max(heights, default=0.0), fabric.system)
    return Laid(need, form, tuple(spots), 1, on_fold=True), Kind(tuple(variants), count, _area(form))


def _hemmed(section: Section, fabric: Fabric, need: Need, share: Share) -> list[tuple[Laid, Kind]]:
    """Kinds that lie with their hem on the edge of open cloth, one for either hand."""
    assert fabric.border is not None
    outline, hem = hem_of(need)
    form = shape(outline, need.piece.grain, hem[0], fabric.gap)
    (strip,) = section.strips
    found = []
    for mirrored, count, opened in (
        (False, share.drawn, False),
        (True, share.turned, False),
        (False, share.opened, True),
    ):
        if not count:
            continue
        pose = hem_pose(form, hem, fabric.border.side, mirrored)
        polygon, placed = posed(form, pose, fabric.gap)
        variant = window(polygon, placed, strip, at=edge_of(fabric))
        if variant is None:
            raise TooWide(need, float(np.ptp(placed[:, 1])), strip.height, fabric.system)
        laid = Laid(need, form, (Spot(0, pose),), 1, opened=opened)
        found.append((laid, Kind((variant,), count, _area(form))))
    return found
