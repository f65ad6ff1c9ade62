"""YAML read as plain text with its lines, and what rules may not use refused with its line."""

import os
from pathlib import Path

import pytest

from diagnose.errors import FitError, Mistake
from diagnose.files import LARGEST_YAML
from diagnose.rulebase.reading.yamlfile import parse_yaml, read_yaml


def wrong(text: str) -> tuple[Mistake, ...]:
    with pytest.raises(FitError) as caught:
        parse_yaml(text, "rules/x.yaml")
    return caught.value.mistakes


def test_every_scalar_stays_text() -> None:
    read = parse_yaml("a: yes\nb: 1.50\nc: 2026-01-02\nd: null\nf: 0x10\ng: '7'\nh:\n", "x")
    assert read.data == {"a": "yes", "b": "1.50", "c": "2026-01-02", "d": "null", "f": "0x10", "g": "7", "h": ""}


def test_each_place_has_the_line_of_its_key_or_item_and_an_unknown_one_that_of_what_holds_it() -> None:
    read = parse_yaml("a: 1\nb:\n  - c: 2\n    d:\n      e: >-\n        long\n        text\n  - f\n", "x.yaml")
    places = ((), ("a",), ("b",), ("b", 0), ("b", 0, "d"), ("b", 0, "d", "e"), ("b", 1))
    assert [read.at(place) for place in places] == [
        "x.yaml:1", "x.yaml:1", "x.yaml:2", "x.yaml:3", "x.yaml:4", "x.yaml:5", "x.yaml:8",
    ]  # fmt: skip
    assert read.at(("b", 0, "nothing", "here")) == "x.yaml:3"
    assert read.at(("b", 7)) == "x.yaml:2"


def test_an_empty_file_holds_nothing() -> None:
    assert parse_yaml("", "x").data is None
    assert parse_yaml("# only a remark\n", "x").at(("a",)) == "x"


def test_a_doubled_key_is_told_with_the_line_of_the_second() -> None:
    assert wrong("a: 1\nb: 2\na: 3\n") == (Mistake("rules/x.yaml:3", "“a” stands twice.", "Keep one.", "doubled-key"),)


def test_an_alias_is_refused_and_a_bomb_of_them_ends_at_once() -> None:
    assert [m.what for m in wrong("a: &it [1, 2]\nb: *it\n")] == ["An alias stands here."]
    bomb = "k0: &k0 [x, x]\n" + "".join(f"k{n}: &k{n} [*k{n - 1}, *k{n - 1}]\n" for n in range(1, 21))
    assert {m.what for m in wrong(bomb)} == {"An alias stands here."}


def test_an_alias_to_itself_is_refused() -> None:
    assert [m.what for m in wrong("a: &it\n  b: *it\n")] == ["An alias stands here."]


def test_what_is_not_yaml_is_told_with_its_line() -> None:
    (mistake,) = wrong("a: 1\nb: [1, 2\nc: 3\n")
    assert mistake.where.startswith("rules/x.yaml:")
    assert mistake.what.startswith("This is not YAML")


@pytest.mark.parametrize("text", ["a: \x07bell\n", "[" * 5000, "a: !!python/object:os.system x\nb: {"])
def test_hostile_text_is_refused_in_a_sentence(text: str) -> None:
    assert all(m.what for m in wrong(text))


@pytest.mark.parametrize("tag", ["!!python/name:os.system", "!mine", "!!binary", "!!set", "!!omap"])
def test_a_tag_is_refused_where_it_stands(tag: str) -> None:
    (mistake,) = wrong(f"b: 1\na: {tag} x\n")
    assert (mistake.where, mistake.do) == ("rules/x.yaml:2", "Write the value alone.")


@pytest.mark.parametrize("text", ["- " * 900, "[" * 900 + "]" * 900, "? " * 900, "{a: " * 90 + "1" + "}" * 90])
def test_what_is_nested_without_end_is_refused(text: str) -> None:
    assert any("nested" in m.what or "key" in m.what for m in wrong(text))


def test_a_list_or_mapping_as_a_key_is_refused() -> None:
    assert [m.what for m in wrong("? [a, b]\n: 1\n? {c: d}\n: 2\n")] == ["A list or mapping stands as a key."] * 2


def test_of_very_many_mistakes_the_first_hundred_are_told_and_how_many_are_left() -> None:
    found = wrong("a: 1\n" * 20_001)
    assert len(found) == 101
    assert found[-1].what == "There are 19900 mistakes more."


def test_a_mark_of_byte_order_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "x.yaml").write_bytes(b"\xef\xbb\xbfa: 1\n")
    assert read_yaml(tmp_path / "x.yaml", "x.yaml").data == {"a": "1"}


def test_a_pipe_or_a_device_is_no_file_of_rules_and_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "x.yaml")
    for path in (tmp_path / "x.yaml", Path("/dev/zero")):
        with pytest.raises(FitError, match="no ordinary file"):
            read_yaml(path, "x.yaml")


def test_a_file_over_a_megabyte_is_refused() -> None:
    assert wrong("#" * (LARGEST_YAML + 1))[0].what == "The file is larger than 1 MB."


def test_a_missing_file_a_folder_and_a_file_that_is_no_text_are_told(tmp_path: Path) -> None:
    (tmp_path / "bytes.yaml").write_bytes(b"a: \xff\xfe\n")
    said = []
    for path in (tmp_path / "none.yaml", tmp_path, tmp_path / "bytes.yaml"):
        with pytest.raises(FitError) as caught:
            read_yaml(path, "x.yaml")
        said.append(caught.value.mistakes[0].what)
    assert said[0].startswith("The file can't be read")
    assert said[1].startswith("The file can't be read")
    assert said[2] == "The file is not UTF-8 text."
