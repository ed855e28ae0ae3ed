"""Phases on a repeat that have to agree: which follow from which, which are free, which cannot all hold.

Every node has a phase, a length modulo a period. What meets links phases, pins fix them. Of linked nodes
one phase is free and the others follow, unless a pin fixes all. Nothing here knows about cloth.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Node = tuple[str, bool]


@dataclass(frozen=True)
class Point:
    """A place ``at`` on a node; its phase is ``sign * (phase of the node + at)``."""

    node: Node
    at: float
    sign: int = 1


@dataclass(frozen=True)
class Meet:
    """Points with the same phase; ``name`` for messages."""

    name: str
    points: tuple[Point, ...]


@dataclass(frozen=True)
class Pin:
    """A point with phase 0; ``name`` for messages."""

    name: str
    point: Point


@dataclass(frozen=True)
class Phase:
    """A node's phase: ``offset + sign * (free phase of its group)``; in group -1 nothing is free."""

    offset: float
    sign: int = 1
    group: int = -1


class Clash(ValueError):
    """Things that cannot hold together: their names, and by how much the last one is missed."""

    def __init__(self, names: Sequence[str], off: float) -> None:
        super().__init__(f"{', '.join(names)}: off by {off:g}")
        self.names, self.off = tuple(names), off


Reached = dict[Node, tuple[Node | None, str]]
"""From which node, by what, a phase was found: by a pin or by choice from none."""


@dataclass(frozen=True)
class _Link:
    name: str
    one: Point
    other: Point


def residue(value: float, period: float) -> float:
    """``value`` modulo ``period``, between minus and plus half of it."""
    return value - period * round(value / period)


def settle(
    nodes: Iterable[Node],
    meets: Sequence[Meet],
    pins: Sequence[Pin],
    *,
    period: float,
    tolerance: float,
    mirrors: bool = False,
) -> dict[Node, Phase]:
    """The phase of every node. Groups are numbered from 0 in the order of ``nodes``.

    With ``mirrors`` a phase is as good as its negative, so points of known phase may also meet with the other
    sign than theirs. Raises Clash if something would be off by more than ``tolerance``.
    """
    order = list(dict.fromkeys(nodes))
    links = [_Link(m.name, m.points[0], point) for m in meets for point in m.points[1:]]
    of: dict[Node, list[_Link]] = {node: [] for node in order}
    for link in links:
        of[link.one.node].append(link)
        of[link.other.node].append(link)
    phases: dict[Node, Phase] = {}
    reached: Reached = {}

    def spread_from(sources: Sequence[Node]) -> list[Node]:
        queue, found = deque(sources), list(sources)
        while queue:
            node = queue.popleft()
            for link in of[node]:
                here, there = (link.one, link.other) if link.one.node == node else (link.other, link.one)
                if there.node in phases:
                    continue
                known = phases[node]
                turn = here.sign * there.sign
                offset = turn * (known.offset + here.at) - there.at
                phases[there.node] = Phase(offset, turn * known.sign, known.group)
                reached[there.node] = (node, link.name)
                queue.append(there.node)
                found.append(there.node)
        return found

    for pin in pins:
        if pin.point.node not in phases:
            phases[pin.point.node] = Phase(-pin.point.at)
            reached[pin.point.node] = (None, pin.name)
    spread_from(list(phases))
    group = 0
    for node in order:
        if node in phases:
            continue
        phases[node], reached[node] = Phase(0.0, 1, group), (None, "")
        members = set(spread_from([node]))
        free = _fixed_by_signs(phases, members, links, period, mirrors)
        if free is None:
            group += 1
            continue
        for member in members:
            phase = phases[member]
            phases[member] = Phase(phase.offset + phase.sign * free)
    for pin in pins:
        _hold(pin.name, [pin.point], phases, reached, period, tolerance, mirrors, zero=True)
    for meet in meets:
        _hold(meet.name, meet.points, phases, reached, period, tolerance, mirrors)
    return {node: Phase(phase.offset % period, phase.sign, phase.group) for node, phase in phases.items()}


def _fixed_by_signs(
    phases: dict[Node, Phase], members: set[Node], links: Sequence[_Link], period: float, mirrors: bool
) -> float | None:
    """The free phase where links of opposite signs leave only two values for it, the better of them."""
    mine = [link for link in links if link.one.node in members]
    values = []
    for link in mine:
        one, other = phases[link.one.node], phases[link.other.node]
        sign = link.one.sign * one.sign
        if sign != link.other.sign * other.sign:
            gap = link.other.sign * (other.offset + link.other.at) - link.one.sign * (
                one.offset + link.one.at
            )
            values.append(sign * gap / 2)
    if not values:
        return None
    choices = [values[0], values[0] + period / 2]

    def worst(free: float) -> float:
        off = 0.0
        for link in mine:
            a, b = (
                point.sign * (phases[point.node].offset + phases[point.node].sign * free + point.at)
                for point in (link.one, link.other)
            )
            off = max(off, _apart(a, b, period, mirrors))
        return off

    return min(choices, key=lambda free: round(worst(free), 6))


def _apart(a: float, b: float, period: float, mirrors: bool) -> float:
    off = abs(residue(a - b, period))
    return min(off, abs(residue(a + b, period))) if mirrors else off


def _hold(
    name: str,
    points: Sequence[Point],
    phases: dict[Node, Phase],
    reached: Reached,
    period: float,
    tolerance: float,
    mirrors: bool,
    *,
    zero: bool = False,
) -> None:
    """Raises Clash if two of the points, or one and zero, are too far apart."""

    def value(point: Point) -> float:
        return point.sign * (phases[point.node].offset + point.at)

    fixed = mirrors and phases[points[0].node].group < 0
    for k, one in enumerate(points):
        others = points[k + 1 :]
        offs = [_apart(value(one), value(other), period, fixed) for other in others]
        if zero:
            offs.append(abs(residue(value(one), period)))
        worst = max(offs, default=0.0)
        if worst > tolerance:
            far = one if zero else others[offs.index(worst)]
            raise Clash(_names(name, one.node, far.node, reached), worst)


def _names(name: str, one: Node, other: Node, reached: Reached) -> tuple[str, ...]:
    """What ties two nodes together besides ``name``, nearest first."""

    def way(start: Node) -> list[tuple[Node, str]]:
        steps: list[tuple[Node, str]] = []
        node: Node | None = start
        while node is not None:
            step = reached[node]
            steps.append((node, step[1]))
            node = step[0]
        return steps

    there, back = way(one), way(other)
    while there and back and there[-1] == back[-1]:
        there, back = there[:-1], back[:-1]
    met = [step for _, step in (*there, *reversed(back)) if step]
    return tuple(dict.fromkeys([*met, name]))
