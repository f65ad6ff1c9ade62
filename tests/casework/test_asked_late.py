"""The late questions of a try-on under way are those of the whole diagnosis, and nothing is drawn twice for them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.under_way import interview_for
from diagnose.casework.working import work_out
from diagnose.pattern.kept import OfLate
from diagnose.plan import drawing

COUNTS = {"singer": 1, "dancer": 3, "apprentice": 4}
ROUNDS = [(name, number) for name, count in COUNTS.items() for number in range(count)]


@pytest.mark.parametrize(("name", "number"), ROUNDS)
def test_what_is_asked_late_is_what_the_whole_diagnosis_asks(tmp_path: Path, name: str, number: int) -> None:
    bundled = bundled_case(name)
    case = casebook.create(tmp_path / name, bundled.pattern, **bundled.about)
    answers: dict[str, Any] = dict(bundled.rounds[number].answers)
    ask = interview_for(case).ask
    for seen in (answers.get("seen", {}), {}):
        answers["seen"] = seen
        assert ask(answers) == work_out(case, answers, 1).diagnosis.ask


def test_while_the_same_is_wanted_it_is_drawn_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bundled = bundled_case("dancer")
    case = casebook.create(tmp_path / "dancer", bundled.pattern, **bundled.about)
    answers: Mapping[str, Any] = dict(bundled.rounds[0].answers)
    drawn: list[object] = []
    whole = drawing._draw

    def counted(*args: Any) -> Any:
        drawn.append(args)
        return whole(*args)

    monkeypatch.setattr(drawing, "_OF_LATE", OfLate(100))
    monkeypatch.setattr(drawing, "_draw", counted)
    ask = interview_for(case).ask
    ask(answers)
    first = len(drawn)
    assert first > 0
    ask({**answers, "known": {**answers.get("known", {}), "bones-stay-bent": False}})
    assert len(drawn) == first
    ask({**answers, "gap": {**answers["gap"], "bottom": "3 1/2 in"}})
    assert len(drawn) > first
