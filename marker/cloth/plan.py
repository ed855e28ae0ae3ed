"""Which cut goes on which band: a spread and a set of needs become placing problems."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from marker.cloth.demand import Need
from marker.cloth.flaws import flaws_on
from marker.cloth.orient import SCALE, Pose, Shape, fold_poses, free_poses, posed, shape, window
from marker.cloth.spread import Section, Spread, Strip
from marker.model.fabric import Fabric
from marker.model.fold import unfold
from marker.model.piece import Ring
from marker.model.ring import signed_area
from marker.nest.problem import Kind, Problem, Variant
from marker.units import System, format_position


@dataclass(frozen=True)
class Spot:
    """What one engine variant means on the cloth."""

    strip: int
    pose: Pose


@dataclass(frozen=True, eq=False)
class Laid:
    """What one engine kind means on the cloth: an outline laid so many times, yielding ``copies`` each."""

    need: Need
    shape: Shape
    spots: tuple[Spot, ...]
    copies: int
    on_fold: bool = False
    opened: bool = False


@dataclass(frozen=True, eq=False)
class Stretch:
    """One section of the spread with its placing problem; kind k of the problem is ``laid[k]``."""

    section: Section
    laid: tuple[Laid, ...]
    problem: Problem


@dataclass(frozen=True, eq=False)
class Plan:
    """A spread with every cut given its place: ready for the engine. ``wanted`` counts the cut pieces."""

    spread: Spread
    stretches: tuple[Stretch, ...]
    wanted: int


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
    halves = [_height(need, fabric) for need in needs if need.whole]
    pairs = [_height(need, fabric) for need in needs if paired(need).double]
    depths = {round(max(group) + fabric.selvage + 0.1, 1) for group in (halves, pairs) if group}
    return sorted(depths)


def _height(need: Need, fabric: Fabric) -> float:
    form = shape(need.outline, need.piece.grain, None, fabric.gap)
    return float(np.ptp(form.outline[:, 1]))


def plans(spread: Spread, needs: Sequence[Need], fabric: Fabric, edges: tuple[Ring, ...] = ()) -> list[Plan]:
    """The ways worth trying to share the needs among the sections and bands of a spread.

    ``edges`` are places without cloth, as it lies flat. Raises TooWide when a cut fits nowhere.
    """
    return [_plan(spread, fabric, way, edges) for way in _ways(spread, needs, fabric)]


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
            if layers == 2 and _height(need, fabric) > room[2]:
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


def _plan(spread: Spread, fabric: Fabric, shares: Way, edges: tuple[Ring, ...]) -> Plan:
    stretches = []
    obstacles = flaws_on(fabric, spread, edges)
    for section, part in zip(spread.sections, shares, strict=True):
        laid: list[Laid] = []
        kinds: list[Kind] = []
        for need, share in part:
            for meaning, kind in _kinds(section, fabric, need, share):
                laid.append(meaning)
                kinds.append(kind)
        width = max(strip.high for strip in section.strips) - min(strip.low for strip in section.strips)
        stretches.append(
            Stretch(section, tuple(laid), Problem(tuple(kinds), round(width * SCALE), obstacles))
        )
    wanted = {id(need): need.copies for part in shares for need, _ in part}
    return Plan(spread, tuple(stretches), sum(wanted.values()))


def _kinds(section: Section, fabric: Fabric, need: Need, share: Share) -> list[tuple[Laid, Kind]]:
    """The engine kinds for one need's share of a section."""
    found = []
    form = shape(need.outline, need.piece.grain, None, fabric.gap)
    faces = (False,) if need.symmetric else (False, True)
    if share.double:
        found.append(_free(section, fabric, need, form, 2, faces, share.double))
    if share.drawn:
        found.append(_free(section, fabric, need, form, 1, (False,), share.drawn))
    if share.turned:
        found.append(_free(section, fabric, need, form, 1, (True,), share.turned))
    if share.opened:
        assert need.fold_edge is not None
        whole = shape(unfold(need.outline, need.fold_edge), need.piece.grain, None, fabric.gap)
        layers = section.strips[0].layers if len(section.strips) == 1 else 1
        found.append(_free(section, fabric, need, whole, layers, (False,), share.opened, opened=True))
    if share.fold:
        found.append(_folded(section, fabric, need, share.fold))
    return found


def _free(
    section: Section,
    fabric: Fabric,
    need: Need,
    form: Shape,
    layers: int,
    faces: tuple[bool, ...],
    count: int,
    *,
    opened: bool = False,
) -> tuple[Laid, Kind]:
    """A kind that may lie anywhere on the bands of so many layers."""
    spots: list[Spot] = []
    variants: list[Variant] = []
    seen: set[tuple[bytes, int]] = set()
    takes = float("inf")
    for pose in free_poses(fabric, faces=faces):
        polygon, outline = posed(form, pose, fabric.gap)
        takes = min(takes, float(np.ptp(outline[:, 1])))
        for k, strip in enumerate(section.strips):
            if strip.layers != layers or (polygon.tobytes(), k) in seen:
                continue
            variant = window(polygon, outline, strip)
            if variant is not None:
                seen.add((polygon.tobytes(), k))
                spots.append(Spot(k, pose))
                variants.append(variant)
    if not variants:
        heights = [strip.height for strip in section.strips if strip.layers == layers]
        raise TooWide(need, takes, max(heights, default=0.0), fabric.system)
    meaning = Laid(need, form, tuple(spots), layers, opened=opened)
    area = signed_area(tuple(map(tuple, form.outline))) * SCALE * SCALE
    return meaning, Kind(tuple(variants), count, area)


def _folded(section: Section, fabric: Fabric, need: Need, count: int) -> tuple[Laid, Kind]:
    """A kind tied to the folds of a section by its fold edge."""
    assert need.fold_edge is not None
    form = shape(need.outline, need.piece.grain, need.fold_edge[0], fabric.gap)
    spots: list[Spot] = []
    variants: list[Variant] = []
    for k, strip in enumerate(section.strips):
        for fold in strip.folds:
            for pose in fold_poses(fabric, form, need.fold_edge, body_below=fold >= strip.high):
                polygon, outline = posed(form, pose, fabric.gap)
                variant = window(polygon, outline, strip, at=fold)
                if variant is not None:
                    spots.append(Spot(k, pose))
                    variants.append(variant)
    if not variants:
        heights = [strip.height for strip in section.strips if strip.folds]
        raise TooWide(need, float(np.ptp(form.outline[:, 1])), max(heights, default=0.0), fabric.system)
    area = signed_area(tuple(map(tuple, form.outline))) * SCALE * SCALE
    return Laid(need, form, tuple(spots), 1, on_fold=True), Kind(tuple(variants), count, area)
