"""The casebook: one folder a case, which keeps every pattern version, try-on, plan and measuring, and loses none.

Every change is made under a lock and is all or nothing; see `layout` for the files, `safely` for the writing.
"""

from __future__ import annotations

from diagnose.casebook.case import Case, Done, PatternVersion, StoredTryOn
from diagnose.casebook.case_reading import open_case
from diagnose.casebook.changing import (
    add_measuring,
    add_tryon,
    add_version,
    back_to,
    drop_draft,
    keep_as_it_stands,
    load_draft,
    note_skipped,
    save_draft,
)
from diagnose.casebook.history import History, HistoryRound, HistoryStation, StepDone, history, steps_beyond
from diagnose.casebook.lock import asking
from diagnose.casebook.photograph import Photograph, photograph_of
from diagnose.casebook.starting import create

__all__ = [
    "Case", "Done", "History", "HistoryRound", "HistoryStation", "PatternVersion", "Photograph", "StepDone",
    "StoredTryOn", "add_measuring", "add_tryon", "add_version", "asking", "back_to", "create", "drop_draft",
    "history", "keep_as_it_stands", "load_draft", "note_skipped", "open_case", "photograph_of", "save_draft",
    "steps_beyond",
]  # fmt: skip
