"""Versions side by side and over each other, going back, and the rounds as small pictures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from markupsafe import Markup
from msgspec import Struct
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import HistoryRound
from diagnose.casebook.jsonfile import table
from diagnose.casebook.readings import signs
from diagnose.casework.glance import as_told
from diagnose.casework.learnt import give_shown
from diagnose.errors import FitError
from diagnose.model.stations import STATIONS, Station
from diagnose.model.tryon import GRADE_WORDS
from diagnose.plan.give import Give
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.gap_text import gap_words
from diagnose.sheets.words.ways_text import drawn_title
from diagnose.units import INCH_MM, Unit, both, short
from diagnose.workroom.asked import Asked, html, to
from diagnose.workroom.drawings import drawn, strip_picture
from diagnose.workroom.pages.gap_view import small_gap
from diagnose.workroom.room import Room
from diagnose.workroom.views import page

__all__ = ["back", "rounds", "versions"]


def versions(room: Room, asked: Asked) -> Response:
    """All versions as a strip, and two of them laid over each other."""
    case = room.case(asked.path["case"])
    newest = case.newest
    now = case.version(min(asked.number("now", newest.number), newest.number))
    before = now.number - 1 if now.done.back else now.made_from or 0
    was_number = asked.number("was", before)
    was = case.version(was_number) if 1 <= was_number <= newest.number and was_number != now.number else None
    sheet = drawn(now.pattern, was.pattern if was else None, case.unit, screen=asked.screen)
    base = room.base(case)
    done = {v.number: _done_words(case, v, base) for v in case.versions}
    strip = [(version, strip_picture(version.pattern)) for version in case.versions]
    return html(page("versions.html.j2", title="Versions", case=case, here="versions", strip=strip, now=now, was=was,
                     sheet=sheet, done=done, before=before, linked=room.terms(case).linked))  # fmt: skip


def _done_words(case: casebook.Case, version: casebook.PatternVersion, base: RuleBase) -> str:
    """What was done to get a version, in a line."""
    done = version.done
    if done.back:
        return f"version {version.made_from} again"
    if version.made_from is None:
        return "as it was brought in"
    if done.steps and done.tryon:
        made_from = case.version(version.made_from)
        return "; ".join(drawn_title(step, base) for step in casebook.steps_beyond(case, version, made_from))
    return "by your own hand"


def back(room: Room, asked: Asked) -> Response:
    """Make an older version the newest again; nothing is taken away."""
    case = room.case(asked.path["case"])
    text = asked.one("version")
    if not (text.isascii() and text.isdecimal()):
        raise FitError.of("version", "No version is picked.", "Pick one of the strip.", code="nothing-picked")
    with room.changing:
        casebook.back_to(case, int(text[:6]))
    return to("case", case.folder.name, "versions")


class RoundOnPage(Struct, frozen=True):
    """One try-on as a column of the page.

    Attributes:
        of: what the casebook says of it; gap: the lacing edges as a small picture.
        done: what was done to the pattern since the one before.
        read, foreseen: the gap in words, by station; missed: the stations where it came out otherwise than foreseen.
        signs: those looked for, and whether each was there; more: on which side, how bad or how much.
    """

    of: HistoryRound
    gap: Markup
    done: tuple[str, ...]
    read: Mapping[str, str]
    foreseen: Mapping[str, str]
    missed: frozenset[str]
    signs: Mapping[str, bool]
    more: Mapping[str, str]


def rounds(room: Room, asked: Asked) -> Response:
    """The try-ons side by side: the gap and each sign from round to round, and what they teach of this body."""
    case = room.case(asked.path["case"])
    base = room.base(case)
    found = casebook.history(case, base.settings.mm("reopen-miss"))
    shown = [_on_page(one, case, base) for one in found.rounds]
    told = [name for name in STATIONS if any(name in one.read for one in shown)]
    known = base.entries.symptoms
    seen = dict.fromkeys(name for one in shown for name, there in one.signs.items() if there and name in known)
    give = give_shown(case, found.rounds, base.settings)
    return html(page(
        "rounds.html.j2", title="Rounds", case=case, here="rounds", rounds=shown,
        stations=[(name, _aimed(found.rounds, name, case.unit)) for name in told],
        signs=[(name, known[name].title, room.sign_picture(case, known[name])) for name in seen],
        teach=[_taught(name, one, case.unit, base=base) for name, one in give.items()], linked=room.terms(case).linked,
    ))  # fmt: skip


def _on_page(one: HistoryRound, case: casebook.Case, base: RuleBase) -> RoundOnPage:
    stored = case.tryon(one.tryon)
    stations = {name: one.stations[name] for name in STATIONS if name in one.stations}
    foreseen_mm = {name: s.predicted_mm for name, s in stations.items() if s.predicted_mm is not None}
    picture = small_gap(
        {name: stations[name].gap_mm for name in stations},
        {name: s.target_mm for name, s in stations.items() if s.target_mm is not None}, foreseen_mm, unit=case.unit,
    ) if stations else Markup()  # fmt: skip
    done = tuple(drawn_title(step, base) for step in one.done if step.alteration)
    back = ("an older version, taken up again",) if one.went_back else ()
    by_hand = () if done or back or one.tryon == 1 or one.pattern_version == 1 else ("by your own hand, or nothing",)
    return RoundOnPage(
        of=one, gap=picture, done=(*back, *done) or by_hand,
        read={name: "closed" if s.at_least else gap_words(s.gap_mm, case.unit) for name, s in stations.items()},
        foreseen={name: gap_words(mm, case.unit) for name, mm in foreseen_mm.items()},
        missed=frozenset(name for name, s in stations.items() if s.flagged), signs=signs(stored),
        more={name: _more(said, base.entries.symptoms[name].record.amount, case.unit)
              for name, said in table(stored.answers.get("seen")).items() if name in base.entries.symptoms},
    )  # fmt: skip


def _more(said: object, kind: str, unit: Unit) -> str:
    """What was told of a sign beside that it is there: its side, how bad it is, or how much."""
    told = table(said)
    side, grade, amount = told.get("side"), told.get("grade"), told.get("amount")
    words = [side if side in ("left", "right") else "", GRADE_WORDS.get(grade, "") if isinstance(grade, int) else ""]
    much = "" if amount is None else as_told(amount, unit) if kind == "length" else f"{amount} {kind}"
    return ", ".join(filter(None, [*words, much]))


def _aimed(rounds: Sequence[HistoryRound], name: Station, unit: Unit) -> str:
    """What was aimed at there, last."""
    told = [one.stations[name].target_mm for one in rounds if name in one.stations]
    last = next((mm for mm in reversed(told) if mm is not None), None)
    return "" if last is None else both(last, unit)


def _taught(name: Station, give: Give, unit: Unit, base: RuleBase) -> str:
    """How much of what is altered at a station shows in her gap there."""
    whole_mm = INCH_MM if unit == "in" else 10.0
    used = "the next plan reckons with it" if give.used(base.settings) else "no surer yet than plain reckoning"
    shows = both(give.share * whole_mm, unit)
    return f"At the {name}, of {short(whole_mm, unit)} altered {shows} shows in the gap: {used}."
