"""What the pages work on: the folder of her cases, each opened anew for each page, and the try-ons worked out of late.

Pages are made in several threads. The engine belongs to the thread that made it, so all that needs it is done in one
thread of its own; a reply is kept while the room's lock is held, so that two devices at once lose none.
"""

from __future__ import annotations

import gc
import os
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from markupsafe import Markup

from diagnose import casebook
from diagnose.casebook import Case
from diagnose.casebook.layout import CASE_NAME
from diagnose.errors import FitError, Mistake, one_line
from diagnose.model.standing import standing
from diagnose.workroom.views import Terms

if TYPE_CHECKING:
    from diagnose.casework.working import WorkedOut
    from diagnose.interview import Interview, Value, Walk
    from diagnose.rulebase.base import RuleBase
    from diagnose.rulebase.reading.entries import Symptom

__all__ = ["NoSuchPageError", "Room", "UnsoundCaseError"]

MOST_KEPT = 200
LOOKS_S = 0.3
LEAST_TITLE = 6
"""Titles shorter than this are words of every day, and would be linked where they mean nothing."""
T = TypeVar("T")


class NoSuchPageError(Exception):
    """There is nothing at an address."""


class UnsoundCaseError(Exception):
    """The files of a case are not sound, so that none of its pages can be shown."""

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        super().__init__()
        self.mistakes = mistakes


class Room:
    """Her cases, and what was worked out of them.

    Args:
        folder: the folder that her cases stand in.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.changing = threading.RLock()
        self._engine = ThreadPoolExecutor(1, "engine")
        self._kept: OrderedDict[Hashable, tuple[object, object]] = OrderedDict()
        self._keeping = threading.Lock()
        self._warm, self._looked = False, 0.0
        self.loads: list[Callable[[], None]] = [_load_rules]
        """What loads all that the next pages need."""

    def case(self, name: str) -> Case:
        """The case of a folder's name.

        Raises:
            NoSuchPageError: when there is none.
            UnsoundCaseError: when its files are not sound.
        """
        if name.startswith(".") or "/" in name or "\\" in name or "\0" in name:
            raise NoSuchPageError
        if not os.path.isfile(self.folder / name / CASE_NAME):  # no, too, where the name is too long for any folder
            raise NoSuchPageError(
                f"No case stands in a folder “{one_line(name, 60)}”. It may have been taken away or renamed; look "
                "among your cases."
            )
        try:
            return casebook.open_case(self.folder / name)
        except FitError as error:
            raise UnsoundCaseError(error.mistakes) from None

    def base(self, case: Case) -> RuleBase:
        """The rule base under the case's settings."""
        from diagnose.casework.working import base_for

        return base_for(case)

    def usual_base(self) -> RuleBase:
        """The rule base under the usual settings."""
        from diagnose.casework.working import usual_base

        return usual_base()

    def terms(self, case: Case) -> Terms:
        """The titles that lead to their entries of the handbook."""
        from diagnose.sheets.entry_pages import page_of

        titles = (
            (entry.title, page_of(kind, entry.id))
            for kind, of_kind in self.base(case).entries.by_kind.items()
            for entry in of_kind.values()
        )
        return self.kept(
            ("terms", self.base(case).digest),
            lambda: Terms({title: place for title, place in titles if len(title) >= LEAST_TITLE}),
        )

    def sign_picture(self, case: Case, sign: Symptom) -> Markup:
        """The picture of a sign on the case's kind of garment; nothing where the rule draws none."""
        from diagnose.sheets.writers.svg import sign_svg

        style = str(case.garment.get("style", "")) or None
        return self.kept(("sign", sign.id, style), lambda: sign_svg(sign, style))

    def worked(self, case: Case, number: int, ways: Mapping[str, str] | None = None) -> WorkedOut:
        """A stored try-on of the case worked out, on the version it was of.

        Args:
            case: the case; number: of the try-on.
            ways: for a step by its id, the way she asks for instead of the first.

        Raises:
            FitError: when there is none, or it can't be worked out.
        """
        from diagnose.casework.working import work_out_stored

        key = _worked_key(case, number, ways)
        return self.kept(key, lambda: work_out_stored(case, case.tryon(number), ways), engine=True)

    def store_tryon(self, case: Case, answers: Mapping[str, object]) -> None:
        """Store a try-on with its plan; what was worked out for it is at hand for the page of the plan."""
        from diagnose.casework.working import store_tryon

        worked = self.work(lambda: store_tryon(case.folder, answers))
        self.kept(_worked_key(worked.case, worked.number, {}), lambda: worked)

    def interview(self, case: Case) -> Interview:
        """The interview of the case's next try-on; what it asks the engine is asked in the engine's thread."""
        from diagnose.casework.under_way import interview_for

        key = ("interview", case.folder.name, case.created, len(case.tryons), case.newest.number, _about(case))
        return self.kept(key, lambda: interview_for(case))

    def walk(self, case: Case, replies: dict[str, Value]) -> Walk:
        """Where the next try-on stands with these replies."""
        interview = self.interview(case)
        key = ("walk", repr(list(replies.items())))
        return self.kept(key, lambda: interview.walk(replies), of=interview, engine=True)

    def kept(self, key: Hashable, make: Callable[[], T], *, of: object = None, engine: bool = False) -> T:
        """What was made under a key before, or else is made now; the last few are kept.

        Args:
            key: what it depends on, whole.
            make: makes it.
            of: a value that it depends on besides, which can't stand in a key: that very one.
            engine: make it in the engine's thread.
        """
        key = (key, id(of))
        with self._keeping:
            if key in self._kept and self._kept[key][0] is of:
                self._kept.move_to_end(key)
                return self._kept[key][1]  # type: ignore[return-value]
        if engine:
            made = self._engine.submit(make).result()
            self._engine.submit(_settled)
        else:
            made = make()
        with self._keeping:
            self._kept[key] = (of, made)
            while len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        return made

    def work(self, make: Callable[[], T]) -> T:
        """What is made in the engine's thread, and not kept."""
        return self._engine.submit(make).result()

    def warm(self) -> None:
        """Load what the other pages need, once, while she looks at the first page."""
        self._looked = time.monotonic()
        if not self._warm:
            self._warm = True
            self._engine.submit(self._load)

    def _load(self) -> None:
        for load in self.loads:
            while (left := self._looked + LOOKS_S - time.monotonic()) > 0.0:  # her cases go first, however often sought
                time.sleep(left)
            load()
        _settled()

    def close(self) -> None:
        """End the engine's thread."""
        self._engine.shutdown(wait=False, cancel_futures=True)


def _worked_key(case: Case, number: int, ways: Mapping[str, str] | None) -> Hashable:
    """What a try-on worked out depends on: a version is never changed once it is stored, and neither are answers."""
    stored = case.tryon(number)
    # What was drawn since, in which way, stands in the versions.
    told = repr((stored.answers, dict(ways or {}), _about(case), case.newest.number))
    return "worked", case.folder.name, case.created, number, stored.pattern_version, told


def _about(case: Case) -> str:
    """What the case and the maker say, which they may say otherwise later."""
    return repr((case.garment, case.wearer, case.target, case.settings, standing().values))


def _load_rules() -> None:
    from diagnose.casework.working import warmed

    warmed()


def _settled() -> None:
    """What stands now is not looked through again for what could be thrown away: that would be a pause of half a second
    in the middle of an answer. All of it is let go by itself when it is kept no more.
    """
    gc.collect()
    gc.freeze()
