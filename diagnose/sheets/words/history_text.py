"""The rounds of a case side by side, in words and as data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec import to_builtins

from diagnose.casebook import History, HistoryRound, HistoryStation, PatternVersion, StepDone
from diagnose.model.stations import Station
from diagnose.pattern.operations import OPERATIONS
from diagnose.plan.give import Give
from diagnose.rulebase.base import RuleBase
from diagnose.sentences import listed, lower_first
from diagnose.sheets.words.gap_text import gap_words
from diagnose.sheets.words.parts import Said, heading, table, wrapped
from diagnose.sheets.words.ways_text import drawn_title
from diagnose.sheets.words.wording import in_first_unit, step_title
from diagnose.units import INCH_MM, Unit, both

__all__ = ["history_lines", "history_to_json", "step_words"]


def history_lines(found: History, base: RuleBase, give: Mapping[Station, Give]) -> Iterator[Said]:
    """Each try-on: gap at each station against target and prediction, steps done, signs that came and went; then what
    the rounds teach of this body.
    """
    yield found.name
    if any(round_.stations for round_ in found.rounds):
        cell = in_first_unit(both(CELL_MM, found.unit))
        yield from wrapped(f"In small: the lacing edges | as they stood, : as they should; {cell} to a letter.")
    for round_ in found.rounds:
        yield from heading(f"Try-on {round_.tryon} · {round_.date} · pattern version {round_.pattern_version}")
        yield from _round(round_, base, found.unit)
    if give:
        yield from heading("What the rounds teach of this body")
    for station, one in give.items():
        used = "the next amount there allows for it" if one.used(base.settings) else "plain arithmetic stands"
        yield from wrapped(
            f"at the {station} {one.share:.2f} ± {one.sd:.2f} of a change shows in the gap; {used}", "  "
        )
    yield from heading("Pattern versions")
    steps = [*(step for round_ in found.rounds for step in round_.done), *found.done_since]
    for version in found.versions:
        own = [step for step in steps if step.version == version.number]
        yield from wrapped(_version(version, own, base), f"  {version.number}  ")
    if found.done_since:
        yield from wrapped(f"Done since the last try-on: {_steps(found.done_since, base)}.")


def _round(round_: HistoryRound, base: RuleBase, unit: Unit) -> Iterator[Said]:
    for how, done in step_words(round_, base):
        yield from wrapped(done, f"  {how} before it: ")
    if round_.went_back:
        taken_out = f", without: {_steps(round_.undone, base)}" if round_.undone else ""
        yield from wrapped(f"an older version was taken up again before it{taken_out}", "  ")
    flagged = any(station.flagged for station in round_.stations.values())
    if round_.stations:
        heads = ("at the", "gap", "aimed at", "foreseen", "in small", *([""] if flagged else []))
        yield from table(heads, _rows(round_, unit, flagged=flagged), 2)
    if flagged:
        yield from wrapped("! The gap missed what was foreseen by more than it should: look at the cause again.", "  ")
    for word, signs in (("came", round_.came), ("went", round_.went), ("not looked for", round_.not_looked_for)):
        looked_for = [s for s in signs if s in base.entries.symptoms and s not in base.derived]
        named = [base.entries.symptoms[s].title.lower() for s in looked_for]
        if named:
            yield from wrapped("; ".join(named), f"  {word}: ")
    for skipped in round_.skipped:
        title = round_.planned.get(skipped.step)
        what = f"{step_title(base.entries, title)} (step {skipped.step})" if title else f"step {skipped.step}"
        yield from wrapped(f"{what}: {skipped.why}", "  skipped after it: ")


def step_words(round_: HistoryRound, base: RuleBase) -> Iterator[tuple[str, str]]:
    """Each step of the plan before: how it was done (drawn, by hand, or not told), and its title."""
    for step in round_.done:
        how = "done by hand" if step.by_hand else "done"
        yield how, f"{drawn_title(step, base)} (step {step.step}, version {step.version})"
    for name, alteration in round_.left.items():
        yield "planned", f"{step_title(base.entries, alteration)} (step {name}): whether it was done was not told"


def _rows(round_: HistoryRound, unit: Unit, *, flagged: bool) -> Iterator[tuple[str, ...]]:
    for name, station in round_.stations.items():
        aimed, foreseen = _or_dash(station.target_mm, unit), _or_dash(station.predicted_mm, unit)
        figures = (in_first_unit(words) for words in (_gap(station, unit), aimed, foreseen))
        yield name, *figures, _in_small(station), *(["!" if station.flagged else ""] if flagged else [])


CELL_MM = INCH_MM / 4
MOST_CELLS = 16


def _in_small(station: HistoryStation) -> str:
    """The two lacing edges as they stand apart, a cell for a quarter of an inch, between colons where they should."""
    shown = [" "] * (MOST_CELLS + 2)
    for mark, mm in ((":", station.target_mm), ("|", station.gap_mm)):
        if mm is not None:
            cells = min(MOST_CELLS, max(0, round(mm / CELL_MM)))
            left = (MOST_CELLS - cells) // 2
            shown[left] = shown[left + cells + 1] = mark
    return "".join(shown).rstrip()


def _gap(station: HistoryStation, unit: Unit) -> str:
    return "closed" if station.at_least else gap_words(station.gap_mm, unit)


def _or_dash(value: float | None, unit: Unit) -> str:
    return "-" if value is None else both(value, unit)


def _steps(done: Sequence[StepDone], base: RuleBase) -> str:
    titles = ((one, lower_first(drawn_title(one, base)) if one.alteration else "") for one in done)
    return "; ".join(f"{title} (step {one.step})" if title else f"step {one.step}" for one, title in titles)


def _version(version: PatternVersion, done: Sequence[StepDone], base: RuleBase) -> str:
    """A version in her words: brought in, taken up again, or made from another by which steps."""
    if version.made_from is None:
        return f"{version.date}, as brought in"
    if version.done.back:
        return f"{version.date}, version {version.made_from} taken up again"
    steps = _steps([one for one in done if one.alteration], base)
    kinds = (OPERATIONS.get(str(operation.get("op"))) for operation in version.done.operations)
    drawn = dict.fromkeys(kind.called if kind else "a change" for kind in kinds)
    by = steps or f"by hand, {listed(list(drawn))}"
    return f"{version.date}, from version {version.made_from}: {by}"


def history_to_json(found: History, give: Mapping[Station, Give]) -> dict[str, Any]:
    """The history as data; lengths in mm."""
    return {
        "name": found.name,
        "tryons": [_round_json(round_) for round_ in found.rounds],
        "versions": [
            {"number": v.number, "made_from": v.made_from, "date": v.date, "back": v.done.back,
             "steps": list(v.done.steps), "operations": [dict(operation) for operation in v.done.operations]}
            for v in found.versions
        ],
        "newest": found.versions[-1].number,
        "give": {name: {"share": round(one.share, 3), "sd": round(one.sd, 3)} for name, one in give.items()},
    }  # fmt: skip


def _round_json(round_: HistoryRound) -> dict[str, Any]:
    return {
        "tryon": round_.tryon,
        "date": round_.date,
        "pattern_version": round_.pattern_version,
        "gap": to_builtins(round_.stations),
        "done": [
            {"step": s.step, "version": s.version, "alteration": s.alteration, "by_hand": s.by_hand}
            for s in round_.done
        ],
        "undone": [{"step": s.step, "version": s.version, "alteration": s.alteration} for s in round_.undone],
        "skipped": [
            {"step": s.step, "why": s.why, "alteration": round_.planned.get(s.step)} for s in round_.skipped
        ],
        "left": [{"step": step, "alteration": alteration} for step, alteration in round_.left.items()],
        "came": list(round_.came),
        "went": list(round_.went),
    }  # fmt: skip
