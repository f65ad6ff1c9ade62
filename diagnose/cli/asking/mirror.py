"""The try-on in the terminal: one question after the other, by plain lines; nothing here decides what is asked."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from msgspec import Struct

from diagnose.errors import FitError, Mistake
from diagnose.interview import Interview, Question, Value, Walk, doubt, read_reply, said
from diagnose.interview.body_places import Worn
from diagnose.interview.opening import STATION_NAMES
from diagnose.interview.signs import LATE
from diagnose.model.stations import STATIONS, Station
from diagnose.sheets.words.parts import Said, plain_lines, wrapped

__all__ = ["Mirror", "back_picture"]

BACK_ROWS: Mapping[Station, str] = {
    "top": r"   /``````|    |``````\   ",
    "underbust": r"  |       |    |       |  ",
    "waist": r"   \      |    |      /   ",
    "hip": r"   /      |    |      \   ",
    "bottom": r"  /_______|    |_______\  ",
}
GAP, ARROWS = "|    |", "|<-->|"
HELP_LINES = 17
"""What helps to pick is shown at once when it takes no more lines than this; else when she asks how."""

PROMPTS = {
    "yes-no": "y, n, ?", "length": "a length, ?", "minutes": "minutes, ?", "choice": "one number, ?",
    "several": "numbers like 1 3{picks}, ?",
}  # fmt: skip
COMMANDS = "why, how, back, list, stop"
OPENING = (
    "Answer in a word or a number. ? means that you can't tell, and is always a good answer. why says what a question "
    "is for, how says how to look or measure, back takes you one back, list shows your answers and lets you change "
    "any, stop ends it. Every answer is kept as you give it."
)


class Mirror(Struct):
    """A try-on held by lines.

    Attributes:
        interview: what decides on the questions.
        replies: hers so far, by question, in order; added to.
        put: shows lines; take: waits for a line after a prompt.
        keep: called after each reply with all of them, and the answers they come to.
        comes: what comes of it in the end, and after a stop.
        kept: whether the answers may be left for another time.
    """

    interview: Interview
    replies: dict[str, Value]
    put: Callable[[Iterable[Said]], None]
    take: Callable[[str], str]
    keep: Callable[[Mapping[str, Value], Mapping[str, Any]], None]
    comes: str = "the plan"
    kept: bool = True

    def hold(self) -> Walk | None:
        """Ask until there is nothing left to ask; None when she leaves and the answers are only kept."""
        if not self.replies:
            self.put(["", *wrapped(OPENING)])
        at: str | None = None
        while True:
            walk = self.interview.walk(self.replies)
            question = (walk.question(at) if at else None) or walk.next
            if question is None:
                at = self._looked_over(walk)
                if at is None:
                    return walk
            elif (way := self._put(question, walk)) is not None:
                if way == LEAVE:
                    return None
                if way == FINISH:
                    return walk
                at = way
            else:
                at = None

    def _put(self, question: Question, walk: Walk) -> str | None:
        """Ask one question until it has a reply (None), or she goes elsewhere (the question's id, or a way out)."""
        answered = walk.replies
        self.put(self._question_lines(question, walk, answered))
        while True:
            text = self.take("> ").strip()
            word = text.casefold()
            if word in ("why", "how", "help"):
                self.put(_more(question, word))
            elif word == "back":
                before = walk.before(question.id)
                if before is not None:
                    return before.id
                self.put(["This is the first question."])
            elif word == "list":
                return self._list(walk) or question.id
            elif word == "stop":
                return self._stop(question)
            elif (not text and question.id in answered) or self._taken(question, text):
                return None

    def _taken(self, question: Question, text: str) -> bool:
        """Keep her reply; what is none is explained, and asked again."""
        unit = self.interview.known.unit
        if question.kind == "several" and text.casefold() in ("y", "yes"):
            self.put(["Which? Type their numbers, like 1 3."])
            return False
        try:
            value = read_reply(question, text, unit)
        except FitError as error:
            self.put(line for mistake in error.mistakes for line in wrapped(str(mistake)))
            return False
        self.replies[question.id] = value
        self.keep(self.replies, self.interview.answers(self.replies))
        unsure = doubt(question, value, unit)
        if unsure:
            self.put(wrapped(f"({unsure} back corrects it.)"))
        return True

    def _question_lines(self, question: Question, walk: Walk, answered: Mapping[str, Value]) -> Iterator[Said]:
        unit = self.interview.known.unit
        number, most = walk.number(question), walk.how_many(question)
        yield ""
        if question.group and question.group != self._told_group(walk, question):
            yield from wrapped(_GROUP_TOLD[question.worn or "on"])
            yield ""
        of = f"of {most} at the most" if question.part in LATE else f"of about {most}"
        yield f"--- {question.heading} --- question {number} {of}"
        if question.station is not None:
            yield ""
            yield from self._picture(question, walk)
        yield ""
        yield from wrapped(question.text)
        yield from _options(question)
        if question.last is not None and question.id not in answered:
            yield f"  (Last time: {said(question, question.last, unit)}.)"
        if question.id in answered:
            yield from wrapped(f"You said: {said(question, answered[question.id], unit)}. Enter keeps it.", "  ")
        yield from wrapped(f"[{_prompt(question)} | {COMMANDS}]")

    def _told_group(self, walk: Walk, question: Question) -> str:
        """The group of the question before this one; nothing where it is the first."""
        before = walk.before(question.id)
        return before.group if before else ""

    def _picture(self, question: Question, walk: Walk) -> tuple[str, ...]:
        unit, kind = self.interview.known.unit, question.id.partition(".")[0]
        read = {
            q.station: said(q, value, unit)
            for q, value in walk.answered
            if q.station is not None and q.id.startswith(f"{kind}.")
        }
        laps = {q.about: said(q, value, unit) for q, value in walk.answered if q.id.startswith("lap.")}
        read |= {station: f"closed, laps {laps[station]}" for station in read if station in laps}
        here = question.station or STATIONS[0]
        return back_picture(here, self.interview.known.stations, read)

    def _list(self, walk: Walk) -> str | None:
        """Show the answers so far; the id of the one that she wants to change."""
        unit = self.interview.known.unit
        for number, (question, value) in enumerate(walk.answered, 1):
            self.put(wrapped(f"{question.text} {said(question, value, unit)}", f"{number:4}  "))
        if not walk.answered:
            self.put(["Nothing is answered yet."])
            return None
        text = self.take("Which one do you want to change? (its number, or Enter to go on) > ").strip()
        while text:
            if text.isascii() and text.isdigit() and 1 <= int(text) <= len(walk.answered):
                return walk.answered[int(text) - 1][0].id
            self.put([f"There is no such number; they go from 1 to {len(walk.answered)}."])
            text = self.take("> ").strip()
        return None

    def _stop(self, question: Question) -> str:
        later = "keep the answers and go on another time (k), " if self.kept else ""
        self.put(wrapped(
            f"You can have {self.comes} from what you have said so far (p), {later}or go on now (Enter)."
        ))  # fmt: skip
        word = self.take("> ").strip().casefold()
        leave = LEAVE if self.kept else question.id
        return {"p": FINISH, "plan": FINISH, "k": leave, "keep": leave, "stop": leave}.get(word, question.id)

    def _looked_over(self, walk: Walk) -> str | None:
        """Before the plan: the id of an answer to change, or None to go on. With a stop flag nothing waits."""
        if walk.stop:
            return None
        self.put(["", *_trouble(walk.trouble)])
        if walk.trouble:
            return self._list(walk)
        self.put(wrapped(f"That is all that is needed. Enter for {self.comes}, or list to look it over."))
        word = self.take("> ").strip().casefold()
        if word == "back":
            last = walk.before("")
            return last.id if last else None
        return self._list(walk) if word == "list" else None


LEAVE, FINISH = "<leave>", "<finish>"
_GROUP_TOLD: Mapping[Worn, str] = {
    "on": "First comes all that is seen while it is on. It need not come off before you are told.",
    "off": "All that is seen while it is on is answered: it may come off now.",
    "again": "What is left can only be told when it is put on again, another time: ? passes it over.",
}  # fmt: skip


def _trouble(trouble: Iterable[Mistake]) -> Iterator[Said]:
    for mistake in trouble:
        yield from wrapped(f"These answers can't be worked out yet. {mistake}")


def _options(question: Question) -> Iterator[Said]:
    numbered = question.kind in ("choice", "several")
    short = [
        [*wrapped(one.text, f"{number:4}  " if numbered else "   -  ")]
        for number, one in enumerate(question.options, 1)
    ]
    helps = [[*wrapped(one.help, "        ")] if one.help and numbered else [] for one in question.options]
    both = [part for pair in zip(short, helps, strict=True) for part in (*pair[0], *pair[1])]
    room = len([*plain_lines(both)]) <= HELP_LINES
    yield from both if room else (part for one in short for part in one)


def _prompt(question: Question) -> str:
    said = (("n", question.none), ("all", question.every))
    return PROMPTS[question.kind].format(picks="".join(f", {word} = {meaning}" for word, meaning in said if meaning))


def _more(question: Question, word: str) -> Iterator[Said]:
    if word == "help":
        yield from wrapped(OPENING)
    elif word == "why":
        yield from wrapped(question.why)
    else:
        for number, option in enumerate(question.options, 1):
            if option.help:
                yield from wrapped(f"{_bare(option.text)}: {option.help}", f"{number:4}  ")
        if question.how:
            yield from wrapped(question.how)
        elif not any(option.help for option in question.options):
            yield "There is no more to say on how; if you can't tell, type ?."


def _bare(text: str) -> str:
    return re.sub(r"[?.]$", "", text)


def back_picture(here: Station, stations: Sequence[Station], readings: Mapping[Station, str]) -> tuple[str, ...]:
    """The laced back, seen from behind, a line a height.

    Args:
        here: the station asked for, marked with arrows.
        stations: those that are read; only they are named.
        readings: what has been read so far, in words.
    """
    lines = []
    for station, row in BACK_ROWS.items():
        named = STATION_NAMES[station] if station in stations else ""
        drawn = row.replace(GAP, ARROWS) if station == here else row
        read = readings.get(station, "<- measure here" if station == here else "")
        lines.append(f"  {named:>11} {drawn} {read}".rstrip())
    return tuple(lines)
