"""Every spread raced against the others: the one with the least to buy wins.

A successive-halving race (Jamieson & Talwalkar 2016): every plan gets a little work, the better half
more, the best one all that is left.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, partial

from marker.cloth.borders import goes_along
from marker.cloth.demand import Need, needs
from marker.cloth.judge import REFUSED, Judge
from marker.cloth.match import ties_of
from marker.cloth.orient import SCALE
from marker.cloth.place import cloth_length, material_layout, to_buy, whole_repeats
from marker.cloth.plan import OffPrint, Plan, TooWide, fold_depths, height, plans
from marker.cloth.prints import Ties
from marker.cloth.spread import NAMES, Spread, spreads
from marker.cloth.tilt import bound, cost, leant
from marker.errors import InputError
from marker.model.fabric import Fabric
from marker.model.job import Job
from marker.model.layout import MaterialLayout, Tried
from marker.model.match import Match
from marker.model.piece import Ring
from marker.nest.bounds import lower_bound
from marker.nest.budget import Budget, Stopped
from marker.nest.landscape import usual_pitch
from marker.nest.lattice import NoLattice
from marker.nest.problem import Solution
from marker.nest.search import Prepared, prepare, solve
from marker.nest.shelves import shelves
from marker.plain import enumerated
from marker.units import format_position

PROVABLE = 8
"""Outlines up to which it is worth trying to prove a layout best; PROOF is the part of the work for it."""
PROOF = 0.6

TILTING = 0.25
"""Part of the work for going on with pieces tilted, where the cloth has a grain tolerance; of that, PREPARING
is for the tables of the tilted outlines at most."""
PREPARING = 0.3
LEAST_COST = 0.05
"""Seconds below which the time for tables says nothing about the machine."""

JUST = 1e-6
"""Millimetres by which amounts that are the same may differ."""

SUSPICIOUS = 2500.0
"""Millimetres across that no piece of clothing has; millimetres taken for inches have them."""

LATE = 2.0
"""Seconds by which first layouts may be late: without, a spread is not tried, or boxes lie side by side."""

IN_VAIN = 20
"""Layouts refused one by one after which a search that goes on from one that holds is given up."""

TRAIL = 24
"""Layouts of a plan that are kept to go back to."""

FIRST_MARKS, WIDEST = 64, 1e5
"""Marks of a ruler that the cloth is made wider by at first, and millimetres of width that are not passed,
when looking for the least width that would do."""

OnBetter = Callable[[MaterialLayout], None]


@dataclass(eq=False)
class Runner:
    """A plan in the race: the prepared problems and the best solutions so far of its stretches.

    ``trail``: some of the complete layouts found on the way; ``held`` the last that passed its check, as
    ``passed``. ``doubted``: one did not. From then on every layout is checked before the search goes on
    from it.
    """

    plan: Plan
    pitch: float
    prepared: list[Prepared | None]
    best: list[Solution | None]
    trail: list[list[Solution]] = field(default_factory=list)
    held: list[Solution] | None = None
    passed: MaterialLayout | None = None
    doubted: bool = False

    @cached_property
    def bounds(self) -> list[int]:
        """Lengths below which no layout exists, however its pieces are tilted within the grain tolerance."""
        return [bound(stretch) for stretch in self.plan.stretches]

    @property
    def leans(self) -> bool:
        """Whether the cloth lets any piece lie off the grain."""
        return any(laid.leeway for stretch in self.plan.stretches for laid in stretch.laid)

    @cached_property
    def straight(self) -> list[int]:
        """Lengths below which no layout exists with the pieces as they lie in the plan now."""
        if not self.leans:
            return self.bounds
        return [lower_bound(stretch.problem) for stretch in self.plan.stretches]

    def lean(self, gap: float, seconds: float) -> None:
        """Lets the pieces of the plan tilt, as far as tables for it are made in about so many seconds."""
        share = seconds / len(self.plan.stretches)
        stretches = tuple(leant(stretch, gap, share) for stretch in self.plan.stretches)
        for k, (old, new) in enumerate(zip(self.plan.stretches, stretches, strict=True)):
            if new is not old:
                self.prepared[k] = None
        self.plan = replace(self.plan, stretches=stretches)
        self.straight = self.bounds

    def keep(self) -> None:
        """Notes the present layout on the trail, from which every second is dropped when it gets long."""
        present = [solution for solution in self.best if solution]
        if self.complete and (not self.trail or present != self.trail[-1]):
            self.trail.append(present)
            if len(self.trail) > TRAIL:
                self.trail = [*self.trail[: TRAIL // 2 : 2], *self.trail[TRAIL // 2 :]]

    def hold(self, laid: MaterialLayout) -> None:
        """Notes that the present layout, as ``laid``, has passed its check."""
        self.held, self.passed = [solution for solution in self.best if solution], laid

    @property
    def checked(self) -> bool:
        """Whether the present layout is the one that has passed its check."""
        return self.held is not None and all(a is b for a, b in zip(self.best, self.held, strict=True))

    def length(self, fabric: Fabric) -> float:
        lengths = [solution.length if solution else 1 << 60 for solution in self.best]
        return cloth_length(self.plan, lengths, fabric)

    @property
    def placed(self) -> int:
        return sum(stretch.problem.total for stretch in self.plan.stretches)

    @property
    def trouble(self) -> int:
        """Outlines to cut, and the spare copies among them once more: cut and thrown away."""
        copies = sum(
            laid.copies * kind.count
            for stretch in self.plan.stretches
            for laid, kind in zip(stretch.laid, stretch.problem.kinds, strict=True)
        )
        return self.placed + copies - self.plan.wanted

    @property
    def provable(self) -> bool:
        """Whether to try and prove a layout best: few shapes, none tied to a print, none that may tilt."""
        tied = any(stretch.problem.tied for stretch in self.plan.stretches)
        return self.placed <= PROVABLE and not tied and not self.leans

    @property
    def complete(self) -> bool:
        return all(self.best)

    @property
    def enough(self) -> list[int]:
        """Lengths at which the stretches as they are have nothing more to gain."""
        return self._rounded(self.straight)

    def _rounded(self, bounds: list[int]) -> list[int]:
        """Bounds, or the whole repeats above: what is no longer costs no more cloth."""
        if self.plan.repeat is None:
            return bounds
        return [round(whole_repeats(length / SCALE, self.plan.repeat) * SCALE) for length in bounds]

    def done(self) -> bool:
        """Nothing left to gain for the stretches with their pieces as they lie now."""
        return self._within(self.enough)

    def proven(self) -> bool:
        """Nothing left to gain, however the pieces lie."""
        return self._within(self._rounded(self.bounds))

    def _within(self, lengths: list[int]) -> bool:
        return all(
            solution is not None and solution.length <= enough
            for solution, enough in zip(self.best, lengths, strict=True)
        )


@dataclass(frozen=True)
class Entered:
    """The field of one material's race.

    ``simpler``: millimetres that may be bought beyond the least, for a lay with fewer outlines to cut.
    """

    material: str
    fabric: Fabric
    needs: list[Need]
    runners: list[Runner]
    refused: dict[str, str]
    matched: str = "none"
    edges: tuple[Ring, ...] = ()
    notes: tuple[str, ...] = ()
    simpler: float = 0.0


class NothingFits(InputError):
    """No spread of the cloth has room for every cut asked for, however long the cloth.

    The words may take some working out, and many who try cloths never ask for them: so they may be given as
    a function.
    """

    def __init__(self, words: str | Callable[[], str]) -> None:
        super().__init__()
        self._words = words

    def __str__(self) -> str:
        if not isinstance(self._words, str):
            self._words = self._words()
        return self._words


def enter(job: Job, material: str, fold: str, simpler: float = 0.0) -> Entered:
    """Every plan for a material that the fabric and the cuts allow.

    ``fold`` is "best" or one spread's name; ``simpler`` as in ``Entered``. Raises InputError when nothing
    can be cut, saying why.
    """
    matches = job.asked_of(material)
    entered = enter_needs(
        material,
        job.fabrics[material],
        needs(job, material),
        fold,
        matches=matches,
        matched=job.matching if matches else "none",
        size=job.size,
    )
    return replace(entered, simpler=simpler)


def enter_needs(
    material: str,
    fabric: Fabric,
    wanted: Sequence[Need],
    fold: str,
    *,
    matches: Sequence[Match] = (),
    matched: str = "none",
    edges: tuple[Ring, ...] = (),
    size: str = "",
    whole_repeats: bool = True,
) -> Entered:
    """Every plan for the cuts ``wanted`` on one cloth; cuts of which no copy is wanted are left out.

    ``matches`` is what its print is to match, ``matched`` the level of it that the layout tells. ``edges``
    are places (as of flaws) where there is no cloth: nothing reaches into them; half the gap is kept.
    ``size`` is for messages. ``whole_repeats`` false: the length need not be a whole number of repeats.
    Raises NothingFits when no spread takes all cuts, saying why, and InputError for what cannot match.
    """
    wanted = [need for need in wanted if need.copies]
    where = f"Material '{material}' on {fabric.name}" + (f", size {size}" if size else "")
    ties = ties_of(wanted, matches, fabric.print, where) if fabric.print and matches else None
    _check_directions(wanted, fabric, ties, where)
    asked = _Asked(fabric, tuple(wanted), edges, ties)
    found = _spread_out(asked, fold)
    refused = found.refused
    entries = found.plans if whole_repeats else [replace(plan, repeat=None) for plan in found.plans]
    # One pitch for all, so that plans share the tables of the shapes that they have in common.
    problems = [stretch.problem for plan in entries for stretch in plan.stretches]
    pitch = max((usual_pitch(problem) for problem in problems), default=1.0)
    runners = [
        Runner(plan, pitch, [None] * len(plan.stretches), [None] * len(plan.stretches)) for plan in entries
    ]
    names = {runner.plan.spread.family for runner in runners}
    refused = {name: why for name, why in refused.items() if name not in names}
    if not runners:
        place = f"Material '{material}' on {fabric.name}"
        raise NothingFits(partial(_nothing_fits, place, fold, asked, found))
    if fold != "best":
        refused = {}
    notes = ties.notes if ties else ()
    return Entered(material, fabric, wanted, runners, refused, matched, edges, notes)


@dataclass(frozen=True, eq=False)
class _Asked:
    """What is to be laid on a cloth: the cuts, where there is no cloth, and what a print asks."""

    fabric: Fabric
    needs: tuple[Need, ...]
    edges: tuple[Ring, ...]
    ties: Ties | None


@dataclass(frozen=True, eq=False)
class _Found:
    """Every plan there is, why the other spreads cannot be used, and by what they are too narrow."""

    plans: list[Plan]
    refused: dict[str, str]
    too_wide: dict[str, TooWide]
    off_print: set[str]


def _spreads(asked: _Asked, fold: str) -> tuple[list[Spread], dict[str, str]]:
    hems = any(goes_along(need, asked.fabric) for need in asked.needs)
    lines = asked.ties.lines if asked.ties else None
    options, refused = spreads(asked.fabric, fold_depths(asked.needs, asked.fabric), lines, hems=hems)
    return [spread for spread in options if fold in ("best", spread.family)], refused


def _spread_out(asked: _Asked, fold: str) -> _Found:
    options, refused = _spreads(asked, fold)
    entries: list[Plan] = []
    too_wide: dict[str, TooWide] = {}
    off_print: set[str] = set()
    for spread in options:
        try:
            ways = plans(spread, asked.needs, asked.fabric, asked.edges, asked.ties)
        except OffPrint as off:
            refused.setdefault(spread.family, str(off))
            off_print.add(spread.family)
            continue
        except TooWide as problem:
            refused.setdefault(spread.family, str(problem))
            too_wide.setdefault(spread.family, problem)
            continue
        if not ways:
            refused.setdefault(spread.family, "one stretch would stay empty")
        entries += ways
    return _Found(entries, refused, too_wide, off_print)


def _check_directions(needs: Sequence[Need], fabric: Fabric, ties: Ties | None, where: str) -> None:
    """Raises InputError for cuts that are asked to lie two ways at once."""
    for need in needs:
        if need.whole and need.piece.bias and fabric.grain != "any":
            raise InputError(
                f"{where}: {need.label} is cut on the fold and on the bias, and a fold runs along the grain; "
                "draw the whole piece and cut it once."
            )
        if ties and ties.holds(need) and goes_along(need, fabric):
            raise InputError(
                f"{where}: {need.label} goes with its hem along the border, so its print cannot match as "
                "well; leave it out of the match."
            )


def _nothing_fits(where: str, fold: str, asked: _Asked, found: _Found) -> str:
    fabric = asked.fabric
    if fold != "best":
        why = found.refused.get(fold, "it does not suit this cloth")
        least = None if fold in found.off_print else _least_width(asked, fold)
        wider = f"take cloth at least {_told(least, fabric)} wide, or " if least else ""
        return f"{where}: the spread '{fold}' cannot be used: {why}; {wider}try --fold best."
    whole_width = "tubular" if fabric.tube else "open"
    if whole_width in found.refused and whole_width not in found.too_wide:
        return f"{where}: nothing can be cut: {found.refused[whole_width]}; ask less of the match."
    problem = found.too_wide[whole_width]
    least = _least_width(asked, fold)
    lies = " as the tube lies" if fabric.tube else ""
    wider = (
        f"it would have to be at least {_told(least, fabric)} wide{lies}" if least else "no width would do"
    )
    return (
        f"{where}: {problem.need.label} is {_told(problem.takes, fabric)} across in its narrowest allowed "
        f"direction and cloth {_told(fabric.width, fabric)} wide{lies} leaves "
        f"{_told(max(problem.there_is, 0.0), fabric)} usable; {wider}"
        f"{'; is the unit in the pattern file right?' if problem.takes > SUSPICIOUS else ''}."
    )


def _told(mm: float, fabric: Fabric) -> str:
    return format_position(mm, fabric.system)


def _least_width(asked: _Asked, fold: str) -> float | None:
    """The least width that takes every cut, millimetres, of those that a ruler shows; None if none does.

    Found by trying: each spread has its own share of the width, of selvages and of what the wash takes.
    """
    fabric = asked.fabric
    mark = Fraction(1) if fabric.system == "metric" else Fraction(254, 160)
    # The widest first: where it has no place, the others need not be tried.
    order = tuple(sorted(asked.needs, key=lambda need: -height(need, fabric)))

    def takes(marks: int) -> bool:
        wider = replace(asked, fabric=replace(fabric, width=float(marks * mark)), needs=order)
        for spread in _spreads(wider, fold)[0]:
            try:
                if plans(spread, order, wider.fabric, asked.edges, asked.ties):
                    return True
            except (OffPrint, TooWide):
                continue
        return False

    low = math.floor(Fraction(fabric.width) / mark)
    step = FIRST_MARKS
    while not takes(low + step):
        low, step = low + step, 2 * step
        if low * mark > WIDEST:
            return None
    high = low + step
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if takes(middle) else (middle, high)
    return float(high * mark)


@dataclass(eq=False)
class Clock:
    """Shares one budget, in seconds or in effort, among the steps of a job."""

    seconds: float | None
    effort: float | None
    cores: int
    seed: int
    stop: Callable[[], bool]
    started: float = field(default_factory=time.monotonic)
    pace: float = 1.0
    """How many times as long as expected tables have taken: a busy or slow machine."""

    def preparing(self, share: float, deadline: float) -> float:
        """Seconds of an idle machine that may go into tables, of that share of the work or time."""
        budget = self.budget(share, deadline)
        return budget.amount * PREPARING / (self.pace if budget.seconds is not None else 1.0)

    def over(self, deadline: float, late: float = 0.0) -> bool:
        """Whether the time is up by ``late`` seconds; never for an effort."""
        if self.seconds is None:
            return False
        return time.monotonic() > self.started + self.seconds * deadline + late

    def budget(self, share: float, deadline: float, part: float = 1.0) -> Budget:
        """``share`` of the whole effort; or ``part`` of the seconds to ``deadline`` (a fraction of all)."""
        if self.effort is not None:
            return Budget(effort=max(self.effort * share, 1e-3))
        assert self.seconds is not None
        left = self.started + self.seconds * deadline - time.monotonic()
        return Budget(seconds=max(left, 0.0) * part)


class NoneHolds(RuntimeError):
    """The checker has refused every layout of a material: a defect of this program, never the user's."""

    def __init__(self, material: str) -> None:
        super().__init__(f"every layout of {material} was refused by the check")


@dataclass(eq=False)
class _Race:
    """A race being run: who is in it, who judges it, and who hears of it."""

    entered: Entered
    clock: Clock
    until: float
    judge: Judge
    on_better: OnBetter | None
    shortest: float = float("inf")
    in_vain: int = 0
    """Layouts refused since a plan last went on from one that holds."""

    def laid(self, runner: Runner) -> MaterialLayout:
        return _laid_out(self.entered, runner)

    def told(self, runner: Runner) -> None:
        """Checks a better layout now and then. An effort gives one answer, whenever that may be."""
        runner.keep()
        if self.on_better is None and self.clock.effort is not None:
            return
        if runner.doubted or not runner.complete or not self.judge.due:
            return
        if runner.length(self.entered.fabric) >= self.shortest - 1e-9:
            return
        laid = self.laid(runner)
        if runner is self.winner():
            laid = replace(laid, tried=_tried(self.entered, runner))
        if self.judge.holds(laid):
            self.shortest = laid.length
            if self.clock.effort is None:
                runner.hold(laid)
            if self.on_better is not None:
                self.on_better(laid)
        elif self.clock.effort is None:
            runner.doubted = True

    def work(self, runner: Runner, share: float, deadline: float) -> None:
        """Improves a plan; goes on from a layout that holds, checking each, if one is found that does not."""
        before = runner.doubted
        _work(self, runner, share, deadline)
        if runner.doubted and not before and self.go_back(runner):
            _work(self, runner, share, deadline)

    def accept(self, runner: Runner, k: int, solution: Solution) -> bool:
        """Whether a plan with another solution for one of its stretches holds."""
        best = [solution if n == k else other for n, other in enumerate(runner.best)]
        right = self.judge.holds(_laid_out(self.entered, runner, best))
        self.in_vain += not right
        return right

    def go_back(self, runner: Runner) -> bool:
        """Takes a plan back to a layout that holds, or out of the race if there is none; whether there was.

        Of those found on the way the later ones are asked for first. Raises NoneHolds with the last plan.
        """
        runner.doubted = True
        steps = [1 << k for k in range(len(runner.trail).bit_length()) if 1 << k < len(runner.trail)]
        tries: list[list[Solution] | None] = [runner.trail[-1 - step] for step in steps]
        simple = [shelves(stretch.problem) for stretch in runner.plan.stretches]
        tries += [runner.held, [each for each in simple if each is not None]]
        for best in tries:
            if best is None or len(best) < len(runner.plan.stretches):
                continue
            runner.best = list(best)
            if self._passes(runner):
                return True
        self.entered.runners.remove(runner)
        self.entered.refused.setdefault(runner.plan.spread.family, "no layout of it passed its check")
        if not self.entered.runners:
            raise NoneHolds(self.entered.material)
        return False

    def settled(self, runner: Runner) -> bool:
        """Whether the present layout of a plan holds; the plan is taken back if it does not."""
        if self._passes(runner):
            return True
        self.go_back(runner)
        return False

    def _passes(self, runner: Runner) -> bool:
        if not runner.checked:
            laid = self.laid(runner)
            if not self.judge.holds(laid):
                return False
            runner.hold(laid)
        return True

    def winner(self) -> Runner:
        return _ranked(self.entered.runners, self.entered)[0]

    def stop(self) -> MaterialLayout | None:
        """What may be returned as it is: whoever asked to stop is not to wait for one more long check."""
        checked = [runner for runner in self.entered.runners if runner.passed and runner.passed.tried]
        if not (self.clock.stop() and self.judge.slow and checked) or self.judge.refused:
            return None
        for runner in checked:
            runner.best = list(runner.held or ())
        return _ranked(checked, self.entered)[0].passed

    def over(self, late: float = 0.0) -> bool:
        """Whether there is no time for anything that is not needed."""
        return self.clock.stop() or self.clock.over(self.until, late)


def race(
    entered: Entered,
    clock: Clock,
    since: float,
    until: float,
    on_better: OnBetter | None = None,
    *,
    proving: bool = True,
    holds: Callable[[MaterialLayout], bool] | None = None,
) -> MaterialLayout:
    """Run the race between the fractions ``since`` and ``until`` of the clock's budget.

    ``proving`` false: where it is enough that a layout fits, no work goes into showing that it is shortest.
    ``holds``, if given, checks a layout, the one returned too. Where it refuses one, the search goes on from
    an earlier one that holds, and what is returned has a note of that. ``on_better`` hears of layouts that
    hold. Raises InputError if no spread has a place for every piece where the print matches, NoneHolds if
    every layout is refused.
    """
    fabric = entered.fabric
    entered = replace(entered, runners=list(entered.runners), refused=dict(entered.refused))
    running = list(entered.runners)
    this = _Race(entered, clock, until, Judge(holds), on_better)
    at = since
    provable = proving and any(runner.provable for runner in running)
    leans = any(runner.leans for runner in running)
    racing = (until - since) * (1.0 - PROOF if provable else 1.0 - TILTING if leans else 1.0)
    for part, keep in _rungs(len(running)):
        span = racing * part
        for place, runner in enumerate(running):
            if this.over(LATE) and any(other.complete for other in entered.runners):
                break
            try:
                this.work(runner, span / len(running), at + span * (place + 1) / len(running))
            except NoLattice as problem:
                _drop(entered, runner, problem)
        at += span
        running = [runner for runner in running if runner in entered.runners] or list(entered.runners)
        running = _ahead(running, keep, entered)
        if running[0].done():
            break
    winner = this.winner()
    if winner.leans and not winner.proven() and not this.over():
        winner.lean(fabric.gap, clock.preparing(until - at, until))
        this.work(winner, until - at, until)
    if (passed := this.stop()) is not None:
        return passed
    mended: list[Runner] = []
    while not this.settled(winner := this.winner()):
        # What is left of the time, or half of the effort once more, goes on from a layout that holds.
        if winner in entered.runners and winner not in mended and not this.over():
            mended.append(winner)
            _work(this, winner, (until - since) / 2, until)
    if proving and winner.provable and not winner.done() and not clock.stop():
        bounds = list(winner.bounds)
        _prove(winner, clock, until - at, until)
        if not this.settled(winner):
            winner.bounds = bounds
    laid = replace(this.laid(this.winner()), tried=_tried(entered, this.winner()))
    return replace(laid, notes=(*laid.notes, REFUSED)) if this.judge.refused else laid


def _drop(entered: Entered, runner: Runner, problem: NoLattice) -> None:
    """Takes a plan out of the field on which not all pieces can match; raises InputError after the last."""
    (stretch,) = runner.plan.stretches
    names = list(dict.fromkeys(stretch.laid[k].need.label for k in problem.kinds))
    verb = "have" if len(names) > 1 else "has"
    why = f"{enumerated(names)} {verb} no place across the cloth where the print matches"
    entered.refused.setdefault(runner.plan.spread.family, why)
    entered.runners.remove(runner)
    if not entered.runners:
        raise InputError(
            f"Material '{entered.material}' on {entered.fabric.name}: {why}; take wider cloth, or ask less "
            "of the match."
        ) from None


def _prove(runner: Runner, clock: Clock, share: float, deadline: float) -> None:
    """Tries to show that no layout of a plan is shorter, or finds one that is."""
    from marker.nest.proof import prove

    for k, stretch in enumerate(runner.plan.stretches):
        held = runner.best[k]
        if held is None:
            return
        stretches = len(runner.plan.stretches)
        budget = clock.budget(share / stretches, deadline, 1 / (stretches - k))
        if budget.seconds is not None:
            proof = prove(stretch.problem, held, seconds=budget.seconds, seed=clock.seed, stop=clock.stop)
        else:
            proof = prove(stretch.problem, held, effort=budget.amount, seed=clock.seed, stop=clock.stop)
        runner.best[k], runner.bounds[k] = proof.solution, proof.lower_bound


def _rungs(count: int) -> list[tuple[float, int]]:
    """For each rung of the race its part of the work and how many plans go on to the next."""
    if count == 1:
        return [(1.0, 1)]
    first_layouts = (0.0, count)
    if count <= 3:
        return [first_layouts, (0.35, 1), (0.65, 1)]
    return [first_layouts, (0.25, 3), (0.25, 1), (0.5, 1)]


def _work(this: _Race, runner: Runner, share: float, deadline: float) -> None:
    """Improve every stretch of a plan, longest share to the one with the most to place."""
    clock, left, this.in_vain = this.clock, runner.placed, 0
    for k, stretch in enumerate(runner.plan.stretches):
        count = stretch.problem.total
        start, doubted = runner.best[k], runner.doubted
        prepared = _prepared(this, runner, k)
        # Preparing has taken time already.
        budget = clock.budget(share * count / runner.placed, deadline, count / left)
        left -= count
        if prepared is None:
            # No time for tables: boxes side by side are a layout, too.
            runner.best[k] = start or shelves(stretch.problem)
            this.told(runner)
            continue

        def better(solution: Solution, k: int = k) -> None:
            runner.best[k] = solution
            this.told(runner)

        def stop(doubted: bool = doubted) -> bool:
            return clock.stop() or runner.doubted != doubted or this.in_vain > IN_VAIN

        # What was told on the way may be another layout of the same length, by whichever core came first.
        found = solve(
            prepared,
            budget,
            seed=clock.seed,
            cores=clock.cores,
            start=start,
            lower_bound=runner.enough[k],
            on_better=better,
            accept=partial(this.accept, runner, k) if doubted else None,
            stop=stop,
        )
        longer = start is not None and found.length > start.length
        if start is not None and (longer or (doubted and not this.accept(runner, k, found))):
            found = start
        runner.best[k] = found
        this.told(runner)


def _prepared(this: _Race, runner: Runner, k: int) -> Prepared | None:
    """The tables of a stretch, made when first asked for; None if that takes longer than there is time."""
    stretch, clock = runner.plan.stretches[k], this.clock
    if (prepared := runner.prepared[k]) is not None:
        return prepared

    def stop() -> bool:
        return this.over(LATE)

    began = time.monotonic()
    try:
        prepared = prepare(stretch.problem, runner.pitch, (lambda: False) if stretch.problem.tied else stop)
    except Stopped:
        return None
    runner.prepared[k] = prepared
    clock.pace = max(clock.pace, (time.monotonic() - began) / (cost(stretch.problem) + LEAST_COST))
    return prepared


def _ranked(runners: Sequence[Runner], entered: Entered) -> list[Runner]:
    """The best first: those that buy no more than the least and what a simpler lay may cost, the simplest of
    them first; then the others by what they buy.

    Simpler is what has fewer outlines to cut; fewer foldings come after what is bought.
    """
    fabric = entered.fabric
    length = {id(runner): runner.length(fabric) for runner in runners}
    buy = {id(runner): to_buy(length[id(runner)], fabric, runner.plan) for runner in runners}
    limit = min(buy.values()) + entered.simpler + JUST

    def key(runner: Runner) -> tuple[float, ...]:
        bought = buy[id(runner)]
        dear = bought > limit
        first = (bought, runner.trouble) if dear else (runner.trouble, bought)
        last = len(runner.plan.stretches), length[id(runner)], NAMES.index(runner.plan.spread.family)
        return (dear, *first, *last)

    return sorted(runners, key=key)


def _ahead(running: Sequence[Runner], keep: int, entered: Entered) -> list[Runner]:
    """The ``keep`` shortest that can still win; and the one that would, where a simpler lay may cost more.

    A spread whose bound is above the length of the shortest cannot win any more, unless it is simpler.
    """
    fabric = entered.fabric
    shortest = min(running, key=lambda runner: runner.length(fabric))
    limit = to_buy(shortest.length(fabric), fabric, shortest.plan) + entered.simpler + JUST

    def hopeful(runner: Runner) -> bool:
        least = cloth_length(runner.plan, runner.straight, fabric)
        if least <= shortest.length(fabric):
            return True
        return runner.trouble < shortest.trouble and to_buy(least, fabric, runner.plan) <= limit

    able = [runner for runner in running if hopeful(runner)] or list(running)
    ahead = sorted(able, key=lambda runner: (runner.length(fabric), runner.trouble))[:keep]
    simplest = _ranked(able, entered)[0]
    return ahead if simplest in ahead or not entered.simpler else [*ahead, simplest]


def _laid_out(entered: Entered, runner: Runner, best: Sequence[Solution | None] = ()) -> MaterialLayout:
    """The present layout of a plan, or that of other solutions for its stretches."""
    solutions = [solution for solution in best or runner.best if solution is not None]
    laid = material_layout(
        entered.material,
        entered.fabric,
        runner.plan,
        entered.needs,
        solutions,
        runner.bounds,
        edges=entered.edges,
    )
    return replace(laid, proven=runner.proven(), matched=entered.matched, notes=entered.notes)


def _tried(entered: Entered, winner: Runner) -> tuple[Tried, ...]:
    """Each spread's best length, and why the others were not possible, in the order of NAMES.

    Of the winner's spread its own length: there may be a shorter way that buys as much and is more trouble.
    """
    found = {name: Tried(name, None, None, why) for name, why in entered.refused.items()}
    family = winner.plan.spread.family
    others = (runner for runner in entered.runners if runner.plan.spread.family != family)
    for runner in (winner, *others):
        spread, length = runner.plan.spread, runner.length(entered.fabric)
        held = found.get(spread.family)
        if not runner.complete:
            found.setdefault(spread.family, Tried(spread.name, None, None, "stopped before it was tried"))
            continue
        if held is None or held.length is None or length < held.length:
            bought = to_buy(length, entered.fabric, runner.plan)
            found[spread.family] = Tried(spread.name, length, bought, outlines=runner.placed)
    return tuple(found[name] for name in NAMES if name in found)
