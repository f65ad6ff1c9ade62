"""Each known trap of durable-rules has a test here that shows the wall before it."""

from __future__ import annotations

import gc
import json
import math
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from itertools import combinations, permutations
from pathlib import Path
from random import Random
from typing import Any

import pytest
from invented_rules import invented_facts, invented_rules

from diagnose.engine import rulesets
from diagnose.engine.indexed import IndexedMatcher
from diagnose.errors import FitError
from diagnose.rulebase.neutral import Comparison, Facts, Firing, Rule, Test

pytest.importorskip("durable_rules_engine", reason="durable-rules can't be had on this machine")
from diagnose.engine import durable
from diagnose.engine.durable import DurableMatcher, compile_rules

STATM = Path("/proc/self/statm")


def rule(name: str, *tests: Test) -> Rule:
    return Rule(name, "signs", tests)


def fired(rules: list[Rule], facts: Facts) -> list[str]:
    with DurableMatcher(rules) as matcher:
        return [firing.rule for firing in matcher.match("signs", facts)]


def parts(rules: list[Rule]) -> int:
    return len(compile_rules(rules)["stages"]["signs"])


RULES = [
    rule("closed", Test("gap", "at-most", 5.0)),
    rule("closed-and-laced", Test("gap", "at-most", 5.0), Test("laced", "is", "yes")),
    rule("wide", Test("gap", "more-than", 50.0)),
    rule("not-laced", Test("laced", "is-not", "yes")),
]
CLOSED: Facts = {"gap": 0.0, "laced": "yes"}
FIRINGS = (Firing("closed", ("gap",)), Firing("closed-and-laced", ("gap", "laced")))


# Types


@pytest.mark.parametrize("value", ["4", "", True, False, None, [], math.nan, math.inf, -math.inf, 1e300, 1_000_000.5])
def test_nothing_but_a_bounded_number_passes_for_a_number(value: object) -> None:
    with DurableMatcher(RULES) as matcher, pytest.raises(FitError, match=r"gap: .* was given"):
        matcher.match("signs", {"gap": value})  # type: ignore[dict-item]


def test_all_facts_of_the_wrong_kind_are_named_at_once() -> None:
    with DurableMatcher(RULES) as matcher, pytest.raises(FitError) as caught:
        matcher.match("signs", {"gap": "4", "laced": True})
    assert [mistake.where for mistake in caught.value.mistakes] == ["gap", "laced"]


def test_words_that_look_like_numbers_or_truth_values_are_words() -> None:
    words = ("1", "1.0", "01", "true", "false", "null", "", " ", "NaN")
    rules = [rule(f"is {word}", Test("laced", "is", word)) for word in words]
    assert [fired(rules, {"laced": word}) for word in words] == [[f"is {word}"] for word in words]


def test_words_of_a_hundred_thousand_letters_are_told_apart_by_the_last() -> None:
    long = "a" * 100_000
    rules = [rule("x", Test("laced", "is", long + "x")), rule("y", Test("laced", "is", long + "y"))]
    assert fired(rules, {"laced": long + "y"}) == ["y"]
    assert fired(rules, {"laced": long}) == []


def test_text_from_a_user_cannot_add_a_fact() -> None:
    assert fired(RULES, {"laced": 'no","f0":0,"f1":0,"boot":1,"a":"'}) == ["not-laced"]


def test_numbers_that_the_package_cannot_read_reach_it_as_whole_thousandths() -> None:
    for value in (1e-05, -1e-05, 5e-324, -0.0):
        assert fired(RULES, {"gap": value}) == ["closed"]
    edge = [rule("edge", Test("gap", "at-least", 1_000_000)), rule("low", Test("gap", "at-most", -1_000_000.0))]
    assert fired(edge, {"gap": 1_000_000.0}) == ["edge"]
    assert fired(edge, {"gap": -1_000_000}) == ["low"]


# Limits of the package


@pytest.mark.parametrize("count", [63, 64, 65, 511, 512, 513, 600])
def test_many_words_of_one_fact_do_not_hang(count: int) -> None:
    rules = [rule(f"r{n}", Test("laced", "is", f"word {n}")) for n in range(count)]
    assert fired(rules, {"laced": f"word {count - 1}"}) == [f"r{count - 1}"]


@pytest.mark.parametrize("comparison", ["at-least", "more-than", "is-not"])
@pytest.mark.parametrize("count", [60, 61, 64, 65, 300])
def test_many_rules_may_hold_on_one_fact(comparison: Comparison, count: int) -> None:
    is_word = comparison == "is-not"
    rules = [rule(f"r{n}", Test("gap", comparison, str(n) if is_word else n)) for n in range(count)]
    assert fired(rules, {"gap": "none of them" if is_word else 1000.0}) == [f"r{n}" for n in range(count)]


def test_seven_words_that_each_of_ten_facts_is_not_all_hold() -> None:
    rules = [rule(f"{fact}-{n}", Test(f"f{fact}", "is-not", str(n))) for fact in range(10) for n in range(7)]
    assert fired(rules, {f"f{fact}": "other" for fact in range(10)}) == [each.id for each in rules]


def test_many_rules_may_hold_on_many_facts_at_different_depths() -> None:
    facts = [f"fact {n}" for n in range(40)]
    rules = [
        rule("+".join(some), *(Test(fact, "is", "yes") for fact in some))
        for size in (1, 2)
        for some in combinations(facts, size)
    ]
    assert fired(rules, dict.fromkeys(facts, "yes")) == [each.id for each in rules]
    assert parts(rules) > 1


def test_three_hundred_rules_with_one_condition_all_fire_and_are_compiled_once() -> None:
    tests = (Test("gap", "at-least", 5.0), Test("laced", "is", "yes"), Test("hip", "is", "no"))
    orders = list(permutations(tests))
    rules = [rule(f"r{n}", *orders[n % 6]) for n in range(300)]
    assert fired(rules, {"gap": 5.0, "laced": "yes", "hip": "no"}) == [f"r{n}" for n in range(300)]
    (only,) = compile_rules(rules)["stages"]["signs"]
    assert len(only["conditions"]) == 1


def test_more_facts_than_the_package_has_fields_are_spread_out() -> None:
    facts = [f"fact {n}" for n in range(600)]
    rules = [rule(fact, Test(fact, "is", "yes")) for fact in facts]
    assert parts(rules) >= 3
    assert fired(rules, dict.fromkeys(facts, "yes")) == facts
    assert fired(rules, {facts[-1]: "yes"}) == facts[-1:]


def test_two_rules_of_two_hundred_facts_each_do_not_share_a_ruleset() -> None:
    facts = [f"fact {n}" for n in range(400)]
    rules = [
        rule(name, *(Test(fact, "is", "yes") for fact in own)) for name, own in (("a", facts[:200]), ("b", facts[200:]))
    ]
    assert parts(rules) == 2
    assert fired(rules, dict.fromkeys(facts, "yes")) == ["a", "b"]


def test_more_rules_than_the_package_takes_are_spread_out() -> None:
    rules = [rule(f"r{n}", Test("a", "is", str(n % 70)), Test("b", "is", str(n // 70))) for n in range(4200)]
    assert fired(rules, {"a": "69", "b": "59"}) == ["r4199"]


def test_a_rule_of_many_tests_is_taken_and_one_of_too_many_is_refused_by_name() -> None:
    tests = [Test(f"fact {n}", "is", "yes") for n in range(241)]
    assert fired([rule("long", *tests[:240])], {test.fact: "yes" for test in tests}) == ["long"]
    with pytest.raises(FitError) as caught:
        compile_rules([rule("too-long", *tests), rule("fine", tests[0]), rule("too-long-also", *tests)])
    assert [mistake.where for mistake in caught.value.mistakes] == ["rule too-long", "rule too-long-also"]


def test_many_tests_of_one_fact_in_one_rule_are_all_kept() -> None:
    rules = [rule("r", *(Test("laced", "is-not", str(n)) for n in range(240)))]
    assert fired(rules, {"laced": "240"}) == ["r"]
    assert [fired(rules, {"laced": str(n)}) for n in (0, 120, 239)] == [[], [], []]


def test_no_two_fields_look_alike_to_the_package() -> None:
    # It tells fields apart by a 32-bit FNV-1a hash of their names alone (json.c of its source distribution).
    def fnv(name: str) -> int:
        value = 0x811C9DC5
        for letter in name.encode():
            value = (value ^ letter) * 16777619 % 2**32
        return value

    names = [*(f"f{n}" for n in range(rulesets.MOST_FACTS)), "boot", "always", "id", "sid", "$s"]
    assert fnv("id") == 926444256  # HASH_ID in its state.h
    assert len({fnv(name) for name in names}) == len(names)


# Order, repetition, memory


def test_the_order_of_facts_does_not_matter() -> None:
    rules = [rule("r", Test("a", "is", "yes"), Test("b", "at-least", 1.0), Test("c", "is-not", "no")), *RULES]
    facts: Facts = {"a": "yes", "b": 2.0, "c": "odd", "gap": 3.0, "laced": "no"}
    with DurableMatcher(rules) as matcher:
        found = {matcher.match("signs", dict(order)) for order in permutations(facts.items())}
    assert found == {(Firing("r", ("a", "b", "c")), Firing("closed", ("gap",)), Firing("not-laced", ("laced",)))}


def test_a_try_on_leaves_nothing_behind_for_the_next() -> None:
    with DurableMatcher(RULES) as matcher:
        for _ in range(50):
            assert matcher.match("signs", CLOSED) == FIRINGS
            assert matcher.match("signs", CLOSED) == FIRINGS
            assert matcher.match("signs", {"laced": "yes"}) == ()
            assert matcher.match("signs", {}) == ()
            assert matcher.match("signs", {"gap": 60.0}) == (Firing("wide", ("gap",)),)


def resident_bytes() -> int:
    gc.collect()
    return int(STATM.read_text().split()[1]) * 4096


@pytest.mark.skipif(not STATM.exists(), reason="memory is read from Linux's /proc")
def test_twenty_thousand_matches_take_no_more_memory() -> None:
    chance = Random(1)
    rules = invented_rules(100, facts=40, stages=1, chance=chance)
    all_facts = [invented_facts(20, facts=40, chance=chance) for _ in range(200)]
    with DurableMatcher(rules) as matcher:
        for facts in all_facts * 10:
            matcher.match("stage-0", facts)
        before = resident_bytes()
        for facts in all_facts * 100:
            matcher.match("stage-0", facts)
        assert resident_bytes() - before < 1_000_000


@pytest.mark.skipif(not STATM.exists(), reason="memory is read from Linux's /proc")
def test_matchers_closed_or_forgotten_give_their_memory_back() -> None:
    compiled = compile_rules(invented_rules(60, facts=40, stages=1, chance=Random(2)))

    def make_some(count: int) -> None:
        for _ in range(count):
            DurableMatcher.from_compiled(compiled).close()
            DurableMatcher.from_compiled(compiled)

    make_some(20)
    before = resident_bytes()
    make_some(60)
    assert resident_bytes() - before < 5_000_000


# Breaking off


class BrokenOffError(Exception):
    pass


@pytest.mark.parametrize("step", ["assert_fact", "start_action_for_state", "complete_and_start_action", "retract_fact"])
@pytest.mark.parametrize("call", [1, 2])
def test_a_match_broken_off_does_not_spoil_the_next(monkeypatch: pytest.MonkeyPatch, step: str, call: int) -> None:
    real = getattr(durable.engine, step)
    calls = 0

    def breaks_off(*given: Any) -> Any:
        nonlocal calls
        calls += 1
        if calls == call:
            raise BrokenOffError
        return real(*given)

    with DurableMatcher(RULES) as matcher:
        for _ in range(3):
            calls = 0
            with monkeypatch.context() as patched:
                patched.setattr(durable.engine, step, breaks_off)
                with pytest.raises(BrokenOffError):
                    assert matcher.match("signs", CLOSED) == matcher.match("signs", CLOSED)
            assert matcher.match("signs", {"gap": 60.0}) == (Firing("wide", ("gap",)),)
            assert matcher.match("signs", CLOSED) == FIRINGS


def test_an_error_of_the_package_is_a_sentence_and_the_next_match_is_right(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any) -> Any:
        raise durable.engine.error("error code: 303")

    with DurableMatcher(RULES) as matcher:
        with monkeypatch.context() as patched:
            patched.setattr(durable.engine, "retract_fact", fails)
            with pytest.raises(FitError, match="It broke off in stage signs: error code: 303"):
                matcher.match("signs", CLOSED)
        assert matcher.match("signs", CLOSED) == FIRINGS


def test_a_matcher_that_breaks_off_while_it_is_reopened_is_refused_not_deleted(monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks_off(*_: Any) -> Any:
        raise BrokenOffError

    with DurableMatcher(RULES) as matcher:
        with monkeypatch.context() as patched:
            patched.setattr(durable.engine, "start_action_for_state", breaks_off)
            for _ in range(2):
                with pytest.raises(BrokenOffError):
                    matcher.match("signs", CLOSED)
        with pytest.raises(FitError, match="Make a new matcher"):
            matcher.match("signs", CLOSED)


def test_another_thread_is_refused() -> None:
    with DurableMatcher(RULES) as matcher, ThreadPoolExecutor(1) as pool:
        with pytest.raises(FitError, match="another thread"):
            pool.submit(matcher.match, "signs", CLOSED).result()
        assert matcher.match("signs", CLOSED) == FIRINGS


def test_another_process_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with DurableMatcher(RULES) as matcher:
        monkeypatch.setattr(durable.os, "getpid", lambda: -1)
        with pytest.raises(FitError, match="process"):
            matcher.match("signs", CLOSED)


def test_each_thread_may_have_a_matcher_of_its_own() -> None:
    def run(_: int) -> set[tuple[Firing, ...]]:
        with DurableMatcher(RULES) as matcher:
            return {matcher.match("signs", CLOSED) for _ in range(300)}

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(run, range(8))) == [{FIRINGS}] * 8


def test_a_closed_matcher_is_refused_and_may_be_closed_again() -> None:
    with DurableMatcher(RULES) as matcher:
        matcher.close()
    matcher.close()
    with pytest.raises(FitError, match="closed"):
        matcher.match("signs", CLOSED)


def test_two_matchers_do_not_meet() -> None:
    with DurableMatcher(RULES) as one, DurableMatcher([rule("other", Test("gap", "at-most", 5.0))]) as other:
        assert one.match("signs", CLOSED) == FIRINGS
        assert other.match("signs", CLOSED) == (Firing("other", ("gap",)),)
        one.close()
        assert other.match("signs", CLOSED) == (Firing("other", ("gap",)),)


# The compiled form


def test_the_compiled_form_survives_json() -> None:
    chance = Random(3)
    rules = [*invented_rules(200, facts=30, stages=3, chance=chance), Rule("always", "stage-1", ())]
    stored = json.loads(json.dumps(compile_rules(rules)))
    reference = IndexedMatcher(rules)
    with DurableMatcher.from_compiled(stored) as matcher:
        for _ in range(100):
            facts = invented_facts(15, facts=30, chance=chance)
            for stage in ("stage-0", "stage-1", "stage-2"):
                assert matcher.match(stage, facts) == reference.match(stage, facts)


def test_compiling_is_the_same_every_time() -> None:
    rules = invented_rules(100, facts=30, stages=2, chance=Random(4))
    script = (
        "import json, random; from invented_rules import invented_rules; from diagnose.engine.durable import *;"
        "print(json.dumps(compile_rules(invented_rules(100, facts=30, stages=2, chance=random.Random(4)))))"
    )
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)}
        told = subprocess.run([sys.executable, "-c", script], env=environment, capture_output=True, check=True)
        assert json.loads(told.stdout) == compile_rules(rules)


@pytest.mark.parametrize("change", [{"form": 0}, {"stages": {"signs": [{}]}}, {"stages": None}, {"ids": ["one"]}])
def test_a_stored_form_of_another_version_or_damaged_is_refused(change: dict[str, Any]) -> None:
    stored: Any = {**compile_rules(RULES), **change}
    with pytest.raises(FitError, match="stored rules cannot be read"):
        DurableMatcher.from_compiled(stored)


def test_a_stored_form_cannot_smuggle_text_into_the_package() -> None:
    stored: Any = json.loads(json.dumps(compile_rules(RULES)))
    stored["stages"]["signs"][0]["conditions"][0][0][2] = '1},{"boot":1'
    with pytest.raises(FitError, match="stored rules cannot be read"):
        DurableMatcher.from_compiled(stored)


def test_importing_the_engine_starts_no_thread_and_leaves_the_host_alone() -> None:
    script = "import sys, threading, diagnose.engine.durable; print(threading.active_count(), 'durable' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True, text=True)
    assert told.stdout.split() == ["1", "False"]


def test_no_rule_that_lacks_its_fact_makes_the_engine_be_called(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: Any) -> Any:
        raise AssertionError

    with DurableMatcher(RULES) as matcher:
        monkeypatch.setattr(durable.engine, "assert_fact", never)
        assert matcher.match("signs", {"unknown": "yes"}) == ()
