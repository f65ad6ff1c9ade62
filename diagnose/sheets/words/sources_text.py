"""Where the rules come from, and what of ours was held against something outside: one page, as text or JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from diagnose.rulebase.reading.outside_checks import CheckSource, OutsideCheck, OutsideChecks
from diagnose.rulebase.reading.schema import Source
from diagnose.sheets.words.parts import Said, heading, wrapped
from diagnose.sheets.words.rule_text import source_words
from diagnose.units import in_mm, parse_length

__all__ = ["sources_json", "sources_lines"]

Lines: TypeAlias = Sequence[frozenset[str]]

SURENESS: Mapping[str, str] = {
    "published": "Published, seen as far as said",
    "practice": "Practice of the trade, no source",
    "memory": "From memory, not checked",
    "geometry": "Geometry and arithmetic, checkable by hand",
    "judgement": "Our judgement, changed by settings",
    "data": "Real bodies, measured by others",
    "library": "Arithmetic of other programs",
}
"""How sure a line is that rests on a source of each kind, most sure of the world first."""


def _all_sources(known: Mapping[str, Source], table: OutsideChecks) -> dict[str, Source | CheckSource]:
    """Every source by key, the surest kinds first."""
    every: dict[str, Source | CheckSource] = {**known, **table.sources}
    order = list(SURENESS)
    return dict(sorted(every.items(), key=lambda item: order.index(item[1].kind)))


def _counts(resting: Lines, table: OutsideChecks) -> tuple[Counter[str], Counter[str]]:
    """By source, the lines of the rules that rest on it and the checks that name it; two named count for both."""
    lines = Counter(key for line in resting for key in line)
    return lines, Counter(key for check in table.checks.values() for key in check.source_keys)


def sources_lines(known: Mapping[str, Source], resting: Lines, table: OutsideChecks) -> Iterator[Said]:
    """The page: every source with the lines that rest on it, then every check with its source, figure and ours.

    Args:
        known: the sources of the rule base.
        resting: for each line of the rules that names what it rests on, the keys it names.
        table: the outside checks.
    """
    sources, (lines, checks) = _all_sources(known, table), _counts(resting, table)
    yield from heading("Where the rules come from")
    yield from wrapped(
        f"{_count(len(resting), 'line')} of the rules and settings name what they rest on, and a line may rest on more "
        "than one source."
    )
    for kind, sure in SURENESS.items():
        of_kind = {key: source for key, source in sources.items() if source.kind == kind}
        if of_kind:
            yield ""
            count = sum(not line.isdisjoint(of_kind) for line in resting)
            yield f"{sure}: {_count(count, 'line')}" if count else sure
            for key, source in of_kind.items():
                yield from _source(key, source, lines[key], checks=checks[key])
    yield from _checks(sources, table)


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _source(key: str, source: Source | CheckSource, lines: int, checks: int) -> Iterator[Said]:
    counts = [_count(number, noun) for number, noun in ((lines, "line"), (checks, "check")) if number]
    yield f"  {key}: {', '.join(counts) or 'nothing rests on it'}"
    yield from wrapped(source.title, "    ")
    if source.seen:
        unseen = source.seen.startswith("not seen")
        yield from wrapped(source.seen.capitalize() if unseen else f"Seen: {source.seen}", "    ")


def _checks(sources: Mapping[str, Source | CheckSource], table: OutsideChecks) -> Iterator[Said]:
    figures = sum(len(check.figures) for check in table.checks.values())
    parted = sum(check.differs is not None for check in table.checks.values())
    yield from heading("Held against something outside")
    yield from wrapped(
        f"{_count(len(table.checks), 'check')} of {_count(figures, 'figure')}; ours differ in {parted}. "
        "Ours are worked out afresh by the tests, which fail when one no longer comes out."
    )
    group = None
    for check in table.checks.values():
        if check.group != group:
            group = check.group
            yield from heading(group.replace("-", " ").capitalize())
        yield ""
        yield from _check(check, sources)


def _check(check: OutsideCheck, sources: Mapping[str, Source | CheckSource]) -> Iterator[Said]:
    yield from wrapped(check.title, "  ")
    yield from wrapped(source_words(check.source, lambda key: sources[key].title), "    Source: ")
    yield from wrapped(check.how, "    How: ")
    for figure in check.figures:
        yield from wrapped(f"{figure.what}: theirs {_shown(figure.theirs)}, ours {_shown(figure.ours)}", "    - ")
    if check.differs is not None:
        yield from wrapped(check.differs, "    Differs: ")


def _shown(figure: str) -> str:
    """The figure, with millimetres beside what is in inches."""
    lengths = figure.removeprefix("at most ").removeprefix("at least ").split(" to ")
    if not lengths[-1].endswith(" in"):
        return figure
    shown = [in_mm(length_mm) for text in lengths if (length_mm := parse_length(text)) is not None]
    return f"{figure} ({' to '.join([*(one.removesuffix(' mm') for one in shown[:-1]), *shown[-1:]])})"


UNSHOWN: Any = {"needs": True, "figures": {"__all__": {"within"}}}
"""What of a check is for the tests alone."""


def sources_json(known: Mapping[str, Source], resting: Lines, table: OutsideChecks) -> dict[str, Any]:
    """The sources and what rests on them, as data."""
    lines, checks = _counts(resting, table)
    return {
        "sources": {
            key: {**source.model_dump(mode="json"), "lines": lines[key], "checks": checks[key]}
            for key, source in _all_sources(known, table).items()
        },
        "checks": {name: check.model_dump(mode="json", exclude=UNSHOWN) for name, check in table.checks.items()},
    }
