"""Present findings tied together by shared causes, and the order in which the sweep takes them apart.

Findings and causes fall into islands that share no link. In an island, a cause with one present finding is folded into
that finding in closed form; the others, with the findings, are vertices. A plan takes one vertex after the other out of
a table of open causes (there or not) and open findings (explained or not). It depends on the links alone, not on any
chance of a cause, so it is kept for the next try-on with the same findings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from operator import itemgetter
from typing import NamedTuple

from msgspec import Struct

from diagnose.rulebase.compiling import Link

__all__ = ["Cut", "Island", "Laid", "Step", "Table", "islands_of"]

ORDERS_TRIED = 12
WORTH_ANOTHER_ORDER = 1 << 12
"""A sweep of more table entries is worth looking for a better order; its plan is too large to keep."""
RESCALE_EVERY = 4
PLANS_KEPT = 512

Table = Sequence[float]
_Near = Sequence[set[int]]


class Cut(NamedTuple):
    """A table in halves, without and with one of its vertices.

    Attributes:
        low, high: the places of the halves.
        gone, there: take the entries of each half.
        joined: brings the halves, one behind the other, back into the order of the table.
    """

    low: Sequence[int]
    high: Sequence[int]
    gone: Callable[[Table], Table]
    there: Callable[[Table], Table]
    joined: Callable[[Table], Table]


class Laid(NamedTuple):
    """A link met in a step: to which open vertex, how strong, and the table's halves by that vertex."""

    to: int
    strength: float
    cut: Cut


class Step(NamedTuple):
    """One vertex taken out of the table.

    Attributes:
        vertex: which; shared causes are numbered first, then findings.
        finding: whether it is a finding.
        opens: the vertices opened first.
        cut: the table's halves by the vertex, when it is open already.
        links: its links to vertices that are still open.
        hits: of a finding, the chance in each entry that the causes of `links` show it.
        rescale: whether to see if the table has grown tiny, which one step alone cannot make it.
    """

    vertex: int
    finding: bool
    opens: tuple[int, ...]
    cut: Cut | None
    links: tuple[Laid, ...]
    hits: Table
    rescale: bool


class Island(Struct, frozen=True, eq=False):
    """One island and its plan.

    Attributes:
        findings: its findings, sorted.
        causes: those with two findings or more, sorted; vertices are numbered in this order, then the findings.
        links: by finding, all its links.
        alone: by finding, the links of causes that have no other finding.
        cost: how many table entries the sweep takes.
        order: the vertices in the order they are taken out.
        kept: the steps of that order, kept unless they are very large.
        vertices: of each cause its vertex; of one with no other finding, that of the finding.
        taken: by vertex, the number of the step that takes it out; -1 for a finding that shares no cause.
        enters: by vertex, the number of the step at which the chance of the cause, or of the finding, comes in.
    """

    findings: tuple[str, ...]
    causes: tuple[str, ...]
    links: tuple[tuple[Link, ...], ...]
    alone: tuple[tuple[Link, ...], ...]
    cost: int
    order: tuple[int, ...]
    kept: tuple[Step, ...] | None
    vertices: Mapping[str, int]
    taken: tuple[int, ...]
    enters: tuple[int, ...]

    def steps(self) -> tuple[Step, ...]:
        """The steps of the sweep, in order."""
        # The places of large tables are many: they are worked out anew for each sweep.
        anew = lru_cache(maxsize=None)(_cut)
        if self.kept is None:
            return _steps(self.causes, self.links, self.order, cut=anew, near=_near(self.causes, self.links))
        return self.kept


@lru_cache(maxsize=PLANS_KEPT)
def islands_of(present: tuple[tuple[Link, ...], ...], findings: tuple[str, ...]) -> tuple[Island, ...]:
    """The islands of some findings, given with their links (one of each cause, sorted by cause)."""
    by_cause: dict[str, list[int]] = {}
    for place, links in enumerate(present):
        for link in links:
            by_cause.setdefault(link.cause, []).append(place)
    islands, waiting = [], dict.fromkeys(range(len(findings)))
    while waiting:
        group = [next(iter(waiting))]
        del waiting[group[0]]
        for place in group:
            for other in [other for link in present[place] for other in by_cause[link.cause]]:
                if other in waiting:
                    del waiting[other]
                    group.append(other)
        group.sort(key=findings.__getitem__)
        islands.append(_island(tuple([findings[place] for place in group]), tuple([present[place] for place in group])))
    return tuple(islands)


@lru_cache(maxsize=PLANS_KEPT)
def _island(findings: tuple[str, ...], links: tuple[tuple[Link, ...], ...]) -> Island:
    times: dict[str, int] = {}
    for own in links:
        for link in own:
            times[link.cause] = times.get(link.cause, 0) + 1
    causes = tuple(sorted(cause for cause, count in times.items() if count > 1))
    alone = tuple([tuple([link for link in own if times[link.cause] == 1]) for own in links])
    near = _near(causes, links)
    cost, order = _best_order(near)
    kept = _steps(causes, links, order, cut=_small_cut, near=near) if cost <= WORTH_ANOTHER_ORDER else None
    vertices = {link.cause: vertex for vertex, own in enumerate(links, len(causes)) for link in own}
    vertices |= {cause: vertex for vertex, cause in enumerate(causes)}
    taken, enters = _when(near, order, len(causes))
    return Island(
        findings,
        causes,
        links,
        alone=alone,
        cost=cost,
        order=tuple(order),
        kept=kept,
        vertices=vertices,
        taken=taken,
        enters=enters,
    )


def _near(causes: Sequence[str], links: Sequence[Sequence[Link]]) -> list[set[int]]:
    """By vertex, those it shares a link with."""
    number = {cause: vertex for vertex, cause in enumerate(causes)}
    near: list[set[int]] = [set() for _ in range(len(causes) + len(links))]
    for finding, own in enumerate(links, len(causes)):
        for link in own:
            if link.cause in number:
                near[number[link.cause]].add(finding)
                near[finding].add(number[link.cause])
    return near


def _best_order(near: _Near) -> tuple[int, list[int]]:
    """The cheapest of a few orders, each begun at another vertex."""
    cost, order = _order(near, None)
    for start in range(0, len(near), 1 + len(near) // ORDERS_TRIED):
        if cost > WORTH_ANOTHER_ORDER and near[start]:
            cost, order = min((cost, order), _order(near, start))
    return cost, order


def _order(near: _Near, start: int | None) -> tuple[int, list[int]]:
    """An order of taking vertices out, and the table entries it costs: next is always one that opens fewest others."""
    to_open = [1 + len(others) for others in near]
    left = {vertex for vertex, others in enumerate(near) if others}
    opened: set[int] = set()
    order: list[int] = []
    cost, width = 0, 0
    while left:
        vertex = min(left, key=to_open.__getitem__) if start is None else start
        start = None
        for newly in (near[vertex] | {vertex}) - opened:
            opened.add(newly)
            width += 1
            to_open[newly] -= 1
            for other in near[newly]:
                to_open[other] -= 1
        cost += 1 << width
        width -= 1
        left.remove(vertex)
        order.append(vertex)
    return cost, order


def _when(near: _Near, order: Sequence[int], causes: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """By vertex, the step that takes it out and the step at which its chance comes in."""
    taken = {vertex: number for number, vertex in enumerate(order)}
    enters = {
        vertex: min([taken[vertex], *(taken[other] for other in near[vertex])]) if vertex < causes else taken[vertex]
        for vertex in order
    }
    return tuple([taken.get(v, -1) for v in range(len(near))]), tuple([enters.get(v, -1) for v in range(len(near))])


def _steps(
    causes: Sequence[str], links: Sequence[Sequence[Link]], order: Sequence[int], cut: Callable[[int, int], Cut],
    near: _Near,
) -> tuple[Step, ...]:  # fmt: skip
    strength = _strengths(causes, links)
    opened: list[int] = []
    done: set[int] = set()
    steps: list[Step] = []
    for vertex in order:
        pending = sorted(near[vertex] - done)
        opens = tuple([other for other in pending if other not in opened])
        opened += opens
        own = None
        if vertex in opened:
            own = cut(1 << len(opened), opened.index(vertex))
            opened.remove(vertex)
        laid = tuple([Laid(to, strength[vertex, to], cut(1 << len(opened), opened.index(to))) for to in pending])
        finding = vertex >= len(causes)
        hits = _hits([strength.get((vertex, to), 0.0) for to in opened]) if finding else ()
        steps.append(
            Step(
                vertex,
                finding,
                opens,
                cut=own,
                links=laid,
                hits=hits,
                rescale=len(steps) % RESCALE_EVERY == RESCALE_EVERY - 1,
            )
        )
        done.add(vertex)
    return tuple(steps)


def _strengths(causes: Sequence[str], links: Sequence[Sequence[Link]]) -> dict[tuple[int, int], float]:
    """The strength between two vertices, both ways."""
    number = {cause: vertex for vertex, cause in enumerate(causes)}
    strength = {}
    for finding, own in enumerate(links, len(causes)):
        for link in own:
            if link.cause in number:
                cause = number[link.cause]
                strength[cause, finding] = strength[finding, cause] = link.strength
    return strength


def _cut(size: int, bit: int) -> Cut:
    """The halves of a table of `size` entries, without and with the bit in the number of the place."""
    low = [place for place in range(size) if not place >> bit & 1]
    high = [place + (1 << bit) for place in low]
    if size == 2:
        return Cut(low, high, itemgetter(slice(0, 1)), there=itemgetter(slice(1, 2)), joined=list)
    place_of = {place: number for number, place in enumerate([*low, *high])}
    joined = itemgetter(*[place_of[place] for place in range(size)])
    return Cut(low, high, itemgetter(*low), there=itemgetter(*high), joined=joined)


_small_cut = lru_cache(maxsize=None)(_cut)


def _hits(strengths: Sequence[float]) -> list[float]:
    """The chance that a finding is shown, by which of the open causes are there."""
    hits = [0.0]
    for strength in strengths:
        hits += [hit + strength * (1.0 - hit) for hit in hits] if strength else hits
    return hits
