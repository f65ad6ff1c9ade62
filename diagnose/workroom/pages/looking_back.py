"""Versions side by side and over each other, going back, and the rounds as small pictures."""

from __future__ import annotations

from markupsafe import Markup
from starlette.responses import Response

from diagnose import casebook
from diagnose.casebook import HistoryRound
from diagnose.casework.learnt import give_shown
from diagnose.errors import FitError
from diagnose.model.stations import STATIONS
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.wording import step_title
from diagnose.units import both
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
    was_number = asked.number("was", now.made_from or 0)
    was = case.version(was_number) if 1 <= was_number <= newest.number and was_number != now.number else None
    sheet = drawn(now.pattern, was.pattern if was else None, case.unit)
    base = room.base(case)
    done = {v.number: _done_words(case, v, base) for v in case.versions}
    strip = [(version, strip_picture(version.pattern)) for version in case.versions]
    return html(page("versions.html.j2", title="Versions", case=case, here="versions", strip=strip, now=now, was=was,
                     sheet=sheet, done=done))  # fmt: skip


def _done_words(case: casebook.Case, version: casebook.PatternVersion, base: RuleBase) -> str:
    """What was done to get a version, in a line."""
    done = version.done
    if done.back:
        return f"version {version.made_from} again"
    if version.made_from is None:
        return "as it was brought in"
    if done.steps and done.tryon:
        planned = {str(s.get("id")): str(s.get("alteration")) for s in case.tryon(done.tryon).steps}
        titles = [step_title(base.entries, planned[step]) for step in done.steps if step in planned]
        return "; ".join(titles)
    return "by her own hand"


def back(room: Room, asked: Asked) -> Response:
    """Make an older version the newest again; nothing is taken away."""
    case = room.case(asked.path["case"])
    text = asked.one("version")
    if not (text.isascii() and text.isdecimal()):
        raise FitError.of("version", "No version is picked.", "Pick one of the strip.")
    with room.changing:
        casebook.back_to(case, int(text[:6]))
    return to("case", case.folder.name, "versions")


def rounds(room: Room, asked: Asked) -> Response:
    """The try-ons side by side: the gap and the signs from round to round, and what they teach of this body."""
    case = room.case(asked.path["case"])
    base = room.base(case)
    found = casebook.history(case, base.settings.mm("reopen-miss"))
    give = give_shown(case, base.settings)
    rows = [(one, _gap_of(one), _figures(one, case), _signs(one, room, case, base)) for one in found.rounds]
    teach = [
        f"At the {name} {100 * one.share:.0f} parts in 100 of a change show in the gap." for name, one in give.items()
    ]
    return html(page("rounds.html.j2", title="Rounds", case=case, here="rounds", rows=rows, teach=teach,
                     linked=room.terms(case).linked))  # fmt: skip


def _gap_of(one: HistoryRound) -> Markup:
    """The gap of a round: as read, as aimed at, as foreseen."""
    stations = {name: one.stations[name] for name in STATIONS if name in one.stations}
    return small_gap(
        {name: stations[name].gap_mm for name in stations},
        {name: s.target_mm for name, s in stations.items() if s.target_mm is not None},
        {name: s.predicted_mm for name, s in stations.items() if s.predicted_mm is not None},
    )


def _signs(
    one: HistoryRound, room: Room, case: casebook.Case, base: RuleBase
) -> list[tuple[str, list[tuple[str, Markup]]]]:
    """The signs that came, went and were not looked for: each with its title and its picture."""
    known = base.entries.symptoms
    told = (("Came", one.came), ("Gone", one.went), ("Not looked for", one.not_looked_for))
    named = [(word, [sign for sign in signs if sign in known]) for word, signs in told]
    return [
        (word, [(known[sign].title, room.sign_picture(case, known[sign])) for sign in signs])
        for word, signs in named if signs
    ]  # fmt: skip


def _figures(one: HistoryRound, case: casebook.Case) -> list[tuple[str, str, str, str]]:
    """Each station: read, aimed at, foreseen."""
    return [
        (
            name,
            "closed" if s.at_least else both(s.gap_mm, case.unit),
            "" if s.target_mm is None else both(s.target_mm, case.unit),
            "" if s.predicted_mm is None else both(s.predicted_mm, case.unit),
        )
        for name, s in one.stations.items()
    ]
