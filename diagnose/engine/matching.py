"""One matcher for a rule base: durable-rules where it is installed, else the indexed matcher.

durable-rules comes as source for older Pythons only, so it can't be had everywhere; the two give the same firings, in
the same order (the tests hold them equal). A base that is too large for durable-rules goes to the indexed matcher too.
"""

from __future__ import annotations

import json
from contextlib import suppress
from importlib.util import find_spec

from diagnose.engine.indexed import IndexedMatcher
from diagnose.errors import FitError
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file

__all__ = ["DURABLE_MOST", "has_durable", "matcher_for"]

DURABLE_MOST = 3000
"""Beyond so many conditions the indexed matcher is the better one: the engine takes longer to start than to work."""


def has_durable() -> bool:
    """Whether durable-rules is installed here."""
    return find_spec("durable_rules_engine") is not None


def matcher_for(base: RuleBase) -> Matcher:
    """The matcher of a rule base; that of durable-rules comes from its compiled form in the cache when that is there.

    A matcher belongs to the thread and process that made it.
    """
    if len(base.rules) > DURABLE_MOST or not has_durable():
        return IndexedMatcher(base.rules)
    # Only here: it can't be imported where it can't be had.
    from diagnose.engine.durable import DurableMatcher
    from diagnose.engine.rulesets import compile_rules

    path = cache_folder() / f"rules-{base.digest[:32]}.compiled.json"
    kept = kept_file(path)
    if kept is not None:
        with suppress(ValueError, RecursionError, FitError):
            return DurableMatcher.from_compiled(json.loads(kept))
    compiled = compile_rules(base.rules)
    keep_file(path, json.dumps(compiled).encode())
    return DurableMatcher.from_compiled(compiled)
