"""`diagnose rules`: the rule base listed, an entry read, a folder checked, in words and as data."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from diagnose.cli.running import run
from diagnose.places import bundled_rules
from diagnose.rulebase.base import RuleBase
from diagnose.sheets.words.parts import plain_lines
from diagnose.sheets.words.rule_text import entry_lines

KINDS = ("symptoms", "questions", "causes", "alterations")
Said = pytest.CaptureFixture[str]


@pytest.mark.parametrize("line", [["rules"], ["rules", "list"]])
def test_every_entry_is_listed_once_under_its_kind(line: list[str], base: RuleBase, capsys: Said) -> None:
    assert run(line) == 0
    shown = capsys.readouterr().out.splitlines()
    heads = [place for place, text in enumerate(shown) if text.partition(" ")[0].lower() in KINDS]
    for kind, start, end in zip(KINDS, heads, [*heads[1:], len(shown)], strict=True):
        entries = getattr(base.entries, kind)
        assert shown[start] == f"{kind.capitalize()} ({len(entries)})"
        named = [text[4:37].strip() for text in shown[start + 1 : end] if text[4:5].strip() and not text[:4].strip()]
        assert sorted(named) == sorted(entries)
    assert max(map(len, shown)) <= 80


def test_each_group_is_headed_once_and_its_entries_stand_under_it(base: RuleBase, capsys: Said) -> None:
    run(["rules"])
    shown = capsys.readouterr().out.partition("Questions")[0].splitlines()
    group, found = "", dict[str, str]()
    for text in shown[1:]:
        if text.startswith("  ") and text[2:3].strip():
            group = text.strip()
        elif text[4:5].strip():
            found[text.split()[0]] = group
    assert found == {name: entry.group.replace("-", " ") for name, entry in base.entries.symptoms.items()}
    heads = [text for text in shown if text.startswith("  ") and text[2:3].strip()]
    assert len(heads) == len(set(heads))


def test_a_title_too_long_for_its_line_runs_on_under_itself(base: RuleBase, capsys: Said) -> None:
    run(["rules"])
    shown = capsys.readouterr().out.splitlines()
    name, entry = next((name, one) for name, one in base.entries.questions.items() if len(one.ask) > 50)
    place = next(number for number, text in enumerate(shown) if text.split()[:1] == [name])
    assert shown[place + 1].startswith(" " * 37)
    assert entry.ask.startswith(" ".join((shown[place].removeprefix(f"    {name}") + shown[place + 1]).split()))


def test_the_list_as_data_gives_the_ids_of_each_kind(base: RuleBase, capsys: Said) -> None:
    assert run(["rules", "list", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert {kind: data[kind] for kind in KINDS} == {kind: list(getattr(base.entries, kind)) for kind in KINDS}


@pytest.mark.parametrize(
    ("name", "kind"),
    [("rides-up", "sign"), ("too-big-at-top", "cause"), ("nip-waist", "alteration"), ("seated-only", "question")],
)
def test_an_entry_is_read_as_a_page_headed_by_its_title_and_as_data(
    name: str, kind: str, base: RuleBase, capsys: Said
) -> None:
    assert run(["rules", "show", name]) == 0
    entries, page = base.entries, capsys.readouterr().out.splitlines()
    assert page == list(plain_lines(entry_lines(entries, name)))
    head, line = page[:2]
    titles = {
        e.id: e.title for e in (*entries.symptoms.values(), *entries.causes.values(), *entries.alterations.values())
    }
    assert head == titles.get(name, entries.questions[name].ask if name in entries.questions else None)
    assert line.startswith(kind)
    assert line.endswith(f"· {name}")
    assert run(["rules", "show", name, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["entry"]["id"] == name


def test_an_id_that_is_no_entry_is_refused_with_what_is_spelt_nearly_so(capsys: Said) -> None:
    assert run(["rules", "show", "nip-waste"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("nip-waste: No entry is called 'nip-waste'. Did you mean nip-waist")


@pytest.mark.parametrize(("name", "told"), [("breath-short", True), ("rides-up", False)])
def test_only_a_stop_flag_says_what_to_do_now_and_whom_to_see(
    name: str, told: bool, base: RuleBase, capsys: Said
) -> None:
    run(["rules", "show", name])
    shown = capsys.readouterr().out
    assert ("\nNow   " in shown, "\nSee   " in shown) == (told, told)
    assert (base.entries.symptoms[name].now is not None) is told


def test_a_question_says_what_it_is_about_only_where_it_is_about_a_sign(base: RuleBase) -> None:
    for name, question in base.entries.questions.items():
        shown = " ".join(" ".join(plain_lines(entry_lines(base.entries, name))).split())
        titles = "; ".join(base.entries.symptoms[sign].title for sign in question.about)
        assert (f"About {titles}" in shown) is bool(question.about), name
        assert all(base.entries.causes[link.cause].title in shown for link in question.points_to), name


def test_a_remedy_gives_amount_and_most_only_where_it_has_them(base: RuleBase) -> None:
    for name, cause in base.entries.causes.items():
        shown = "\n".join(plain_lines(entry_lines(base.entries, name)))
        assert shown.count("How much: ") == sum(choice.amount != "none" for choice in cause.alterations), name
        assert shown.count(" At most ") >= sum(choice.limit is not None for choice in cause.alterations), name
        assert shown.count("Beyond that: ") == sum(choice.limit is not None for choice in cause.alterations), name


def test_rules_that_are_right_are_said_to_be_so(capsys: Said) -> None:
    assert run(["rules", "check"]) == 0
    assert capsys.readouterr().out.startswith("The rules are right.")


def test_a_mistake_is_told_with_file_and_line_and_ends_with_two(tmp_path: Path, capsys: Said) -> None:
    own = Path(shutil.copytree(bundled_rules(), tmp_path / "rules"))
    file = own / "settings.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("value: 1/4 in", "value: wide", 1), encoding="utf-8")
    assert run(["rules", "check", str(own)]) == 2
    told = capsys.readouterr()
    assert "settings.yaml" in told.out
    assert told.err.endswith("1 to put right.\n")
    assert run(["rules", "check", str(own), "--json"]) == 2
    (mistake,) = json.loads(capsys.readouterr().out)["mistakes"]
    assert "wide" in mistake["what"]
