"""Every message of the check of a rule folder: one change to a small right folder, one mistake at its file and line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from small_rules import changed, line_of, small_folder

import diagnose
from diagnose.cli.running import run
from diagnose.engine.findings import garment_facts
from diagnose.gap.reading import gap_facts, read_gap
from diagnose.model.settings import Settings
from diagnose.model.tryon_reading import read_tryon
from diagnose.plan.choosing import on_a_line
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checking.check import check_folder
from diagnose.rulebase.checking.idle import idle_settings, idle_sources
from diagnose.rulebase.checking.implied import follow
from diagnose.rulebase.checking.reach import GIVEN_FACTS
from diagnose.rulebase.reading.fields import Condition

BITES, TILTS = "symptoms/back/edge-bites.yaml", "symptoms/back/gap-tilts.yaml"
STOP, SEATED = "symptoms/stop-flags/breath-gone.yaml", "questions/bites-seated.yaml"
WIDE, LOW = "causes/girth/too-wide.yaml", "causes/height/edge-low.yaml"
TAKE_IN, RAISE = "alterations/girth/take-in.yaml", "alterations/height/raise-edge.yaml"
ORDER, WORDS, FACTS = "order.yaml", "words.yaml", "facts.yaml"
FIRST_LINK = "  - cause: edge-low\n"
LEAVE = "  - alteration: leave-be\n    only_if: []\n"
RAISE_AS_WELL = """\
  - alteration: raise-edge
    only_if:
      - {fact: edge-bites, is: yes}
    amount: 1/2 in
    stations: []
    at: Along the top edge where it bites.
    worked: {gives: 1/2 in}
    limit: '-'
    limit_on: '-'
    beyond: '-'
    because: Higher, it lies on firmer flesh.
    source: judgement
examples:
"""

# Of each: the file, what stands there, what is put there, a piece of the line blamed, and what is said of it.
ONE_CHANGE = [
    # naming what is not there
    (BITES, "cause: edge-low", "cause: edge-lo", "cause: edge-lo",
     "There is no cause 'edge-lo'. Did you mean edge-low?"),
    (SEATED, "cause: edge-low", "cause: edge-lo", "edge-lo", "There is no cause 'edge-lo'."),
    (WIDE, "[edge-bites, bites-seated]", "[edge-bits]", "tell_apart", "There is no question or symptom 'edge-bits'."),
    (WIDE, "alteration: leave-be", "alteration: leave-bee", "leave-bee", "There is no alteration 'leave-bee'."),
    (TAKE_IN, "family: girth", "family: girths", "family", "There is no family 'girths'."),
    (TAKE_IN, "step: waist", "step: wast", "step", "There is no step 'wast'."),
    (TAKE_IN, "do: seams", "do: seem", "do: seem", "There is no move “seem”. Did you mean seams?"),
    (TAKE_IN, "which: all", "which: al", "which: al,", "“which” is never “al”."),
    (TAKE_IN, "which: all", "where: all", "where: all", "“seams” takes no “where”."),
    (TAKE_IN, "do: seams", "for: gap-tilt, do: seams", "gap-tilt,", "There is no question or symptom 'gap-tilt'."),
    (TAKE_IN, "[gap-tilts]", "[gap-tilt]", "improves", "There is no symptom 'gap-tilt'."),
    (ORDER, "other: raise-edge", "other: raise", "other: raise", "There is no alteration 'raise'."),
    (ORDER, "until: girth", "until: girt", "until: girt", "There is no family or step 'girt'."),
    (ORDER, "hold: [raise-edge]", "hold: [raise]", "hold:", "There is no alteration 'raise'."),
    ("misses.yaml", "causes: [too-wide]", "causes: [wide]", "causes", "There is no cause 'wide'."),
    ("misses.yaml", "ask: bites-seated", "ask: bites", "ask: bites", "There is no question or symptom 'bites'."),
    # conditions
    (TILTS, "fact: gap-fall", "fact: gap-fal", "gap-fal,", "There is no fact 'gap-fal'. Did you mean gap-fall"),
    (TILTS, "at-least: 1/2 in", "is: wide", "gap-fall", "'gap-fall' is a number."),
    (BITES, "is-not: none", "at-least: 1 in", "fact: tabs", "'tabs' is a word."),
    (BITES, "is-not: none", "is-not: nun", "fact: tabs", "'tabs' is never “nun”."),
    (FACTS, "  words: [stays, corset, bodice]\n", "", "style:", "'style' needs words, or a unit with low and high."),
    (BITES, "when: []", "part: [{fact: gap-fall, at-least: 1 in}]\nwhen: []", "gap-fall",
     "'gap-fall' says nothing of a part of the garment."),
    # amounts
    (LOW, "amount + 1/4 in", "amount ++ 1/4 in", "amount:", "is not a formula"),
    (LOW, "edge-bites.amount + 1/4", "edge-bits.amount + 1/4", "amount:",
     "reads 'edge-bits.amount', which is no number"),
    (LOW, "worked: {edge-bites.amount: 1/2 in, gives: 3/4 in}", "worked: '-'", "amount:", "has no worked figure"),
    (LOW, "gives: 3/4 in", "gives: 1 in", "worked", "The formula gives 19.05 mm, the worked figure says 25.40 mm."),
    (LOW, "{edge-bites.amount: 1/2 in, gives", "{gives", "worked", "The worked figure lacks a fact of the formula."),
    # sources and filler
    (BITES, "source: common-practice", "source: commn-practice", "commn", "There is no source 'commn-practice'."),
    (SEATED, "source: common-practice", "source: hearsay", "hearsay", "There is no source 'hearsay'."),
    (WIDE, "source: judgement", "source: hearsay", "source: hearsay", "There is no source 'hearsay'."),
    (TAKE_IN, "source: judgement", "source: judgement;", "source:", "source is empty."),
    (ORDER, "source: judgement", "source: hearsay", "source: hearsay", "There is no source 'hearsay'."),
    (BITES, "An edge that ends too low cuts in.", "TODO say why it cuts.", "TODO",
     "“TODO say why it cuts.” is filler."),
    # words of strength, figures by hand
    (WORDS, "  seldom: 0.12\n", "", "shows:", "'seldom' has no number under shows."),
    (WORDS, "  rare: 0.015", "  rarest: 0.01\n  rare: 0.015", "rarest",
     "No entry may use the word 'rarest' under common."),
    (WORDS, "nearly-always: 0.92", "nearly-always: 1", "nearly-always",
     "'nearly-always' is worth 1, which is no chance."),
    (WORDS, "usually: 0.75", "usually: 0.5", "shows:", "The numbers under shows do not fall with their words."),
    (TAKE_IN, "by {edge}", "by {egde}", "by {egde}", "A step by hand has “{egde}”, which is no figure."),
    (TAKE_IN, "by {edge}", "by {edge", "by {edge", "A step by hand has “{edge.”, which is no figure."),
    (RAISE, "{amount}", "{seam}", "{seam}", "A step by hand has “{seam}”, which is no figure of a length."),
    # what can't be reached
    (FACTS, "style:\n", "mood:\n  title: Her mood\n  words: [good, bad]\n  how: Nobody asks for it.\nstyle:\n", "mood:",
     "Nobody asks for 'mood', and the program does not work it out."),
    (TILTS, "at-least: 1/2 in", "at-least: 9 in", "gap-fall", "'gap-fall' is never at least that."),
    (WIDE, "at-most: -1/2 in", "less-than: -20 in", "gap-average", "'gap-average' is never less than that."),
    (WIDE, "examples:\n", RAISE_AS_WELL, "alteration: raise-edge",
     "Choice 3, 'raise-edge', is never reached: choice 2, 'leave-be', does whenever its lines hold."),
    # what contradicts itself or stands twice
    (WIDE, "at-most: -1/2 in}\n", "at-most: -1/2 in}\n      - {fact: gap-average, at-least: 0 in}\n",
     "alteration: take-in", "The lines about 'gap-average' can never hold together."),
    (BITES, "is-not: none}\n", "is-not: none}\n      - {fact: edge-bites, is: no}\n", "cause: too-wide",
     "The lines about 'edge-bites' can never hold together."),
    (BITES, "is-not: none}\n",
     "is-not: none}\n      - {fact: tabs, is-not: plain}\n      - {fact: tabs, is-not: boned}\n",
     "cause: too-wide", "The lines about 'tabs' can never hold together."),
    (TAKE_IN, "worsens: [edge-bites]", "worsens: [edge-bites, gap-tilts]", "worsens",
     "'take-in' both improves and worsens 'gap-tilts'."),
    (ORDER, "other: raise-edge", "other: take-in", "one: take-in", "'take-in' conflicts with itself."),
    (ORDER, "until: girth", "until: height", "hold:", "'raise-edge' waits for itself."),
    # examples
    (BITES, "{edge-bites: yes, tabs: plain}", "{edge-bites: yes, tabs: none}", "examples", "does not fire 'too-wide'"),
    (BITES, "causes: [edge-low, too-wide]", "causes: [edge-low, too-low]", "examples",
     "An example names 'too-low', which has no line here."),
    (BITES, "- facts: {edge-bites: no}", "- facts: {edge-bites: yes}", "examples",
     "The silent example fires 'edge-low'."),
    (BITES, "    - facts: {edge-bites: yes, tabs: none}\n      causes: [too-wide]\n", "", "examples",
     "No silent example shows the line “tabs is-not none” of 'too-wide'."),
    (TILTS, "  fires:\n    - facts: {gap-fall: 1 in}\n      causes: [too-wide]\n", "  fires: []\n", "examples",
     "No example fires."),
    (STOP, "  silent: []", "  silent:\n    - {facts: {breath-gone: no}, causes: [breath-gone], instead: breth}",
     "instead: breth", "There is no symptom 'breth'."),
    (STOP, "  silent: []", "  silent:\n    - {facts: {breath-gone: no}, causes: [breath-gone], instead: edge-bites}",
     "examples", "The facts do not show 'edge-bites' instead."),
    ("misses.yaml", "miss-spread: 1 in}", "miss-spread: 0 in}", "id: laced-anew", "does not fire 'laced-anew'"),
    ("misses.yaml", "miss-spread: 0 in}", "miss-spread: 1 in}", "id: laced-anew", "No silent example shows a line of"),
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path / "rules")


def test_the_small_folder_is_right(folder: Path) -> None:
    assert check_folder(folder) == ()


@pytest.mark.parametrize(("file", "old", "new", "blamed", "say"), ONE_CHANGE, ids=[row[4][:60] for row in ONE_CHANGE])
def test_one_wrong_change_is_told_with_its_file_and_line(
    folder: Path, file: str, old: str, new: str, blamed: str, say: str
) -> None:
    changed(folder, file, old, new)
    told = {str(mistake) for mistake in check_folder(folder)}
    where = f"rules/{file}:{line_of(folder, file, blamed)}: "
    assert any(line.startswith(where) and say in line for line in told), "\n".join(told)


def test_a_cause_that_nothing_shows_is_told(folder: Path) -> None:
    (folder / "causes/girth/unseen.yaml").write_text((folder / LOW).read_text())
    assert [m.what for m in check_folder(folder)] == ["Nothing shows the cause 'unseen'."]


def test_a_cause_with_nothing_to_do_is_told(folder: Path) -> None:
    text = (folder / LOW).read_text()
    head, tail = text[: text.index("alterations:")], text[text.index("examples:") :]
    (folder / LOW).write_text(f"{head}alterations: []\n{tail}")
    assert {m.what for m in check_folder(folder)} == {
        "'edge-low' leads to no alteration.", "No cause leads to 'raise-edge'.",
    }  # fmt: skip


def test_an_alteration_that_no_cause_leads_to_is_told(folder: Path) -> None:
    (folder / "alterations/height/unused.yaml").write_text((folder / RAISE).read_text())
    told = check_folder(folder)
    assert [(m.where, m.what) for m in told] == [
        ("rules/alterations/height/unused.yaml:1", "No cause leads to 'unused'."),
    ]  # fmt: skip


def test_a_sign_and_a_question_that_lead_nowhere_are_told(folder: Path) -> None:
    text = (folder / BITES).read_text()
    idle = text[: text.index("causes:")] + "causes: []\nexamples: {fires: [], silent: []}\n"
    (folder / "symptoms/back/idle-sign.yaml").write_text(idle)
    asked = (folder / SEATED).read_text()
    tail = "points_to: []\nunexplained: {yes: seldom, no: often}\nexamples: {fires: [], silent: []}\n"
    (folder / "questions/idle-question.yaml").write_text(asked[: asked.index("points_to:")] + tail)
    assert {m.what for m in check_folder(folder)} == {
        "The sign 'idle-sign' leads to no cause, and no line reads it.",
        "The answer to 'idle-question' points to no cause, and no line reads it.",
    }


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("{fact: gap-average, at-most: -1/4 in}", "{fact: gap-average, at-most: -1/2 in}"),
        ("{fact: tabs, is-not: none}", "{fact: tabs, is: plain}"),
        ("{fact: gap-fall, more-than: 1 in}", "{fact: gap-fall, more-than: 1 in}"),
    ],
)
def test_a_choice_under_narrower_lines_than_one_that_always_does_is_never_reached(
    folder: Path, earlier: str, later: str
) -> None:
    changed(folder, WIDE, LEAVE, LEAVE.replace("[]", f"\n      - {earlier}"))
    changed(folder, WIDE, "examples:\n", RAISE_AS_WELL.replace("{fact: edge-bites, is: yes}", later))
    assert any("'raise-edge', is never reached" in m.what for m in check_folder(folder))


@pytest.mark.parametrize(
    ("earlier", "later"),
    [
        ("{fact: gap-average, at-most: -1/2 in}", "{fact: gap-average, at-most: -1/4 in}"),
        ("{fact: gap-fall, more-than: 1 in}", "{fact: gap-fall, at-least: 1 in}"),
        ("{fact: tabs, is: plain}", "{fact: tabs, is-not: none}"),
        ("{fact: tabs, is: plain}", "{fact: straps, is: none}"),
    ],
)
def test_a_choice_that_could_hold_where_the_earlier_does_not_is_reached(folder: Path, earlier: str, later: str) -> None:
    changed(folder, WIDE, LEAVE, LEAVE.replace("[]", f"\n      - {earlier}"))
    changed(folder, WIDE, "examples:\n", RAISE_AS_WELL.replace("{fact: edge-bites, is: yes}", later))
    assert not any("is never reached" in m.what for m in check_folder(folder))


def test_the_same_amount_on_wider_lines_shadows_a_later_choice_and_an_amount_that_may_be_unknown_does_not(
    folder: Path,
) -> None:
    again = (folder / LOW).read_text()
    choice = again[again.index("  - alteration: raise-edge") : again.index("examples:")]
    narrower = choice.replace("only_if: []", "only_if:\n      - {fact: tabs, is: plain}")
    changed(folder, LOW, "examples:\n", narrower + "examples:\n")
    assert any("choice 1, 'raise-edge', does whenever" in m.what for m in check_folder(folder))
    changed(folder, LOW, "amount: edge-bites.amount + 1/4 in", "amount: edge-bites.amount + 1/2 in")
    changed(folder, LOW, "gives: 3/4 in", "gives: 1 in")
    assert not any("is never reached" in m.what for m in check_folder(folder))


def test_doubled_links_answers_choices_and_conflicts_are_told(folder: Path) -> None:
    link = (folder / BITES).read_text()
    one = link[link.index("  - cause: edge-low") : link.index("  - cause: too-wide")]
    changed(folder, BITES, FIRST_LINK, one + FIRST_LINK)
    answer = (folder / SEATED).read_text()
    changed(folder, SEATED, "points_to:\n", answer[answer.index("points_to:") : answer.index("unexplained")])
    choice = (folder / LOW).read_text()
    again = choice[choice.index("  - alteration:") : choice.index("examples:")]
    changed(folder, LOW, "examples:\n", f"{again}examples:\n")
    pair = (folder / ORDER).read_text()
    conflict = pair[pair.index("  - one: take-in") : pair.index("holds:")]
    other_way = conflict.replace("take-in", "@").replace("raise-edge", "take-in").replace("@", "raise-edge")
    changed(folder, ORDER, "holds:", other_way + "holds:")
    said = {m.what for m in check_folder(folder)}
    assert {
        "'edge-low' is linked 2 times.", "'yes' points to 'edge-low' 2 times.",
        "'raise-edge' stands twice on the same conditions.", "'raise-edge' and 'take-in' conflict twice.",
    } <= said  # fmt: skip


def test_two_signs_on_the_same_readings_are_told(folder: Path) -> None:
    (folder / "symptoms/back/twin.yaml").write_text((folder / TILTS).read_text())
    where = f"rules/symptoms/back/twin.yaml:{line_of(folder, TILTS, 'when:')}"
    assert [(m.where, m.what) for m in check_folder(folder)] == [(where, "'twin' has the conditions of 'gap-tilts'.")]


def test_two_alterations_that_wait_for_each_other_are_told(folder: Path) -> None:
    hold = "  - hold: [take-in]\n    until: height\n    because: An invented reason here.\n    source: judgement\n"
    changed(folder, ORDER, "carry_over", f"{hold}carry_over")
    assert [m.what for m in check_folder(folder)] == ["'take-in' and 'raise-edge' wait for each other."]


def test_all_mistakes_come_at_once_and_those_of_form_before_the_others(folder: Path) -> None:
    changed(folder, BITES, "cause: edge-low", "cause: edge-lo")
    changed(folder, TAKE_IN, "by {edge}", "by {egde}")
    assert len(check_folder(folder)) == 2
    changed(folder, LOW, "common: rare", "common: raer")
    changed(folder, RAISE, "direction: up\n", "")
    told = [str(m) for m in check_folder(folder)]
    assert len(told) == 2
    assert any("edge-low.yaml:2: common:" in line for line in told)
    assert any("raise-edge.yaml" in line and "direction: is missing" in line for line in told)


def test_keys_out_of_order_an_entry_in_two_groups_and_a_missing_folder_are_told(folder: Path) -> None:
    changed(folder, RAISE, "family: height\nstep: edge\n", "step: edge\nfamily: height\n")
    assert "The keys stand out of order." in [m.what for m in check_folder(folder)]
    (folder / "causes/height/too-wide.yaml").write_text((folder / WIDE).read_text())
    assert "'too-wide' stands in two groups." in [m.what for m in check_folder(folder)]
    assert [m.what for m in check_folder(folder / "nowhere")] == ["There is no such folder of rules."]


def test_sources_that_no_line_names_are_named_and_are_no_mistake(folder: Path) -> None:
    (folder / "sources.yaml").open("a").write('nobodys: {kind: published, title: "A book nobody has read yet"}\n')
    assert check_folder(folder) == ()
    assert "nobodys" in idle_sources(folder)
    assert "judgement" not in idle_sources(folder)


def test_a_setting_that_nothing_reads_is_named_and_one_that_is_missing_is_a_mistake(folder: Path) -> None:
    path = folder / "settings.yaml"
    path.open("a").write(
        "nobodys:\n  title: A figure nobody reads\n  value: 1 in\n  because: An invented reason.\n  source: judgement\n"
    )
    assert check_folder(folder) == ()
    assert idle_settings(folder) == ("nobodys",)
    path.write_text(path.read_text().replace("\nround-most:", "\nround-least:"))
    assert [m.what for m in check_folder(folder)] == ["The setting 'round-most' is missing."]


def test_a_limit_on_what_is_not_there_is_a_mistake(folder: Path) -> None:
    changed(folder, "cautions.yaml", "setting: reduction-most", "setting: reduction-mst")
    changed(folder, "cautions.yaml", "fact: reduction-ratio", "fact: style")
    wrong = [(m.where, m.what) for m in check_folder(folder)]
    assert {what for _, what in wrong} == {"There is no setting 'reduction-mst'.", "'style' is no number."}
    assert all(re.search(r"cautions.yaml:\d+$", where) for where, _ in wrong)


def test_the_settings_are_those_that_the_program_reads_by_name(settings: Settings) -> None:
    source = "\n".join(path.read_text(encoding="utf-8") for path in Path(diagnose.__path__[0]).rglob("*.py"))
    read = set(re.findall(r"""\bmm\(\s*["']([a-z-]+)["']""", source)) | {"ruler-inch", "ruler-metric"}
    read |= {f"allowance-{role}" for role in ("bottom", "lacing", "opening", "seam", "top")}
    read |= {f"spring-{station}" for station in ("top", "underbust", "hip", "bottom")}
    read |= {f"fold-{where}-{end}" for where in ("front", "side", "back") for end in ("from", "to")}
    assert read == set(settings.values)


def test_no_source_of_the_bundled_rules_is_idle(rules_folder: Path) -> None:
    assert idle_sources(rules_folder) == ()


def test_the_command_tells_mistakes_with_exit_code_2_and_a_right_folder_with_0(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["rules", "check", str(folder)]) == 0
    assert capsys.readouterr().out.startswith("The rules are right.\n")
    changed(folder, BITES, "cause: edge-low", "cause: edge-lo")
    assert run(["rules", "check", str(folder)]) == 2
    told = capsys.readouterr()
    assert f"{BITES}:" in told.out
    assert "to put right." in told.err


def test_the_facts_called_given_are_those_the_program_gives_and_all_are_declared(
    base: RuleBase, settings: Settings
) -> None:
    garment = {"style": "corset", "closure": "back", "boning": "full", "straps": "none", "tabs": "none",
               "seams_per_half": 5, "allowance": "1/2 in", "busk": "split", "gussets": "hip", "stomacher": False,
               "suspenders": True, "sleeves": False, "waist_stay": True, "fastening": "laced"}  # fmt: skip
    wearer = {"bust": "36 in", "underbust": "32 in", "waist": "28 in", "hip": "38 in", "planned_reduction": "2 in",
              "changes_by": "1 in", "underarm_to_waist": "8 in", "waist_to_hip": "8 in",
              "front_seated": "12 in"}  # fmt: skip
    gap = {"top": "2 in", "underbust": "2 in", "waist": "2 1/2 in", "hip": "3 in", "bottom": "3 in"}
    raw = {"id": "t", "tension": "working", "garment": garment, "wearer": wearer, "gap": gap}
    tryon = read_tryon(raw, base.vocabulary)
    read = gap_facts(read_gap(tryon, settings))
    given = {*garment_facts(tryon), *read, *on_a_line({**read, "seams-per-half": 5.0})}
    assert given <= GIVEN_FACTS
    assert {name for name in GIVEN_FACTS if not name.startswith(("miss-", "done-"))} <= given
    assert set(base.entries.facts) >= GIVEN_FACTS


def test_nothing_follows_from_lines_about_another_fact() -> None:
    one = Condition(fact="gap-fall", comparison="at-least", value=5.0)
    other = Condition(fact="gap-waist", comparison="at-least", value=9.0)
    assert not follow([one], [other])
    assert follow([], [other])
    assert follow([one], [one, other])


TERMS = """\
terms:
  - id: edge
    word: edge
    also: [edges]
    meaning: Where the garment ends, above or below.
    see: edge-bites
    source: judgement
  - {id: lace, word: lace, meaning: The cord that draws the edges together., source: common-practice}
"""


@pytest.mark.parametrize(
    ("old", "new", "blamed", "say"),
    [
        ("see: edge-bites", "see: edge-bite", "see:", "There is no entry 'edge-bite'."),
        ("source: judgement", "source: judgment", "source: judg", "There is no source 'judgment'."),
        ("also: [edges]", "form: [edges]", "form:", "form: is not a key that stands here"),
        ("meaning: Where the garment ends, above or below.", "meaning: An end.", "meaning:", "says too little"),
        ("also: [edges]", "also: [Lace]", "id: lace", "“lace” stands under 'edge' too."),
        ("id: lace", "id: edge", "word: lace", "'edge' stands twice."),
    ],
)
def test_a_word_of_the_trade_is_checked_as_every_entry_is(
    folder: Path, old: str, new: str, blamed: str, say: str
) -> None:
    (folder / "terms.yaml").write_text(TERMS)
    assert check_folder(folder) == ()
    changed(folder, "terms.yaml", old, new)
    told = [str(mistake) for mistake in check_folder(folder)]
    line = line_of(folder, "terms.yaml", blamed)
    assert any(f"terms.yaml:{line}: " in one and say in one for one in told), told
