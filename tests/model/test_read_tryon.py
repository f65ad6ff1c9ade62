"""A try-on from outside: read whole or refused whole."""

from typing import Any

import pytest

from diagnose.errors import FitError
from diagnose.model.tryon import TryOn, Vocabulary, read_tryon

SIGNS: Any = {"spill": ("length", 3.0, 76.0), "marks": ("minutes", 1.0, 240.0), "rubs": ("none", None, None)}
VOCABULARY = Vocabulary(SIGNS, frozenset({"boned", "meant-to-meet"}))


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
        ({"known": {"boned": "yes"}}, "known.boned", "valid boolean"),
        ({"garment": {"style": "jacket"}}, "garment.style", "“jacket”"),
        ({"garment": {"stile": "stays"}}, "garment.stile", "Did you mean style"),
        ({"garment": {"seams_per_half": 2.5}}, "garment.seams_per_half", "integer"),
        ({"wearer": {"waist": "3 in"}}, "wearer.waist", "no body girth"),
        ({"tension": "tight"}, "tension", "“tight”"),
        ({"gap": {"top": "1 in"}, "overlap": {"top": "1 in"}}, "overlap.top", "cannot lap"),
        ({"gap": {"top": "1 in"}, "gap_front": {"top": "2 in"}}, "gap_front.top", "more than the whole"),
        ({"seen": {"spill": {"shown": False, "amount": "1 in"}}}, "seen.spill", "absent, and measured"),
        ({"seen": {"rubs": {"amount": "1 in"}}}, "seen.rubs.amount", "No number"),
        ({"seen": {"spill": {"amount": "20 in"}}}, "seen.spill.amount", "believable"),
        ({"known": {"meant-to-meet": True}, "garment": {"meant_to_meet": False}}, "known.meant-to-meet", "opposite"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(raw: dict[str, Any], where: str, says: str) -> None:
    error = refusal(**raw)
    assert [m.where for m in error.mistakes] == [where]
    assert says in str(error)
    assert error.mistakes[0].do


def test_all_mistakes_are_told_at_once() -> None:
    error = refusal(gap={"top": "x", "waist": -1}, tension="?", extra=1)
    assert {m.where for m in error.mistakes} == {"gap.top", "gap.waist", "tension", "extra"}


@pytest.mark.parametrize("raw", [None, 3, [], "x", [{}]])
def test_what_is_no_try_on_at_all_is_refused(raw: object) -> None:
    with pytest.raises(FitError):
        read_tryon(raw, VOCABULARY)
