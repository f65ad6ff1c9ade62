"""Rule files a maker has spoilt in ways that are seldom: each told in a sentence, none brings the check down."""

from __future__ import annotations

from pathlib import Path

import pytest
from pydantic import ValidationError
from small_rules import changed, small_folder

from diagnose.errors import FitError
from diagnose.model.settings import Settings
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.checking.check import check_folder
from diagnose.rulebase.compiling import conditions_of
from diagnose.rulebase.reading.moves import wrong_with
from diagnose.rulebase.reading.outside_checks import Figure

LOW = "causes/height/edge-low.yaml"
WIDE = "causes/girth/too-wide.yaml"


@pytest.mark.parametrize(
    ("move", "says"),
    [
        ({"do": "edge", "place": ["front-top"], "direction": "up"}, "“place” is not one word."),
        ({"do": "tabs", "what": 3}, "“what” is not one word."),
        ({"do": "length", "station": "waist", "way": "shorten", "offset": 25}, "“offset” is not one word."),
        ({"do": "bust-over-seam", "way": "enlarge", "length_part": "half"}, "“half” does not do as a part."),
        ({"do": "bust-over-seam", "way": "enlarge", "length_part": "nan"}, "“nan” does not do as a part."),
        ({"do": "grain", "least_deg": "-1", "most_deg": "5"}, "“-1” does not do as a degrees."),
    ],
)
def test_a_value_that_is_no_word_or_no_number_is_said(move: dict[str, object], says: str) -> None:
    verb = str(move["do"])
    assert [what for what, _ in wrong_with(verb, {key: move[key] for key in move.keys() - {"do"}})] == [says]


@pytest.mark.parametrize("text", ["- a\n- list\n", "just words\n", "3\n"])
def test_a_file_that_is_no_mapping_of_keys_is_said_beside_the_other_mistakes(tmp_path: Path, text: str) -> None:
    folder = small_folder(tmp_path)
    (folder / LOW).write_text(text, encoding="utf-8")
    mistakes = check_folder(folder)
    own = [mistake for mistake in mistakes if "edge-low.yaml" in mistake.where]
    assert [mistake.what for mistake in own] == ["The file is not a mapping of keys."]


def test_filler_is_found_among_lists_and_numbers(tmp_path: Path) -> None:
    folder = small_folder(tmp_path)
    assert check_folder(folder) == ()
    changed(folder, WIDE, "beyond: Do the rest after the next try-on.", "beyond: TODO say what then is to be done.")
    (mistake,) = check_folder(folder)
    assert "TODO say what then is to be done." in mistake.what
    assert "too-wide.yaml" in mistake.where


@pytest.mark.parametrize(("within", "sound"), [(None, True), ("1 mm", True), ("about", False)])
def test_a_figure_is_compared_within_a_size(within: str | None, sound: bool) -> None:
    figure = {"what": "A made-up width", "theirs": "10 mm", "ours": "10 mm", "within": within}
    if sound:
        assert Figure.model_validate(figure).within == within
    else:
        with pytest.raises(ValidationError, match="no size to be within"):
            Figure.model_validate(figure)


def test_a_question_that_points_to_no_cause_is_no_rule(base: RuleBase) -> None:
    name, question = next((n, q) for n, q in base.entries.questions.items() if q.points_to)
    silent = question.model_copy(update={"points_to": ()})
    entries = base.entries.model_copy(update={"questions": {**base.entries.questions, name: silent}})
    rules = [{rule.id for rule in conditions_of(rules)} for rules in (base.entries, entries)]
    assert rules[0] - rules[1] == {f"answer:{name}"}


def test_a_setting_that_there_is_not_is_refused_with_the_nearest(settings: Settings) -> None:
    name = next(iter(settings.values))
    assert settings.with_value(name, 3.0).values[name].value == 3.0
    with pytest.raises(FitError, match="There is no setting") as caught:
        settings.with_value(f"{name}s", 3.0)
    assert name in caught.value.mistakes[0].do
