import json
from pathlib import Path

import pytest
from invented_case import altered, narrower, started, unseal
from replaying import replay

from diagnose.casebook import Case, add_version, back_to, create, open_case
from diagnose.errors import FitError
from diagnose.pattern import operations
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.form.writer import to_json
from diagnose.places import bundled_cases


@pytest.fixture
def case(tmp_path: Path) -> Case:
    """Version 1 made narrower, then back to 1, then narrower again: 1 → 2, 1 → 3 → 4 → 5."""
    case = started(tmp_path / "lydia")
    case = add_version(case, altered(case.pattern, 3.3), 1, narrower(3.3))
    case = back_to(case, 1)
    for by_mm in (1 / 3, 1 / 7):
        case = add_version(case, altered(case.pattern, by_mm), case.newest.number, narrower(by_mm))
    unseal(case.folder)
    return case


def test_doing_it_all_over_again_gives_the_newest_pattern(case: Case) -> None:
    assert to_json(replay(case)) == to_json(case.pattern)


def test_a_real_pattern_taken_in_curved_and_shortened_can_be_made_again(tmp_path: Path) -> None:
    case = create(tmp_path / "dorcas", load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json"))
    done: list[list[dict[str, object]]] = [
        [{"op": "move-edge", "piece": "p3", "edge": "back-seam",
          "by": [{"at": "top", "mm": 3.175}, {"at": "waist", "mm": 0}]}],
        [{"op": "fold", "piece": "p4", "from": [380, -160], "to": [380, 200], "amount_from": 0, "amount_to": 6.35,
          "move": "right"},
         {"op": "length", "at": {"station": "waist", "offset": 40}, "amount": -6.35}],
        [{"op": "split-sides", "piece": "p2"}],
    ]  # fmt: skip
    for raw in done:
        doing = operations.parse_operations(raw)
        case = add_version(case, operations.do(case.pattern, doing).pattern, case.newest.number, doing)
    assert to_json(replay(open_case(case.folder))) == to_json(case.pattern)


def test_it_goes_on_from_the_last_pattern_brought_in_from_outside(case: Case) -> None:
    case = add_version(case, altered(case.pattern, 9.0), None, [], notes=["measured off the toile"])
    case = add_version(case, altered(case.pattern, 1.0), case.newest.number, narrower(1.0))
    assert to_json(replay(case)) == to_json(case.pattern)


@pytest.mark.parametrize(("by_mm", "is_refused"), [(2e-6, True), (1.0, True), (0.9e-6, False)])
def test_a_pattern_changed_by_hand_is_found_out(case: Case, by_mm: float, is_refused: bool) -> None:
    path = case.folder / "patterns/0004.json"
    raw = json.loads(path.read_text())
    raw["pieces"][0]["edges"][1]["path"][0][2] += by_mm
    raw["pieces"][0]["edges"][2]["path"][0][2] += by_mm
    path.write_text(json.dumps(raw))
    changed = open_case(case.folder)
    if is_refused:
        with pytest.raises(FitError, match=r"patterns/0004\.json"):
            replay(changed)
    else:
        replay(changed)


def test_an_operation_that_can_no_longer_be_done_is_named_by_its_file(case: Case) -> None:
    path = case.folder / "patterns/0004.done.json"
    path.write_text(path.read_text().replace('"side"', '"no such edge"'))
    with pytest.raises(FitError, match=r"patterns/0004\.done\.json"):
        replay(open_case(case.folder))
