"""The exact chances of one island: a sweep forward and back over a small table.

Variable elimination in which every term is a sum of products of chances, so that nothing cancels. Since a finding once
explained asks nothing of what follows, the same two sweeps also give the chances had one present finding not been
known. Other chances of a few causes (had one absent finding not been known) change the tables only between where the
first of them comes in and where the answer is read; that much is worked out anew.
"""

# ruff: noqa: B905  (a strict zip costs as much as the work on tables so small)

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import add, mul

from diagnose.engine.inference.islands import Cut, Island, Laid, Step, Table
from diagnose.rulebase.compiling import Link, either

__all__ = ["Pair", "Sweep", "odds_ratio", "otherwise"]

RESCALE_BELOW = 1e-60

Pair = tuple[float, float]
"""Unscaled masses: cause not there, cause there; or finding not explained by the causes of the table, explained."""

_Halves = tuple[Table, Table]


def odds_ratio(now: Pair, then: Pair) -> float:
    """The odds of one pair over those of another; 1 where the other has none."""
    return (now[1] / now[0]) / (then[1] / then[0]) if then[1] else 1.0


def otherwise(leak: float, alone: Iterable[Link], chances: Mapping[str, float], but: str = "") -> float:
    """The chance that a finding shows by its leak or by causes that have no other finding; one may be left out."""
    shows = leak
    for _, cause, strength, _ in alone:
        if cause != but:
            shows = either(shows, chances[cause] * strength)
    return shows


class Sweep:
    """What the findings of an island say of its causes.

    Args:
        island: the island.
        chances: of each cause, the chance (0 or more, below 1) with the absent findings taken in.
        leaks: of each finding, the chance that it shows with no cause.

    Attributes:
        island, chances: as given.
        findings: the present findings of the island.
        masses: of each cause of the island, its masses not there and there, given all findings.
    """

    exact = True

    def __init__(self, island: Island, chances: Mapping[str, float], leaks: Mapping[str, float]) -> None:
        self.island, self.chances, self._leaks = island, chances, leaks
        self.findings = island.findings
        self._steps = island.steps()
        self._opening = [chances[cause] for cause in island.causes] + [0.0] * len(island.findings)
        self._showing = [0.0] * len(island.causes)
        self._showing += [otherwise(leaks[f], own, chances) for f, own in zip(island.findings, island.alone)]
        self._before, self._halves = _forward(self._steps, self._opening, self._showing, table=[1.0])
        self._after = _backward(self._steps, self._opening, self._showing, back=[1.0])
        self.masses = self._masses()

    def expected(self, finding: str) -> float:
        """The chance of a present finding, given all the others."""
        place = self.island.findings.index(finding)
        unexplained, explained = self._explained(place)
        shows = self._showing[len(self.island.causes) + place]
        return (explained + shows * unexplained) / (explained + unexplained)

    def without(self, cause: str) -> Iterator[tuple[str, Pair]]:
        """For each present finding of a cause, the masses of the cause had the finding not been known.

        To leave a finding out, take the entries where nothing explains it yet along with those where something does.
        """
        vertex, first, findings = self.island.vertices[cause], len(self.island.causes), self.island.findings
        if vertex >= first:
            yield findings[vertex - first], (1.0 - self.chances[cause], self.chances[cause])
            return
        for step, halves, after in zip(self._steps, self._halves, self._after[1:]):
            for laid in step.links:
                if step.vertex == vertex:
                    yield findings[laid.to - first], _unknown(halves, after, laid)
                elif laid.to == vertex:
                    both = _both(halves, after)
                    yield findings[step.vertex - first], (sum(laid.cut.gone(both)), sum(laid.cut.there(both)))

    def absent_ratio(self, absent: Link, chances: Mapping[str, float]) -> float:
        """The odds of a cause over what they would be, were an absent finding not known.

        Args:
            absent: the link of the cause and the finding.
            chances: the chances of the finding's causes of this island, without it.
        """
        if len(chances) == 1:
            return 1.0 - absent.strength
        return odds_ratio(self.masses[absent.cause], self._masses_with(absent.cause, chances))

    def _masses(self) -> dict[str, Pair]:
        masses: dict[str, Pair] = {}
        for step, halves, after in zip(self._steps, self._halves, self._after[1:]):
            if not step.finding:
                masses[self.island.causes[step.vertex]] = _read(step, halves, after)
        for place, own in enumerate(self.island.alone):
            if own:
                explained = self._explained(place)
                for link in own:
                    masses[link.cause] = self._alone(link, own, explained, chances=self.chances)
        return masses

    def _explained(self, place: int) -> Pair:
        number = self.island.taken[len(self.island.causes) + place]
        return (1.0, 0.0) if number < 0 else _read(self._steps[number], self._halves[number], self._after[number + 1])

    def _alone(self, link: Link, own: Sequence[Link], masses: Pair, chances: Mapping[str, float]) -> Pair:
        """The masses of a cause with no other finding, from those of its finding."""
        unexplained, explained = masses
        shows = otherwise(self._leaks[link.finding], own, chances, but=link.cause)
        chance = chances[link.cause]
        there = explained + unexplained * either(shows, link.strength)
        return (1.0 - chance) * (explained + unexplained * shows), chance * there

    def _masses_with(self, cause: str, changed: Mapping[str, float]) -> Pair:
        """The masses of a cause under other chances of some causes."""
        island, first = self.island, len(self.island.causes)
        chances = {**self.chances, **changed}
        opening, showing = self._opening.copy(), self._showing.copy()
        vertices = {island.vertices[other] for other in changed}
        for vertex in vertices:
            if vertex < first:
                opening[vertex] = chances[island.causes[vertex]]
            else:
                finding = island.findings[vertex - first]
                showing[vertex] = otherwise(self._leaks[finding], island.alone[vertex - first], chances)
        vertex = island.vertices[cause]
        masses = self._read_with(island.taken[vertex], [island.enters[v] for v in vertices], opening, showing=showing)
        if vertex < first:
            return masses
        own = island.alone[vertex - first]
        return self._alone(next(link for link in own if link.cause == cause), own, masses, chances=chances)

    def _read_with(self, at: int, enters: Sequence[int], opening: Sequence[float], showing: Sequence[float]) -> Pair:
        """The masses read at a step, when what comes in at some steps, one of them no later, is another."""
        if at < 0:
            return 1.0, 0.0
        first, last = min(enters), max(enters)
        _, halves = _forward(self._steps[first : at + 1], opening, showing, table=self._before[first])
        after = self._after[at + 1]
        if last > at:
            after = _backward(self._steps[at + 1 : last + 1], opening, showing, back=self._after[last + 1])[0]
        return _read(self._steps[at], halves[-1], after)


def _forward(
    steps: Sequence[Step], opening: Sequence[float], showing: Sequence[float], table: Table
) -> tuple[list[Table], list[_Halves]]:
    """The table before each step, and its halves when the step's vertex closes: vertex gone, vertex there.

    A cause closes by adding the halves. A finding closes by its chance of showing wherever nothing explains it yet; one
    that was not open has no second half.
    """
    before, halves = [], []
    for step in steps:
        vertex, finding, opens, cut, links, hits, rescale = step
        before.append(table)
        for other in opens:
            table = _opened(table, opening[other])
        if finding:
            half, table = _finding(table, showing[vertex], cut, hits=hits if links else ())
        else:
            half, table = _cause(table, opening[vertex], cut, links=links)
        halves.append(half)
        if rescale:
            table = _scaled(table)
    return before, halves


def _opened(table: Table, chance: float) -> Table:
    if not chance:
        return [*table, *([0.0] * len(table))]
    rest = 1.0 - chance
    return [entry * rest for entry in table] + [entry * chance for entry in table]


def _finding(table: Table, other: float, cut: Cut | None, hits: Table) -> tuple[_Halves, Table]:
    rest = 1.0 - other
    if cut is None:
        return (table, ()), [entry * (other + rest * hit) for entry, hit in zip(table, hits)]
    gone, there = cut.gone(table), cut.there(table)
    if not hits:
        return (gone, there), [no * other + yes for no, yes in zip(gone, there)]
    return (gone, there), [no * (other + rest * hit) + yes for no, yes, hit in zip(gone, there, hits)]


def _cause(table: Table, chance: float, cut: Cut | None, links: Sequence[Laid]) -> tuple[_Halves, Table]:
    """Let a cause that is there explain findings where nothing else does: mass moves over by the strength."""
    if cut is None:
        rest = 1.0 - chance
        gone: Table = [entry * rest for entry in table]
        there = [entry * chance for entry in table]
    else:
        gone, there = cut.gone(table), list(cut.there(table))
    for _, strength, (lows, highs, _, _, _) in links:
        rest = 1.0 - strength
        for low, high in zip(lows, highs):
            mass = there[low]
            there[low] = mass * rest
            there[high] += mass * strength
    return (gone, there), list(map(add, gone, there))


def _scaled(table: Table) -> Table:
    """The table, or a multiple of it when it has grown tiny; only ratios within a step are ever used."""
    most = max(table)
    return [entry / most for entry in table] if most < RESCALE_BELOW else table


def _backward(steps: Sequence[Step], opening: Sequence[float], showing: Sequence[float], back: Table) -> list[Table]:
    """What each entry comes to in the end: before the first step, and after each."""
    after = [back]
    for step in reversed(steps):
        vertex, finding, opens, cut, links, hits, rescale = step
        there = _unlaid(back, links) if links and not finding else back
        if finding:
            other = showing[vertex]
            rest = 1.0 - other
            back = [entry * (other + rest * hit) for entry, hit in zip(back, hits)]
        if cut is not None:
            back = cut.joined([*back, *there])
        elif not finding:
            back = _mixed(back, there, opening[vertex])
        for other_vertex in reversed(opens):
            half = len(back) // 2
            back = _mixed(back[:half], back[half:], opening[other_vertex])
        after.append(_scaled(back) if rescale else back)
        back = after[-1]
    after.reverse()
    return after


def _mixed(gone: Table, there: Table, chance: float) -> Table:
    if not chance:
        return gone
    rest = 1.0 - chance
    return [no * rest + yes * chance for no, yes in zip(gone, there)]


def _unlaid(back: Table, links: Sequence[Laid]) -> Table:
    there = list(back)
    for _, strength, cut in links:
        for low, high in zip(cut.low, cut.high):
            there[low] += strength * (there[high] - there[low])
    return there


def _read(step: Step, halves: _Halves, after: Table) -> Pair:
    """The masses of a cause not there and there, or of a finding that no shared cause explains and that one does."""
    gone, there = halves
    if not step.finding:
        return sum(map(mul, gone, after)), sum(map(mul, there, after))
    masses = list(map(mul, gone, after))
    explained = sum(map(mul, masses, step.hits))
    unexplained = sum([mass * (1.0 - hit) for mass, hit in zip(masses, step.hits)])
    return unexplained, sum(map(mul, there, after)) + explained


def _unknown(halves: _Halves, after: Table, laid: Laid) -> Pair:
    """The masses of a cause when it closes, had one of the findings open then not been known."""
    back = laid.cut.there(after)
    off, on = (list(map(add, laid.cut.gone(half), laid.cut.there(half))) for half in halves)
    return sum(map(mul, off, back)), sum(map(mul, on, back))


def _both(halves: _Halves, after: Table) -> Table:
    """The mass of each entry when a finding closes, had it not been known."""
    gone, there = halves
    return list(map(mul, map(add, gone, there) if there else gone, after))
