"""A try-on from outside: read whole or refused whole."""

from typing import Any

import pytest

from diagnose.errors import FitError
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import Vocabulary, read_tryon

SIGNS: Any = {"spill": ("length", 3.0, 76.0), "marks": ("minutes", 1.0, 240.0), "rubs": ("none", None, None)}
RANGES: Any = {"gap-waist": (-203.2, 508.0), "waist": (457.2, 1905.0), "body-change": (0.0, 152.4)}
VOCABULARY = Vocabulary(SIGNS, frozenset({"boned", "meant-to-meet"}), RANGES)


def read(**raw: Any) -> TryOn:
    return read_tryon({"id": "t", **raw}, VOCABULARY)


def refusal(**raw: Any) -> FitError:
    with pytest.raises(FitError) as caught:
        read(**raw)
    return caught.value


def test_every_key_but_the_id_may_be_missing() -> None:
    tryon = read()
    assert tryon.gap == {}
    assert tryon.garment.style is None


def test_the_id_may_not_be_missing() -> None:
    with pytest.raises(FitError, match="id"):
        read_tryon({}, VOCABULARY)


def test_a_sign_is_true_false_or_told_in_full() -> None:
    tryon = read(
        seen={"spill": {"side": "left", "grade": 2, "amount": "1/2 in"}, "rubs": False, "marks": {"amount": 25}}
    )
    assert tryon.seen["spill"].amount == pytest.approx(12.7)
    assert tryon.seen["spill"].side == "left"
    assert not tryon.seen["rubs"].shown
    assert tryon.seen["marks"].amount == 25.0


@pytest.mark.parametrize(
    ("raw", "where", "says"),
    [
        ({"gap": {"top": "-1 in"}}, "gap.top", "less than 0"),
        ({"gap": {"top": float("nan")}}, "gap.top", "not a length"),
        ({"gap": {"tip": "1 in"}}, "gap.tip", "tip"),
        ({"gap": {"top": True}}, "gap.top", "not a length"),
        ({"seen": {"spil": True}}, "seen.spil", "Did you mean spill"),
        ({"known": {"bone": True}}, "known.bone", "Did you mean boned"),
        ({"known": {"boned": "yes"}}, "known.boned", "Write true or false"),
        ({"garment": {"style": "jacket"}}, "garment.style", "“jacket”"),
        ({"garment": {"stile": "stays"}}, "garment.stile", "Did you mean style"),
        ({"garment": {"seams_per_half": 2.5}}, "garment.seams_per_half", "integer"),
        ({"wearer": {"waist": "3 in"}}, "wearer.waist", "no body girth"),
        ({"tension": "tight"}, "tension", "“tight”"),
        ({"gap": {"top": "1 in"}, "overlap": {"top": "1 in"}}, "overlap.top", "cannot lap"),
        ({"gap": {"top": "1 in"}, "gap_front": {"top": "2 in"}}, "gap_front.top", "more than the whole"),
        (
            {"gap": {"top": "2 in"}, "gap_front": {"top": "1 in"}, "garment": {"closure": "back"}},
            "gap_front",
            "laces front and back",
        ),
        ({"seen": {"spill": {"shown": False, "amount": "1 in"}}}, "seen.spill", "absent, and measured"),
        ({"seen": {"rubs": {"amount": "1 in"}}}, "seen.rubs.amount", "No number"),
        ({"seen": {"spill": {"amount": "3.2 in"}}}, "seen.spill.amount", "here, 1/8 in (3 mm) to 3 in (76 mm)"),
        ({"seen": {"spill": {"amount": "1 mm"}}}, "seen.spill.amount", "believable"),
        ({"seen": {"spill": {"amount": 12}}, "cant_tell": ["spil"]}, "cant_tell.0", "Did you mean spill"),
        ({"gap": {"waist": "21 in"}}, "gap.waist", "0 in to 20 in (508 mm)"),
        ({"gap": {"waist": 0}, "overlap": {"waist": "9 in"}}, "overlap.waist", "0 in to 8 in (203 mm)"),
        ({"target": {"waist": "21 in"}}, "target.waist", "believable"),
        ({"wearer": {"waist": "15 in"}}, "wearer.waist", "18 in (457 mm) to 75 in"),
        ({"wearer": {"changes_by": "7 in"}}, "wearer.changes_by", "believable"),
        ({"known": {"meant-to-meet": True}, "garment": {"meant_to_meet": False}}, "known.meant-to-meet", "opposite"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(raw: dict[str, Any], where: str, says: str) -> None:
    error = refusal(**raw)
    assert [m.where for m in error.mistakes] == [where]
    assert says in str(error)
    assert error.mistakes[0].remedy


def test_the_spelling_that_would_do_is_offered_where_another_unit_was_meant() -> None:
    assert "if 38 mm was meant, write it so" in str(refusal(gap={"waist": "38"}))
    assert "meant" not in str(refusal(gap={"waist": "900"}))


def test_an_amount_that_may_lie_on_either_side_may_be_less_than_nothing() -> None:
    either = Vocabulary({"off": ("length", -50.0, 50.0)}, frozenset())
    tryon = read_tryon({"id": "t", "seen": {"off": {"amount": "-1/2 in"}}}, either)
    assert tryon.seen["off"].amount == pytest.approx(-12.7)


def test_all_mistakes_are_told_at_once() -> None:
    error = refusal(gap={"top": "x", "waist": -1}, tension="?", extra=1)
    assert {m.where for m in error.mistakes} == {"gap.top", "gap.waist", "tension", "extra"}


def test_a_name_that_no_rule_knows_is_told_beside_the_mistakes_of_form() -> None:
    error = refusal(gap={"top": "x"}, seen={"no-such-sign": True}, known={"no-such-question": True}, cant_tell=["no"])
    assert {m.where for m in error.mistakes} == {
        "gap.top", "seen.no-such-sign", "known.no-such-question", "cant_tell.0",
    }  # fmt: skip


@pytest.mark.parametrize("raw", [None, 3, [], "x", [{}]])
def test_what_is_no_try_on_at_all_is_refused(raw: object) -> None:
    with pytest.raises(FitError):
        read_tryon(raw, VOCABULARY)
