"""What findings, causes and amounts are called on a sheet: words only, no judgement of its own."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, TypeVar, cast

from msgspec.structs import replace

from diagnose.model.diagnosis import Amount, Evidence, Side
from diagnose.model.stations import STATIONS
from diagnose.model.tryon import GRADE_WORDS, Garment, Seen, TryOn
from diagnose.plan.planned import StepPlan
from diagnose.rulebase.reading.entries import Ways
from diagnose.rulebase.reading.schema import RuleSet
from diagnose.sentences import lower_first
from diagnose.sheets.view_model import OnSheet
from diagnose.sheets.words.gap_text import in_or_out
from diagnose.units import Unit, both

__all__ = [
    "NEARLY", "amount_rows", "big_figure", "cause_title", "chance_words", "each_text", "evidence_words", "filled",
    "finding_title", "garment_words", "half_words", "halves_words", "how_strong", "how_sure", "in_first_unit",
    "parts_figure", "parts_rows", "question_words", "said_once", "seen_words", "side_words", "step_title",
    "way_title",
]  # fmt: skip

SURE = ((0.9, "almost sure"), (0.7, "likely"), (0.5, "more likely than not"), (0.25, "possible"), (0.0, "not likely"))
NEARLY = (
    "So many findings hang together here that these chances are worked out nearly, not exactly: where two causes lie "
    "close, do not go by which stands first."
)
"""Said wherever chances are shown that are not exact."""
STRONG = ((10.0, "very strongly"), (4.0, "strongly"), (2.0, "plainly"), (0.0, "a little"))


def how_sure(probability: float) -> str:
    """The probability of a cause in words."""
    return next(words for least, words in SURE if probability >= least)


def chance_words(probability: float) -> str:
    """The probability of a cause as so many times in a hundred; never as none or all."""
    often = round(100 * probability)
    return f"{'under 1' if often < 1 else 'over 99' if often > 99 else often} in 100"


def how_strong(weight: float) -> str:
    """How strongly a finding speaks, from the factor by which it moves the odds."""
    return next(words for least, words in STRONG if weight >= least)


def side_words(side: Side) -> str:
    """The side where it is only one."""
    return "" if side == "both" else f"{side} side"


def half_words(side: Side) -> str:
    """Where what is done to a half is done."""
    return "on each half" if side == "both" else f"on the {side} half"


def finding_title(rules: RuleSet, finding: str) -> str:
    """A sign, or a question with its answer, in words."""
    name, _, answer = finding.partition("=")
    if answer and name in rules.questions:
        return f"{rules.questions[name].ask} {answer.capitalize()}."
    return rules.symptoms[name].title if name in rules.symptoms else name.replace("-", " ")


def cause_title(rules: RuleSet, cause: str) -> str:
    """The cause in words."""
    return rules.causes[cause].title if cause in rules.causes else cause.replace("-", " ")


def step_title(rules: RuleSet, alteration: str) -> str:
    """The alteration in words."""
    entry = rules.alterations.get(alteration)
    return entry.title if entry else alteration.replace("-", " ").capitalize()


def way_title(rules: RuleSet, way: str) -> str:
    """A way as it is asked for, in words: shared between places, with the share of each."""
    parts = [(step_title(rules, name), share) for name, _, share in (word.partition(":") for word in way.split("+"))]
    said = [f"{title} ({share})" if share else title for title, share in parts]
    return " and ".join([said[0], *map(lower_first, said[1:])])


def evidence_words(rules: RuleSet, evidence: Evidence) -> str:
    """The finding in words; one that was looked for and is absent says so."""
    title = finding_title(rules, evidence.as_given)
    return f"Not there: {lower_first(title)}" if evidence.absent and "=" not in evidence.finding else title


def question_words(rules: RuleSet, question: str, answer: bool) -> str:
    """An answered question in words."""
    asked = rules.questions[question].ask if question in rules.questions else question.replace("-", " ")
    return f"{asked} {'Yes' if answer else 'No'}."


def seen_words(rules: RuleSet, name: str, seen: Seen | None, unit: Unit) -> str:
    """A sign with how bad it is and the number recorded with it."""
    title, more = finding_title(rules, name), list[str]()
    if seen is not None and seen.grade:
        more.append(GRADE_WORDS[seen.grade])
    if seen is not None and isinstance(seen.amount, int | float) and not isinstance(seen.amount, bool):
        kind = rules.symptoms[name].record.amount if name in rules.symptoms else "length"
        more.append(both(seen.amount, unit) if kind == "length" else f"{seen.amount:g} {kind}".removesuffix(" none"))
    return f"{title}: {', '.join(more)}" if more else title


def garment_words(tryon: TryOn) -> str:
    """What was tried on, as far as it is known."""
    g = tryon.garment
    words: list[str] = [g.style or "garment"]
    words += [f"{g.boning} boning" if g.boning in ("no", "part", "full") else "no boning" if g.boning == "none" else ""]
    words += [f"{g.straps} straps" if g.straps not in (None, "none") else "no straps" if g.straps else ""]
    words += [f"{g.tabs} tabs" if g.tabs not in (None, "none") else ""]
    words += [f"{g.busk} busk" if g.busk not in (None, "none") else ""]
    words += [_GUSSETS.get(g.gussets or "", ""), "stomacher" if g.stomacher else "", "sleeves" if g.sleeves else ""]
    words += ["suspenders" if g.suspenders else "", "waist stay" if g.waist_stay else ""]
    words += [_closed(g)]
    return ", ".join(word for word in words if word)


_GUSSETS = {"bust": "bust gussets", "hip": "hip gores", "both": "gussets at bust and hip"}


def _closed(garment: Garment) -> str:
    """Where and how it closes."""
    if garment.closure is None:
        return ""
    if garment.fastening in ("hooks", "buttons"):
        where = "front and back" if garment.closure == "both" else f"at the {garment.closure}"
        return f"{garment.fastening} {where}"
    return "laced front and back" if garment.closure == "both" else f"{garment.closure} lacing"


def big_figure(amount: Amount, unit: Unit, ways: Ways | None = None, *, side: Side = "both") -> tuple[str, str]:
    """The one figure to work with, and what is done with it and where; empty where the step has no amount."""
    if amount.length_mm is not None:
        way = (ways.more if amount.length_mm > 0 else ways.less) if ways else ""
        return both(abs(amount.length_mm), unit), f"to {way}" if way else ""
    for much, where in (
        (amount.per_edge_mm, "on each stitching line"),
        (amount.per_half_mm, half_words(side)),
        (amount.whole_mm, "of the whole girth"),
    ):
        if much:
            return both(abs(much), unit), f"to {in_or_out(much)} {where}"
    return "", ""


def amount_rows(amount: Amount, unit: Unit, side: Side = "both") -> tuple[tuple[str, str], ...]:
    """The change of a half at each station, where it differs from place to place; one side alone takes all of it."""
    by = [(station, amount.by_station_mm[station]) for station in STATIONS if station in amount.by_station_mm]
    if len({round(whole, 2) for _, whole in by}) < 2:
        return ()
    halves = 2.0 if side == "both" else 1.0
    return tuple((station, _in_or_out(whole / halves, unit)) for station, whole in by)


def parts_figure(step: StepPlan, unit: Unit) -> tuple[str, str]:
    """The greatest change of a half, and where, for a step that answers front and back each for itself."""
    most = max((abs(mm) for by in step.parts.values() for mm in by.values()), default=0.0)
    return both(most / 2.0, unit), "at most on each half, front and back apart"


def parts_rows(step: StepPlan, unit: Unit) -> tuple[tuple[str, str], ...]:
    """What front and back of a half are each changed by at every station, for a step that answers them apart."""
    stations = [station for station in STATIONS if station in step.amount.by_station_mm]
    halves = {part: {s: mm / 2.0 for s, mm in by.items()} for part, by in step.parts.items()}
    return tuple(
        (station, ", ".join(f"{part} {_in_or_out(by[station], unit)}" for part, by in halves.items() if station in by))
        for station in stations
    )


def halves_words(steps: Sequence[StepPlan], unit: Unit) -> dict[str, str]:
    """What the steps together do to each half at every station; nothing where that is the same, or one side's alone."""
    apart = [step for step in steps if step.parts]
    if apart:
        rest = halves_words([step for step in steps if not step.parts], unit)
        rows = [(station, said) for step in apart for station, said in parts_rows(step, unit)]
        return {station: "; ".join(filter(None, (rest.get(station), said))) for station, said in rows}
    by_station = {station for step in steps for station in step.amount.by_station_mm}
    if any(step.side != "both" and step.amount.whole_mm for step in steps):
        return {}
    whole = {
        station: sum(step.amount.by_station_mm.get(station, _everywhere(step.amount)) for step in steps)
        for station in by_station
    }
    return dict(amount_rows(Amount(by_station_mm=whole), unit))


def _everywhere(amount: Amount) -> float:
    """What is done at a station that the amount does not name: the whole of it where it names none."""
    return 0.0 if amount.by_station_mm else amount.whole_mm or 0.0


def _in_or_out(much_mm: float, unit: Unit) -> str:
    said = both(abs(much_mm), unit)
    return "nothing" if NOTHING.match(said) else f"{in_or_out(much_mm)} {said}"


def filled(sentences: Iterable[str], amount: Amount, unit: Unit) -> tuple[str, ...]:
    """The rule's own ruler-and-pencil sentences with the figures of an amount in them."""
    parts = {
        "amount": amount.length_mm if amount.length_mm is not None else amount.whole_mm, "half": amount.per_half_mm,
        "seam": amount.per_seam_mm, "edge": amount.per_edge_mm,
    }  # fmt: skip
    said = {name: both(abs(mm), unit) if mm is not None else "the amount" for name, mm in parts.items()}
    return tuple(_filled(sentence, said) for sentence in sentences)


def _filled(sentence: str, said: dict[str, str]) -> str:
    for name, words in said.items():
        sentence = sentence.replace(f"{{{name}}}", words)
    return sentence


NOTHING = re.compile(r"0(\.0)?\s")
"""A length that her ruler does not show."""

BESIDE = re.compile(r"\s\([\d.]+\smm\)")


def in_first_unit(text: str) -> str:
    """Figures in inches without the millimetres beside, where there is little room."""
    return BESIDE.sub("", text)


def said_once(lines: Iterable[str]) -> Iterator[str]:
    """The lines in order, those that begin with the same words before a colon made one, and none twice."""
    ends: dict[str, dict[str, None]] = {}
    for line in lines:
        head, colon, end = line.partition(": ")
        ends.setdefault(head + colon, {})[end] = None
    for head, own in ends.items():
        *others, last = own
        yield head + "; ".join([*(one.removesuffix(".") for one in others), last])


Told = TypeVar("Told")


def each_text(value: Told, change: Callable[[str], str]) -> Told:
    """What a sheet shows with each of its texts changed; drawings and figures stay as they are."""
    changed: Any = value
    if isinstance(value, str):
        changed = change(value)
    elif isinstance(value, tuple):
        changed = tuple(each_text(one, change) for one in value)
    elif isinstance(value, OnSheet):
        names = type(value).__struct_fields__
        changed = replace(value, **{name: each_text(getattr(value, name), change) for name in names})
    return cast(Told, changed)
