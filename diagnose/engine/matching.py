"""One matcher for a rule base: durable-rules as a rule, the indexed matcher where a base is too large for it."""

from __future__ import annotations

import json
from contextlib import suppress

from diagnose.engine.durable import DurableMatcher, compile_rules
from diagnose.engine.indexed import IndexedMatcher
from diagnose.errors import FitError
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.cache import cache_folder, keep_file, kept_file

__all__ = ["DURABLE_MOST", "matcher_for"]

DURABLE_MOST = 3000
"""Beyond so many conditions the indexed matcher is the better one: the engine takes longer to start than to work."""


def matcher_for(base: RuleBase) -> Matcher:
    """The matcher of a rule base, from its compiled form in the cache when that is there.

    A matcher belongs to the thread and process that made it.
    """
    path = cache_folder() / f"rules-{base.digest[:32]}.compiled.json"
    kept = kept_file(path)
    if kept is not None:
        with suppress(ValueError, RecursionError, FitError):
            return DurableMatcher.from_compiled(json.loads(kept))
    if len(base.rules) > DURABLE_MOST:
        return IndexedMatcher(base.rules)
    compiled = compile_rules(base.rules)
    keep_file(path, json.dumps(compiled).encode())
    return DurableMatcher.from_compiled(compiled)
