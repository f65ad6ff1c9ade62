"""Whatever is read, spoilt in whatever way: a value or a clear refusal, and no waiting."""

from __future__ import annotations

import time
from random import Random

import pytest
from every_reader import READERS
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from spoiling import HOSTILE_VALUES, spoilt

from diagnose.errors import FitError, Mistake

LONGEST_S = 1.0
"""Of the processor's time, since other tests may run beside."""
COSTLY = (
    "svg", "dxf", "labels", "replies", "operations", "rules", "case", "old case", "about", "drawn", "to paper",
)  # fmt: skip


def is_read_or_refused(name: str, data: bytes) -> None:
    refused, took_s = read(name, data)
    assert all(mistake.what for mistake in refused)
    assert sum(len(str(mistake)) for mistake in refused) < 100_000
    # What is slow is read again: the first reading of all loads the libraries too.
    assert took_s < LONGEST_S or read(name, data)[1] < LONGEST_S


def read(name: str, data: bytes) -> tuple[tuple[Mistake, ...], float]:
    """What was refused of it, and how long that took."""
    began = time.process_time()
    refused: tuple[Mistake, ...] = ()
    try:
        READERS[name].read(data)
    except FitError as error:
        refused = error.mistakes
    return refused, time.process_time() - began


def few(count: int) -> settings:
    return settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("name", READERS)
def test_what_is_not_spoilt_is_read(name: str) -> None:
    for seed in READERS[name].seeds:
        READERS[name].read(seed)


@pytest.mark.parametrize("name", [name for name in READERS if not name.startswith(COSTLY)])
@few(150)
@given(st.data(), st.randoms(use_true_random=False))
def test_a_spoilt_text_is_read_or_refused(name: str, data: st.DataObject, chance: Random) -> None:
    is_read_or_refused(name, spoilt(data.draw(st.sampled_from(READERS[name].seeds)), chance))


@pytest.mark.parametrize("name", [name for name in READERS if name.startswith(COSTLY)])
@few(8)
@given(st.data(), st.randoms(use_true_random=False))
def test_a_spoilt_drawing_case_or_rule_is_read_or_refused(name: str, data: st.DataObject, chance: Random) -> None:
    is_read_or_refused(name, spoilt(data.draw(st.sampled_from(READERS[name].seeds)), chance))


@pytest.mark.parametrize("name", ["stored pattern", "point table", "answers in yaml", "answers in json", "batch line"])
@few(100)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(name: str, data: bytes) -> None:
    is_read_or_refused(name, data)


@pytest.mark.parametrize("unit", ["", " in", " mm", '"'])
@few(300)
@given(st.one_of(st.text(max_size=50), st.from_regex(r"[-+ 0-9./½¼″\"inmc]{0,45}", fullmatch=True)))
def test_any_text_is_a_length_or_refused(unit: str, text: str) -> None:
    is_read_or_refused("length", (text + unit).encode(errors="surrogatepass"))


@pytest.mark.parametrize("value", HOSTILE_VALUES)
def test_a_hostile_value_anywhere_in_an_answer_is_read_or_refused(value: str) -> None:
    for key in ("id", "tension", "target", "gap", "seen", "known", "garment", "wearer", "pattern"):
        is_read_or_refused("batch line", f'{{"id": "x", "{key}": {value}}}'.encode(errors="surrogatepass"))
    for sign in ("slides-down", "marks-on-skin", "spill-at-front"):
        line = f'{{"id": "x", "seen": {{"{sign}": {{"amount": {value}}}}}}}'
        is_read_or_refused("batch line", line.encode(errors="surrogatepass"))
        is_read_or_refused("answers in yaml", line.encode(errors="surrogatepass"))


def test_very_many_wrong_keys_are_refused_at_once() -> None:
    keys = ", ".join(f'"sign-{n}": true' for n in range(300_000))
    for line in (f"{{{keys}}}", f'{{"seen": {{{keys}}}}}', f'{{"seen": {{"slides-down": {{{keys}}}}}}}'):
        is_read_or_refused("batch line", line.encode())


@pytest.mark.parametrize("name", ["batch line", "answers in json", "answers in yaml", "stored pattern"])
def test_of_a_key_that_stands_twice_none_is_lost_unseen(name: str) -> None:
    with pytest.raises(FitError, match="twice"):
        READERS[name].read(b'{"id": "x", "gap": {"top": "1 in", "waist": "2 in", "top": "3 in"}}')


def test_a_name_of_a_million_letters_is_refused_at_once_and_told_in_short() -> None:
    name = "slides-dow" * 100_000
    for line in (f'{{"seen": {{"{name}": true}}}}', f'{{"{name}": 1}}', f'{{"garment": {{"style": "{name}"}}}}'):
        with pytest.raises(FitError) as caught:
            READERS["batch line"].read(line.encode())
        assert len(str(caught.value)) < 2000
