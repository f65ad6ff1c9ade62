"""The handbook: every entry has its page, every link leads somewhere, and every page stands by itself."""

from __future__ import annotations

import os
import posixpath
import time
from collections.abc import Sequence
from itertools import takewhile
from pathlib import Path
from typing import Any
from urllib.parse import urldefrag

import pytest
from page_read import Page

from diagnose.cli.running import run
from diagnose.errors import FitError
from diagnose.pattern.outline import Pattern
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.reading.entries import Alteration
from diagnose.rulebase.reading.fields import Condition
from diagnose.sheets.entry_pages import FOLDERS, page_of
from diagnose.sheets.handbook import make_handbook
from diagnose.sheets.handbook.examples import Worked, bundled_patterns, work_example
from diagnose.sheets.handbook.linking import Links
from diagnose.sheets.handbook.pages import count_pages, pages

MOST_SECONDS = 60.0  # of one processor, and six times what it takes on a busy one


@pytest.fixture(scope="module")
def worked() -> dict[str, Worked]:
    """The worked examples of the handbook, by alteration, once it is made."""
    return {}


@pytest.fixture(scope="module")
def handbook(base: RuleBase, tmp_path_factory: pytest.TempPathFactory, worked: dict[str, Worked]) -> Path:
    """Made where an earlier one was killed at its first page, long ago."""

    def kept(alteration: Alteration, base: RuleBase, patterns: Sequence[Pattern]) -> Worked:
        worked[alteration.id] = work_example(alteration, base, patterns)
        return worked[alteration.id]

    folder = tmp_path_factory.mktemp("handbook")
    (folder / ".writing-1.part").write_text("half a st")
    os.utime(folder / ".writing-1.part", (1.0, 1.0))
    began = time.process_time()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("diagnose.sheets.handbook.pages.work_example", kept)
        assert make_handbook(base, folder) == folder / "index.html"
    assert time.process_time() - began < MOST_SECONDS
    return folder


@pytest.fixture(scope="module")
def read(handbook: Path) -> dict[str, Page]:
    files = sorted(handbook.rglob("*.html"))
    return {path.relative_to(handbook).as_posix(): Page(path.read_text(encoding="utf-8")) for path in files}


def test_every_entry_has_its_page_and_nothing_else_is_in_the_folder(
    base: RuleBase, handbook: Path, read: dict[str, Page]
) -> None:
    wanted = {page_of(kind, entry) for kind in FOLDERS for entry in getattr(base.entries, kind)}
    assert wanted <= set(read)
    assert len(read) == count_pages(base.entries)
    others = [path.name for path in handbook.rglob("*") if path.is_file() and path.suffix != ".html"]
    assert sorted(others) == ["find.js", "handbook.css"]


def test_every_page_is_well_formed_with_one_heading_and_no_id_twice(read: dict[str, Page]) -> None:
    for name, page in read.items():
        assert page.wrong == [], name
        assert page.counts["h1"] == page.counts["title"] == page.counts["main"] == 1, name
        assert len(page.ids) == len(set(page.ids)), name


def test_every_link_leads_to_a_page_of_the_handbook_and_to_a_place_on_it(handbook: Path, read: dict[str, Page]) -> None:
    files = {path.relative_to(handbook).as_posix() for path in handbook.rglob("*") if path.is_file()}
    ids = {name: set(page.ids) for name, page in read.items()}
    dead = []
    for name, page in read.items():
        for link in page.links:
            target, place = led_to(name, link)
            if target not in files or (place and place not in ids.get(target, ())):
                dead.append(f"{name}: {link}")
    assert dead == []


def led_to(name: str, link: str) -> tuple[str, str]:
    """The file of the handbook that a link on a page leads to, and the place on it."""
    target, place = urldefrag(link)
    return (posixpath.normpath(posixpath.join(posixpath.dirname(name), target)) if target else name), place


def test_every_word_of_the_trade_has_its_place_its_meaning_and_its_source(
    base: RuleBase, read: dict[str, Page]
) -> None:
    page = read["terms.html"]
    words = " ".join(page.words.split())
    for term in base.entries.terms.terms:
        assert page_of("terms", term.id) == f"terms.html#{term.id}"
        assert term.id in page.ids
        assert f"{term.title}{term.meaning}" in words
        assert base.entries.sources[term.source].title in words
        if term.see:
            assert any(link.endswith(f"/{term.see}.html") for link in page.links), term.see


def test_every_page_can_be_come_to_from_the_front_page(read: dict[str, Page]) -> None:
    seen, ahead = {"index.html"}, ["index.html"]
    while ahead:
        name = ahead.pop()
        for link in read[name].links:
            target, _ = led_to(name, link)
            if target in read and target not in seen:
                seen.add(target)
                ahead.append(target)
    assert seen == set(read)


def test_no_page_but_those_that_are_searched_runs_a_script_and_none_fetches_anything(
    handbook: Path, read: dict[str, Page]
) -> None:
    for name, page in read.items():
        assert not {"iframe", "img", "object", "style"} & set(page.counts), name
        assert ("script" in page.counts) is (name in ("index.html", "a-to-z.html", "terms.html")), name
        assert all("://" not in link for link in page.links), name
    style = (handbook / "handbook.css").read_text()
    assert "url(" not in style
    assert "@import" not in style


def test_the_page_of_a_sign_gives_each_cause_with_how_often_why_and_its_source(
    base: RuleBase, read: dict[str, Page]
) -> None:
    for symptom in base.entries.symptoms.values():
        words = " ".join(read[page_of("symptoms", symptom.id)].words.split())
        assert " ".join(symptom.ask.split()) in words
        for link in symptom.causes:
            assert " ".join(link.because.split()) in words, (symptom.id, link.cause)
            assert base.entries.causes[link.cause].title in words
            assert f"shows this {link.shows.replace('-', ' ')}" in words
        if symptom.now:
            assert "Stop. Unlace now." in words
            assert " ".join(symptom.now.split()) in words


def test_the_likeliest_cause_of_a_sign_stands_first(base: RuleBase) -> None:
    links, words = Links(base.entries, "in"), base.entries.words
    for symptom in base.entries.symptoms.values():
        worth = [words.common[cause.common] * words.shows[link.shows] for cause, link in links.suspects(symptom)]
        assert worth == sorted(worth, reverse=True)
        assert len(worth) == len(symptom.causes)


def test_an_alteration_shows_its_steps_with_figures_and_what_gets_better_and_worse(
    base: RuleBase, read: dict[str, Page]
) -> None:
    for alteration in base.entries.alterations.values():
        page = read[page_of("alterations", alteration.id)]
        assert not any(f"{{{name}}}" in page.words for name in ("amount", "half", "seam", "edge")), alteration.id
        for sign in (*alteration.improves, *alteration.worsens):
            assert f"../{page_of('symptoms', sign)}" in page.links, alteration.id
        for cause in base.entries.causes.values():
            if any(choice.alteration == alteration.id for choice in cause.alterations):
                assert f"../{page_of('causes', cause.id)}" in page.links, alteration.id


@pytest.mark.usefixtures("handbook")
def test_what_can_be_drawn_is_pictured_old_line_and_new_and_most_alterations_can(
    base: RuleBase, worked: dict[str, Worked]
) -> None:
    moving = [one for one in base.entries.alterations.values() if one.kind in ("girth", "length")]
    drawn = {one.id: worked[one.id] for one in moving}
    pictured = {name: worked for name, worked in drawn.items() if worked.picture is not None}
    assert len(pictured) >= 0.75 * len(moving), sorted(set(drawn) - set(pictured))
    for_hand = {one.id for one in moving if all(move.do == "note" for move in one.does)}
    assert all(worked.notes for name, worked in drawn.items() if name not in pictured and name not in for_hand)
    lines = {"old-line", "taken-away", "added", "slits", "dimensions", "work", "letters", "channels"}
    for name, worked in pictured.items():
        assert worked.picture is not None
        layers = {layer.id for layer in worked.picture.layers}
        assert "outline" in layers, name
        assert layers & lines or worked.steps, name


def test_a_change_over_all_seams_is_told_on_each_line_and_one_on_few_lines_step_by_step(base: RuleBase) -> None:
    alterations, patterns = base.entries.alterations, bundled_patterns()
    all_seams = work_example(alterations["take-in-evenly"], base, patterns)
    # geometry: 2 in over five seams a half is 1 in over ten lines of a half, 1/10 in each: nearest 1/8 and 1/16 in
    assert (all_seams.pattern, all_seams.steps) == ("six-panel corset", ())
    assert all_seams.figure.endswith("on each stitching line")
    assert all_seams.figure.startswith(("1/8 in", "1/16 in"))
    edge = work_example(alterations["lower-underarm"], base, patterns)
    assert edge.figure == "3/8 in (10 mm)"
    assert any("3/8 in" in step.text or any("3/8 in" in much for _, much in step.table) for step in edge.steps)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ({"fact": "spill-at-front", "is": "yes"}, "“Spill over the top in front” shows"),
        ({"fact": "spill-at-front", "is": "no"}, "“Spill over the top in front” does not show"),
        ({"fact": "spill-at-front", "is-not": "yes"}, "“Spill over the top in front” does not show"),
        ({"fact": "narrow-back", "is-not": "yes"}, "is answered no"),
        ({"fact": "tabs", "is-not": "none"}, "Tabs below the waist: not none"),
        ({"fact": "gap-fall", "at-least": "1/2 in"}, "is at least 1/2 in (13 mm)"),
        ({"fact": "seams-per-half", "at-most": "0"}, "is at most 0"),
        ({"fact": "spill-at-front.grade", "at-least": "2"}, "is at least 2"),
        ({"fact": "spill-at-front.amount", "more-than": "1 in"}, "is more than 1 in (25 mm)"),
    ],
)
def test_a_condition_is_told_in_words(base: RuleBase, raw: dict[str, Any], words: str) -> None:
    told = Page(str(Links(base.entries, "in").condition(Condition.model_validate(raw)))).words
    assert words in told


def test_an_amount_names_what_it_reads(base: RuleBase) -> None:
    told = Page(str(Links(base.entries, "in").amount("min(spill-at-side-bust.amount + 1/4 in, change-top)"))).words
    assert told == "min([the height of the flesh above the edge] + 1/4 in, [Change wanted at the top])"


def test_what_a_maker_writes_in_her_rules_is_escaped(base: RuleBase) -> None:
    evil = "<script>alert(1)</script> & more"
    cause = base.entries.causes["top-edge-too-low"].model_copy(update={"title": evil, "because": evil})
    entries = base.entries.model_copy(update={"causes": {**base.entries.causes, cause.id: cause}})
    made = pages(RuleBase(entries, base.settings, "x"))
    written = dict(takewhile(lambda page: not page[0].startswith("alterations/"), made))
    page = Page(written[page_of("causes", cause.id)])
    assert "script" not in page.counts
    assert evil in page.words


def test_a_handbook_may_be_made_again_and_no_other_folder_or_file_is_written_into(
    base: RuleBase, handbook: Path, tmp_path: Path
) -> None:
    (tmp_path / "note.txt").write_text("mine")
    with pytest.raises(FitError, match="holds something else"):
        make_handbook(base, tmp_path)
    with pytest.raises(FitError, match="a file, not a folder"):
        make_handbook(base, tmp_path / "note.txt")
    with pytest.raises(FitError, match="no folder"):
        make_handbook(base, tmp_path / "note.txt" / "book")
    assert [path.name for path in tmp_path.iterdir()] == ["note.txt"]


def test_a_handbook_for_which_the_disk_has_no_room_leaves_nothing_and_the_old_one_whole(
    base: RuleBase, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = tmp_path / "book"
    old.mkdir()
    (old / "handbook.css").write_text("as it was")
    really, written = Path.write_text, [0]

    def full(path: Path, *args: Any, **more: Any) -> int:
        written[0] += 1
        if written[0] > 2:
            raise OSError(28, "No space left on device")
        return really(path, *args, **more)

    monkeypatch.setattr(Path, "write_text", full)
    monkeypatch.setattr("diagnose.sheets.handbook.pages.pages", lambda base: iter([("a.html", "a"), ("b.html", "b")]))
    with pytest.raises(FitError, match=r"disk is full.*Nothing has been changed"):
        make_handbook(base, old)
    monkeypatch.undo()
    assert {path.name: path.read_text() for path in tmp_path.rglob("*") if path.is_file()} == {
        "handbook.css": "as it was"
    }
    monkeypatch.setattr("diagnose.sheets.handbook.pages.pages", lambda base: iter([("a.html", "a")]))
    make_handbook(base, old)  # an old handbook is written over
    assert (old / "a.html").read_text() == "a"
    assert (old / "handbook.css").read_text() != "as it was"


@pytest.mark.long
def test_the_command_says_where_the_front_page_is_and_works_in_millimetres(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "book"
    assert run(["rules", "handbook", "--out", str(out), "--unit", "mm"]) == 0
    told = capsys.readouterr()
    assert told.out == f"The handbook is made: open {out / 'index.html'}\n"
    assert told.err == ""
    words = Page((out / "alterations" / "raise-side-edge.html").read_text(encoding="utf-8")).words
    assert "19 mm" in words
    assert "Under 6 mm" in words


def test_the_index_can_be_looked_at_and_searched(handbook: Path, base: RuleBase) -> None:
    signs = (handbook / "signs.html").read_text()
    assert signs.count("<svg") == len(base.entries.symptoms)
    index = (handbook / "a-to-z.html").read_text()
    words = len(base.entries.terms.terms)
    assert index.count("data-words=") == sum(len(getattr(base.entries, kind)) for kind in FOLDERS) + words
    assert (handbook / "terms.html").read_text().count("data-words=") == words > 0
    assert '<script src="find.js" defer></script>' in index
    assert (handbook / "find.js").is_file()
