"""What a maker's own cases suggest: simulated makers whose truth is known, and a folder of cases."""

from __future__ import annotations

import json
import math
from pathlib import Path
from random import Random
from typing import Any

import pytest

from diagnose import casebook
from diagnose.casework.next_version import alter_case
from diagnose.casework.own.experience import Shared, Shown, experience_of, read_experience
from diagnose.casework.own.own_rules import write_own_rules
from diagnose.casework.working import store_tryon
from diagnose.errors import FitError
from diagnose.pattern.brought.bringing import load_pattern
from diagnose.places import bundled_cases, bundled_rules
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.reading.formula import parse_formula

IN = 25.4
PAIRS = [
    ("too-big-at-waist", "nip-waist"), ("too-small-at-hip", "release-hip"), ("too-big-all-over", "take-in-evenly"),
    ("too-big-at-top", "take-in-top-wedge"), ("too-small-all-over", "let-out-evenly"),
]  # fmt: skip
SIGNS = [
    ("slides-down", "too-big-at-waist"),
    ("pinches-hip-bone", "too-small-at-hip"),
    ("roll-at-back-top", "too-small-at-top"),
]


def maker(random: Random, share: float, cases: int = 14) -> list[Shared]:
    """A maker's rounds: of each change that share shows, her wearers differing by 0.1, her readings by 0.15."""
    made = []
    for number in range(cases):
        own = random.gauss(share, 0.1)
        for cause, alteration in PAIRS:
            made += [Shared(f"c{number}", cause, alteration, random.gauss(own, 0.15)) for _ in range(2)]
    return made


def signs(random: Random, base: RuleBase, cases: int = 30, other: float | None = None) -> list[Shown]:
    """The signs of borne-out causes, each as often as the base says, or (the first) as often as given."""
    made = []
    for sign, cause in SIGNS:
        word = next(link.shows for link in base.entries.symptoms[sign].causes if link.cause == cause)
        chance = base.entries.words.shows[word]
        if other is not None and sign == SIGNS[0][0]:
            chance = other
        made += [Shown(f"c{n}", sign, cause, random.random() < chance) for n in range(cases)]
    return made


def test_a_maker_whose_cloth_gives_more_gets_amounts_that_say_so(base: RuleBase) -> None:
    # Three quarters of a change show, so four thirds of it must be drawn.
    found = experience_of(maker(Random(5), 0.75), (), base)
    assert {(one.cause, one.alteration) for one in found.amounts} == set(PAIRS)
    for one in found.amounts:
        assert one.times == pytest.approx(4 / 3, abs=0.15)
        assert one.low < 0.75 < one.high < 1.0
        assert (one.cases, one.rounds) == (14, 28)


def test_noise_alone_changes_nothing(base: RuleBase) -> None:
    # 400 makers without any difference: one in twenty may be told something, three standard deviations allowed.
    told = sum(
        experience_of(maker(Random(seed), 1.0), signs(Random(seed), base), base).says_something for seed in range(400)
    )
    assert told <= 400 * 0.05 + 3 * math.sqrt(400 * 0.05 * 0.95)


def test_few_cases_say_nothing_however_plain_they_look(base: RuleBase) -> None:
    found = experience_of(maker(Random(5), 0.5, cases=4), (), base)
    assert not found.says_something
    assert all(one.cases == 4 for one in found.amounts)


def test_a_sign_that_is_rarer_with_her_is_given_a_weaker_word(base: RuleBase) -> None:
    found = experience_of((), signs(Random(2), base, cases=40, other=0.2), base)
    first = found.links[0]
    assert (first.sign, first.cause, first.word) == ("slides-down", "too-big-at-waist", "usually")
    assert first.suggests in ("sometimes", "seldom")
    assert first.low < 0.2 < first.high < first.value
    assert [one.suggests for one in found.links[1:]] == [None, None]


def test_intervals_are_those_of_the_published_tables(base: RuleBase) -> None:
    # Clopper and Pearson 1934: 2 of 10 at 95 % lies between 0.025 and 0.556 (as tabulated since; from memory).
    from diagnose.casework.own.experience import _chance_between, _student

    assert _chance_between(2, 10, 0.05) == (pytest.approx(0.0252, abs=1e-4), pytest.approx(0.5561, abs=1e-4))
    # Student's distribution: 2.776 at 4 degrees of freedom, 2.262 at 9, 97.5 % (any table; from memory).
    assert _student(0.975, 4) == pytest.approx(2.776, abs=0.01)
    assert _student(0.975, 9) == pytest.approx(2.262, abs=0.001)


def test_written_rules_are_right_and_do_as_suggested(base: RuleBase, tmp_path: Path) -> None:
    found = experience_of(maker(Random(5), 0.75), signs(Random(2), base, cases=40, other=0.2), base)
    changed = write_own_rules(found, bundled_rules(), tmp_path / "own")
    own = load_rulebase(tmp_path / "own")
    assert "too-big-at-waist.yaml" in {path.name for path in changed}
    nip = next(c for c in own.entries.causes["too-big-at-waist"].alterations if c.alteration == "nip-waist")
    old = next(c for c in base.entries.causes["too-big-at-waist"].alterations if c.alteration == "nip-waist")
    facts = dict.fromkeys(parse_formula(old.amount).names, 1 * IN)
    times = next(one.times for one in found.amounts if one.alteration == "nip-waist")
    assert parse_formula(nip.amount).value(facts) == pytest.approx(
        (parse_formula(old.amount).value(facts) or 0) * times
    )
    assert "own-cases" in nip.source
    link = next(li for li in own.entries.symptoms["slides-down"].causes if li.cause == "too-big-at-waist")
    assert link.shows == found.links[0].suggests
    with pytest.raises(FitError, match="nothing is replaced"):
        write_own_rules(found, bundled_rules(), tmp_path / "own")


def test_nothing_is_written_where_nothing_is_suggested(base: RuleBase, tmp_path: Path) -> None:
    with pytest.raises(FitError, match="suggest no change"):
        write_own_rules(experience_of((), (), base), bundled_rules(), tmp_path / "own")
    assert not (tmp_path / "own").exists()


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Five wearers of one maker, each tried on twice: the waist taken in, of which seven tenths showed."""
    folder = tmp_path_factory.mktemp("cases")
    pattern = load_pattern(Path(bundled_cases()) / "patterns" / "six-panel-corset.json")
    for number in range(5):
        case = folder / f"wearer-{number}"
        casebook.create(case, pattern, garment={"style": "corset", "closure": "back"}, target="2 in")
        store_tryon(case, answers(waist_in=1.0, slides=True))
        alter_case(case, [])
        store_tryon(case, answers(waist_in=1.0 + 0.7 + 0.02 * (number - 2), slides=False))
    return folder


def answers(*, waist_in: float, slides: bool) -> dict[str, Any]:
    gates = ("toile-boned-at-back", "toile-cloth-firm", "relaced-from-waist", "test-square-true")
    return {
        "gap": {"top": "2 in", "waist": f"{waist_in * IN:.1f} mm", "bottom": "2 in"}, "tension": "working",
        "seen": {"slides-down": slides, "waist-not-gripped": slides}, "known": dict.fromkeys(gates, True),
    }  # fmt: skip


def test_cases_on_disk_are_read_round_by_round(cases: Path, base: RuleBase) -> None:
    found = read_experience(cases, base)
    assert (found.cases, found.rounds) == (5, 5)
    (nip,) = [one for one in found.amounts if one.alteration == "nip-waist"]
    assert (nip.cause, nip.cases) == ("too-big-at-waist", 5)
    assert nip.share == pytest.approx(0.7, abs=0.05)
    assert nip.times == pytest.approx(1 / 0.7, abs=0.1)


def test_the_command_says_it_with_counts_and_writes_only_when_asked(
    cases: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from diagnose.cli.commands.rules import learn

    learn(cases)
    said = capsys.readouterr().out
    assert "5 cases and 5 rounds" in said.replace("\n", " ")
    assert "Nothing was changed." in said
    learn(cases, tmp_path / "own", None, True)
    told = json.loads(capsys.readouterr().out)
    assert told["written"] == str(tmp_path / "own")
    assert (tmp_path / "own" / "causes" / "girth" / "too-big-at-waist.yaml").is_file()


def test_a_folder_without_cases_is_refused(tmp_path: Path, base: RuleBase) -> None:
    with pytest.raises(FitError, match="no case"):
        read_experience(tmp_path, base)
