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
from functools import partial

import numpy as np

from marker.cloth.choose import Clock, NoneHolds, NothingFits
from marker.cloth.cloths import ENDS, Cloth, Cloths, Copies, Copy, Filled
from marker.cloth.judge import REFUSED
from marker.cloth.more import with_more
from marker.cloth.remnant import longer
from marker.model.fabric import Remnant
from marker.model.job import Job
from marker.model.layout import MaterialLayout, Missing

TRIALS = 12
"""Races that an effort is split into; a time is split into races of at least QUICK seconds."""
QUICK = 0.4

FIRST_FULL = 0.8
"""Part of a remnant's area that it is offered copies for at first: as much as usually has room, so that no
large one sticks out and is lost to small ones."""

ROUNDS = 4
"""Times that a remnant is offered other copies, in one attempt."""

SHAKE = 0.4
"""How much the order by size is shaken in later attempts (deviation of the log of the area)."""

LAST = 0.4
"""Share of the work for the roll, once it is settled what lies on it; or, where there is none, for finding
out how much longer the cloth would have to be."""

MENDING = 0.1
"""Share of the work for laying a remnant again whose layout did not pass its check."""

Holds = Callable[[Job, tuple[MaterialLayout, ...]], bool]
"""Whether the checker finds nothing wrong with the cloths of the one material that is laid out of a job."""


@dataclass(eq=False)
class Attempt:
    """What lies on the remnants, what is left over, and how far the last remnant was too short for it."""

    filled: list[Filled] = field(default_factory=list)
    left: Copies = ()
    short: float = 0.0


def lay_cloths(
    cloths: Cloths, clock: Clock, since: float, until: float, holds: Holds
) -> tuple[MaterialLayout, ...]:
    """One layout for each cloth used, remnants first; what has no place is told on one of them.

    Works between the fractions ``since`` and ``until`` of the clock's budget. All of it passes ``holds``:
    what does not is laid again, checked at each step. Raises NothingFits when nothing fits on any remnant and
    there is no roll, NoneHolds when nothing passes.
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
            part = Clock(None, effort * (1 - LAST) / TRIALS, clock.cores, clock.seed, clock.stop)
        else:
            total = clock.seconds or 0.0
            left = deadline - time.monotonic() - LAST * total * (until - since)
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

    def part(share: float) -> Clock:
        """A clock for a share of the work, or of the time that was meant for all of it."""
        if clock.effort is not None:
            return Clock(None, max(effort * share, 1e-3), clock.cores, clock.seed, clock.stop)
        meant = (clock.seconds or 0.0) * (until - since) * share
        left = max(deadline - time.monotonic(), 0.0)
        return Clock(max(QUICK, min(meant, left)), None, clock.cores, clock.seed, clock.stop)

    for k, filled in enumerate(best.filled):
        best.filled[k] = with_more(cloths, filled, best.left)
        best.left = tuple(
            (Counter(best.left) - (Counter(best.filled[k].copies) - Counter(filled.copies))).elements()
        )
    refused = _check_remnants(cloths, best, part, holds)
    if not best.filled and not cloths.roll:
        if refused:
            raise NoneHolds(cloths.material)
        where = f"Material '{cloths.material}' on {cloths.fabric.name}"
        raise NothingFits(f"{where}: no piece fits on any of the remnants{_as_asked(cloths)}.")
    if best.left and cloths.roll:
        cut = tuple(_settled(filled) for filled in best.filled)
        best.filled.append(
            cloths.lay(
                cloths.roll, best.left, part(LAST), lambda roll: holds(cloths.job, (*cut, roll.layout))
            )
        )
        best.left = ()
    lengthen = _lengthen(cloths, best, part(LAST), holds) if best.left else None
    layouts = [_settled(filled) for filled in best.filled]
    if best.left:
        at, most, least = lengthen or (len(layouts) - 1, 0.0, 0.0)
        missing = _missing(cloths, best.left)
        layouts[at] = replace(layouts[at], missing=missing, short=most, short_least=least)
    notes = [*_unused(cloths, best), *([REFUSED] if refused else [])]
    layouts[-1] = replace(layouts[-1], notes=tuple(dict.fromkeys((*layouts[-1].notes, *notes))))
    if not holds(cloths.job, tuple(layouts)):
        raise NoneHolds(cloths.material)
    return tuple(layouts)


def _check_remnants(cloths: Cloths, attempt: Attempt, part: Callable[[float], Clock], holds: Holds) -> bool:
    """Whether the layout of any remnant did not hold; those are laid again, as far as that can be done."""
    right = partial(_holds_alone, cloths, holds)
    refused = False
    for filled in list(attempt.filled):
        if right(filled):
            continue
        refused = True
        try:
            again = cloths.cut_off(cloths.lay(filled.cloth, filled.copies, part(MENDING), right))
        except NoneHolds:
            again = None
        at = attempt.filled.index(filled)
        attempt.filled[at : at + 1] = [again] if again and again.copies else []
        lost = Counter(filled.copies) - Counter(again.copies if again else ())
        attempt.left = (*attempt.left, *lost.elements())
    return refused


def _holds_alone(cloths: Cloths, holds: Holds, filled: Filled) -> bool:
    """Whether one remnant holds, with all that does not lie on it told as missing."""
    return _holds_on(cloths, holds, filled, cloths.fabric.remnants)


def _holds_longer(cloths: Cloths, holds: Holds, filled: Filled) -> bool:
    """The same for a layout that needs more than there is of its remnant."""
    remnants = tuple(
        longer(remnant, filled.layout.length) if remnant.name == filled.cloth.name else remnant
        for remnant in cloths.fabric.remnants
    )
    return _holds_on(cloths, holds, filled, remnants)


def _holds_on(cloths: Cloths, holds: Holds, filled: Filled, remnants: tuple[Remnant, ...]) -> bool:
    job = cloths.job
    without = replace(job.fabrics[cloths.material], roll=False, remnants=remnants)
    alone = replace(_settled(filled), missing=_missing(cloths, cloths.rest(filled.copies)))
    return holds(replace(job, fabrics={**job.fabrics, cloths.material: without}), (alone,))


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


def _lengthen(
    cloths: Cloths, attempt: Attempt, clock: Clock, holds: Holds
) -> tuple[int, float, float] | None:
    """Which of the remnants used would take all that is left as well if it were longer, by how much, and by
    how much at least: millimetres. None if no length of any of them would do.

    The last one wide enough for all that is left. By how much is found by laying it all on one that is long
    enough; where more of it than before turns out to lie before the end, the attempt takes that over, all of
    it perhaps, and nothing is left.
    """
    for at, filled in reversed(list(enumerate(attempt.filled))):
        endless = replace(filled.cloth, along=float("inf"))
        if not all(cloths.fits(endless, copy) for copy in dict.fromkeys(attempt.left)):
            continue
        along = filled.cloth.along
        # To stop as soon as all of it lies before the end, it is laid on the remnant as it is.
        laid = cloths.lay(filled.cloth, (*filled.copies, *attempt.left), clock)
        kept = cloths.cut_off(laid)
        more = _covered(cloths, kept.copies) > _covered(cloths, filled.copies) + 1e-6
        if more and _holds_alone(cloths, holds, kept):
            every = (*filled.copies, *attempt.left)
            attempt.filled[at] = kept
            attempt.left = tuple((Counter(every) - Counter(kept.copies)).elements())
        if not attempt.left:
            return at, 0.0, 0.0
        if not _holds_longer(cloths, holds, laid):
            return None
        most = max(laid.layout.length - along, 0.0)
        return at, most, min(_least_short(cloths, filled.cloth), most)
    return None


def _least_short(cloths: Cloths, cloth: Cloth) -> float:
    """Millimetres by which a cloth must be longer for all copies to have room, whatever lies on which."""
    area = sum(cloths.area(copy) for copy in cloths.every) - sum(each.usable for each in cloths.remnants)
    by_area = max(0.0, area / cloth.across)
    if len(cloths.remnants) > 1:
        return by_area
    return max(by_area, cloths.bound(replace(cloth, along=float("inf")), cloths.every) - cloth.along)


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
    # What has room on few of the remnants before what may lie elsewhere.
    able = sorted(
        (copy for copy in left if cloths.fits(cloth, copy)),
        key=lambda copy: (sum(cloths.fits(other, copy) for other in cloths.remnants), keys[copy], copy.need),
    )
    best: Filled | None = None
    refused: Counter[Copy] = Counter()
    short = 0.0
    for number in range(ROUNDS):
        room = cloth.area * (FIRST_FULL if number == 0 else 1.0)
        offered = _offer(cloths, room, able, best.copies if best else (), refused)
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


def _offer(cloths: Cloths, room: float, able: Sequence[Copy], held: Copies, refused: Counter[Copy]) -> Copies:
    """Copies for one more try: those that are known to fit, and in order what an area could hold besides, the
    first of them whatever it takes."""
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
        if not offered or area + cloths.area(copy) <= room * (1.0 + 1e-9):
            area += cloths.area(copy)
            offered.append(copy)
    return tuple(offered)


def _missing(cloths: Cloths, left: Copies) -> tuple[Missing, ...]:
    counts = Counter(copy.need for copy in left)
    return tuple(
        Missing(cloths.needs[k].piece.number, cloths.needs[k].piece.name, count, cloths.needs[k].region)
        for k, count in sorted(counts.items())
    )
