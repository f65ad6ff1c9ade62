"""Any order of changes: what is read is what was done, older files never change, and all can be done over again."""

import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule
from invented_case import altered, narrower, plan, started, state_of
from replaying import replay

from diagnose.casebook import (
    add_measuring,
    add_tryon,
    add_version,
    back_to,
    history,
    load_draft,
    note_skipped,
    open_case,
    save_draft,
)
from diagnose.pattern.measure import garment_girth

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=6,
)


class Casebook(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp()) / "lydia"
        self.case = started(self.folder)
        self.widths = [200.0]
        self.answers: list[Any] = []
        self.draft: Any = None
        self.kept: dict[str, str] = {}

    def teardown(self) -> None:
        shutil.rmtree(self.folder.parent)

    @rule(by_mm=st.floats(-2.0, 2.0), steps=st.lists(st.sampled_from(["1.1", "1.2"]), unique=True))
    def add_version(self, by_mm: float, steps: list[str]) -> None:
        by_mm = round(by_mm, 3)
        number = self.case.newest.number
        self.case = add_version(self.case, altered(self.case.pattern, by_mm), number, narrower(by_mm), steps)
        self.widths.append(self.widths[-1] - 2.0 * by_mm)

    @rule(data=st.data())
    def back_to(self, data: st.DataObject) -> None:
        number = data.draw(st.integers(1, len(self.widths)))
        self.case = back_to(self.case, number)
        self.widths.append(self.widths[number - 1])

    @rule(answers=st.dictionaries(st.text(), JSON, max_size=4), top=st.floats(0.0, 90.0), waist=st.floats(0.0, 90.0))
    def add_tryon(self, answers: dict[str, Any], top: float, waist: float) -> None:
        self.case = add_tryon(self.case, answers, plan(top, waist))
        self.answers.append(answers)
        self.draft = None

    @precondition(lambda self: self.answers)
    @rule(why=st.text(max_size=20))
    def note_skipped(self, why: str) -> None:
        self.case = note_skipped(self.case, len(self.answers), "1.2", why)

    @rule(answers=st.dictionaries(st.text(), JSON, max_size=4))
    def save_draft(self, answers: dict[str, Any]) -> None:
        save_draft(self.case, answers)
        self.draft = answers

    @rule(waist=st.integers(20, 40))
    def add_measuring(self, waist: int) -> None:
        self.case = add_measuring(self.case, {"waist": f"{waist} in"})

    @invariant()
    def what_is_read_is_what_was_done(self) -> None:
        assert open_case(self.folder) == self.case
        girths = [garment_girth(version.pattern, "waist") or 0.0 for version in self.case.versions]
        assert all(abs(girth - width) < 1e-3 for girth, width in zip(girths, self.widths, strict=True))
        assert [tryon.answers for tryon in self.case.tryons] == self.answers
        assert load_draft(self.case) == self.draft

    @invariant()
    def it_can_be_done_over_again(self) -> None:
        replay(self.case)
        assert len(history(self.case, 12.7).rounds) == len(self.answers)

    @invariant()
    def older_files_never_change(self) -> None:
        changing = ("draft", "skipped", "case.json")
        state = {name: at for name, at in state_of(self.folder).items() if not any(word in name for word in changing)}
        assert {name: state.get(name) for name in self.kept} == self.kept
        self.kept = state


TestCasebook = Casebook.TestCase
TestCasebook.settings = settings(max_examples=15, stateful_step_count=12, deadline=None)
