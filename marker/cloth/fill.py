"""Remnants filled as full as found, the rest laid on the roll.

Which copies go on which remnant is found by trying: a remnant is offered the largest copies that its area
could hold, the engine lays them, what sticks out beyond the end is taken back and smaller ones are offered
in its place. That is done over and over, in other orders, and the best of all goes on.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from marker.cloth.choose import Clock, NothingFits
from marker.cloth.cloths import ENDS, Cloth, Cloths, Copies, Copy, Filled
from marker.model.layout import MaterialLayout, Missing

TRIALS = 12
"""Races that an effort is split into; a time is split into races of at least QUICK seconds."""
QUICK = 0.4

ROUNDS = 4
"""Times that a remnant is offered other copies, in one attempt."""

SHAKE = 0.4
"""How much the order by size is shaken in later attempts (deviation of the log of the area)."""

ROLL = 0.4
"""Share of the work for laying out the roll once it is settled what lies on it."""


@dataclass(eq=False)
class Attempt:
    """What lies on the remnants, what is left over, and how far the last remnant was too short for it."""

    filled: list[Filled] = field(default_factory=list)
    left: Copies = ()
    short: float = 0.0


def lay_cloths(cloths: Cloths, clock: Clock, since: float, until: float) -> tuple[MaterialLayout, ...]:
    """One layout for each cloth used, remnants first; what has no place is told on one of them.

    Works between the fractions ``since`` and ``until`` of the clock's budget. Raises NothingFits when nothing
    fits on any remnant and there is no roll.
    """
    deadline = clock.started + clock.seconds * until if clock.seconds is not None else 0.0
    effort = clock.effort * (until - since) if clock.effort is not None else 0.0
    rng = np.random.default_rng(clock.seed)
    trials = 0

    def short_clock() -> Clock | None:
        """The budget of one more quick race, or None when there is none left."""
        nonlocal trials
        trials += 1
        if clock.effort is not None:
            done = trials > TRIALS
            part = Clock(None, effort * (1 - ROLL) / TRIALS, clock.cores, clock.seed, clock.stop)
        else:
            total = clock.seconds or 0.0
            left = deadline - time.monotonic() - ROLL * total * (until - since)
            done = left < QUICK
            quick = min(max(QUICK, total * (until - since) / TRIALS), max(left, QUICK))
            part = Clock(quick, None, clock.cores, clock.seed, clock.stop)
        return None if done or clock.stop() else part

    best: Attempt | None = None
    first = True
    while True:
        before = trials
        attempt = _attempt(cloths, rng, 0.0 if first else SHAKE, short_clock, must=first)
        if attempt is None:
            break
        first = False
        if best is None or _merit(cloths, attempt) < _merit(cloths, best):
            best = attempt
        if not best.left or trials == before:
            break
    assert best is not None
    if best.left and cloths.roll:
        if clock.effort is not None:
            rest = Clock(None, max(effort * ROLL, 1e-3), clock.cores, clock.seed, clock.stop)
        else:
            rest = Clock(max(QUICK, deadline - time.monotonic()), None, clock.cores, clock.seed, clock.stop)
        best.filled.append(cloths.lay(cloths.roll, best.left, rest))
        best.left = ()
    if not best.filled:
        where = f"Material '{cloths.material}' on {cloths.fabric.name}"
        raise NothingFits(f"{where}: no piece fits on any of the remnants{_as_asked(cloths)}.")
    layouts = [_settled(filled) for filled in best.filled]
    if best.left:
        at, short = _short(cloths, best, clock)
        layouts[at] = replace(layouts[at], missing=_missing(cloths, best.left), short=short)
    layouts[-1] = replace(layouts[-1], notes=(*layouts[-1].notes, *_unused(cloths, best)))
    return tuple(layouts)


def _unused(cloths: Cloths, attempt: Attempt) -> list[str]:
    """A sentence for each remnant on which nothing lies: why."""
    used = {filled.cloth.name for filled in attempt.filled}
    rest = {
        *attempt.left,
        *(c for filled in attempt.filled if not filled.cloth.remnant for c in filled.copies),
    }
    told = []
    for cloth in cloths.remnants:
        if cloth.name in used:
            continue
        able = {copy for copy in cloths.every if cloths.fits(cloth, copy)}
        others = bool(able) and able.isdisjoint(rest)
        none = f"no piece was found that fits{_as_asked(cloths)}"
        why = "what would fit on it lies on others" if others else none
        told.append(f'Nothing lies on the remnant "{cloth.name}": {why}.')
    return told


def _as_asked(cloths: Cloths) -> str:
    """The spread that was asked for, where another one might do; empty if all were tried."""
    return "" if cloths.fold == "best" else f" laid '{cloths.fold}'; try --fold best"


def _short(cloths: Cloths, attempt: Attempt, clock: Clock) -> tuple[int, float]:
    """Which of the cloths used would have to be longer to take all that is left as well, and by how much.

    The last one wide enough for all of it. If none is, no length would help: the last one, and 0.
    """
    for at, filled in reversed(list(enumerate(attempt.filled))):
        endless = replace(filled.cloth, along=float("inf"))
        if all(cloths.fits(endless, copy) for copy in dict.fromkeys(attempt.left)):
            quick = Clock(None, QUICK, clock.cores, clock.seed, lambda: False)
            laid = cloths.lay(endless, (*filled.copies, *attempt.left), quick)
            return at, max(0.0, laid.layout.length - filled.cloth.along)
    return len(attempt.filled) - 1, 0.0


def _settled(filled: Filled) -> MaterialLayout:
    if filled.cloth.remnant is None:
        return filled.layout
    return replace(filled.layout, buy=0.0, buy_text="nothing", parts=None, tried=(), proven=False)


def _merit(cloths: Cloths, attempt: Attempt) -> tuple[float, float, float]:
    """The least that the roll must give for what is left; the least area left; the least short."""
    area = round(sum(cloths.area(copy) for copy in attempt.left), 3)
    return cloths.least_bought(attempt.left), area, attempt.short


def _attempt(
    cloths: Cloths,
    rng: np.random.Generator,
    shake: float,
    short_clock: Callable[[], Clock | None],
    *,
    must: bool,
) -> Attempt | None:
    """The remnants filled one after the other; None when the budget ends before (unless ``must``)."""
    attempt = Attempt(left=cloths.every)
    order = sorted(cloths.remnants, key=lambda cloth: -cloth.area * np.exp(shake * rng.standard_normal()))
    for cloth in order:
        keys = {copy: -cloths.area(copy) * np.exp(shake * rng.standard_normal()) for copy in cloths.every}
        filled, short, ended = _fill(cloths, cloth, attempt.left, keys, short_clock, must=must)
        if ended and not must:
            return None
        attempt.short = short
        if filled is not None and filled.copies:
            attempt.filled.append(filled)
            attempt.left = tuple((Counter(attempt.left) - Counter(filled.copies)).elements())
    return attempt


def _fill(
    cloths: Cloths,
    cloth: Cloth,
    left: Copies,
    keys: dict[Copy, float],
    short_clock: Callable[[], Clock | None],
    *,
    must: bool,
) -> tuple[Filled | None, float, bool]:
    """A remnant filled as far as found, how much too short it is for the rest, and whether time is up."""
    able = sorted(
        (copy for copy in left if cloths.fits(cloth, copy)), key=lambda copy: (keys[copy], copy.need)
    )
    best: Filled | None = None
    refused: Counter[Copy] = Counter()
    short = 0.0
    for number in range(ROUNDS):
        offered = _offer(cloths, cloth, able, best.copies if best else (), refused)
        if not offered or (best is not None and Counter(offered) == Counter(best.copies)):
            break
        clock = short_clock()
        if clock is None:
            if not (must and number == 0):
                return best, short, True
            clock = Clock(None, 1e-3, 1, 1, lambda: False)
        laid = cloths.lay(cloth, offered, clock)
        if laid.layout.length > cloth.along + ENDS:
            short = laid.layout.length - cloth.along
            kept = cloths.cut_off(laid)
            refused += Counter(offered) - Counter(kept.copies)
        else:
            kept = laid
        if best is None or _covered(cloths, kept.copies) > _covered(cloths, best.copies) + 1e-6:
            best = kept
    return best, short, False


def _covered(cloths: Cloths, copies: Copies) -> float:
    return sum(cloths.area(copy) for copy in copies)


def _offer(
    cloths: Cloths, cloth: Cloth, able: Sequence[Copy], held: Copies, refused: Counter[Copy]
) -> Copies:
    """Copies for one more try: those that are known to fit, and in order what the area could hold besides."""
    offered = list(held)
    area = _covered(cloths, held)
    rest = Counter(able) - Counter(held)
    skip = Counter(refused)
    for copy in able:
        if rest[copy] <= 0:
            continue
        rest[copy] -= 1
        if skip[copy] > 0:
            skip[copy] -= 1
            continue
        if area + cloths.area(copy) <= cloth.area * (1.0 + 1e-9):
            area += cloths.area(copy)
            offered.append(copy)
    return tuple(offered)


def _missing(cloths: Cloths, left: Copies) -> tuple[Missing, ...]:
    counts = Counter(copy.need for copy in left)
    return tuple(
        Missing(cloths.needs[k].piece.number, cloths.needs[k].piece.name, count, cloths.needs[k].region)
        for k, count in sorted(counts.items())
    )
