"""Words of the trade on the pages of a case lead to what they mean, once a page, and never within what is pressed: a
word that stands in a label alone has its mark beside it; one that is drawn, pressed or picked is told at the end."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urldefrag

import pytest
from chromium_here import DESK, PHONE, accessible_and_fits, open_page
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import expect
from room_here import Browser, Served, begun, served

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.casework.working import store_tryon
from diagnose.places import bundled_cases
from diagnose.rulebase.base import RuleBase
from diagnose.workroom.views import Terms

DRAWING = "corset-drawing.svg"
SHUT = {"a", "button", "label", "summary", "legend", "select", "textarea", "svg", "script", "head"}
VOID = {"meta", "link", "br", "hr", "img", "input", "path", "line"}
ALTER = tuple(f"/case/singer/alter?op={op}" for op in ("fold", "dart", "insert-gore", "channels", "strap", "tabs"))
PLACES = ("", "/plan", "/plan/ways?step=1.1", "/alter", "/versions", "/rounds", "/out", "/cutting", "/tryon/2/answers")


class Linked(HTMLParser):
    """A page read: where its words of the trade lead, what stands round each, and all that is to be read on it."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.to: list[str] = []
        self.within: list[list[str]] = []
        self.ids: set[str] = set()
        self.text = ""
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.ids |= {str(given["id"])} if "id" in given else set()
        if tag == "a" and str(given.get("class")).startswith("term"):
            self.to.append(str(given["href"]))
            self.within.append([one for one in self.open if one in SHUT])
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        pass

    def handle_endtag(self, tag: str) -> None:
        if tag in self.open:
            del self.open[len(self.open) - 1 - self.open[::-1].index(tag) :]

    def handle_data(self, data: str) -> None:
        if not {"head", "script", "style"} & set(self.open):
            self.text += f"{data} " if SHUT & set(self.open) else data


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder: Path = tmp_path_factory.mktemp("cases")
    bundled = bundled_case("singer")
    for name in ("singer", "drawn"):
        casebook.create(folder / name, bundled.pattern, **bundled.about)
        store_tryon(folder / name, bundled.rounds[0].answers)
    begun(folder, {"stop": [], "gap.top": "1 in", "gap.waist": "2 in"}, "wren")
    with served(folder) as room:
        yield room


def test_every_word_on_a_page_of_a_case_leads_to_its_entry_once(room: Served, base: RuleBase) -> None:
    browser = Browser(room)
    there = {f"/handbook/terms.html#{term.id}" for term in base.entries.terms.terms}
    anchors = Linked(browser.ask("/handbook/terms.html")[1]).ids
    forms = {form: term.id for term in base.entries.terms.terms for form in (term.word, *term.also)}
    reader = Terms({form: f"terms.html#{name}" for form, name in forms.items()})
    led: dict[str, set[str]] = {}
    # A try-on under way, and a case whose plan was drawn.
    assert browser.led_to("/case/drawn/plan/draw", {"step": "1.1"}) == "/case/drawn/versions"
    others = ("/", "/telephone", "/new", "/case/wren/tryon/1/ask/gap.waist", "/case/drawn/versions", *ALTER)
    for place in (*others, *(f"/case/singer{place}" for place in PLACES), "/handbook/signs/busk-bows-out.html"):
        answer, text = browser.ask(place)
        assert answer.status == 200, place
        page = Linked(text)
        assert page.within == [[] for _ in page.to], place
        words = [link for link in page.to if link.startswith("/handbook/terms.html")]
        assert len(words) == len(set(words)), place
        assert set(words) <= there
        assert {urldefrag(link)[1] for link in words} <= anchors
        led[place] = {urldefrag(link)[1] for link in words}
        if place.startswith("/handbook"):
            continue
        # No word in a text, a label, a button, a list or a drawing is linked nowhere on the page.
        left = {urldefrag(link)[1] for link in Linked(str(reader.linked_page(page.text))).to}
        assert left <= led[place], place
    assert led["/case/singer/plan"] >= {"lacing-gap", "take-in", "armhole", "bone", "true-a-line"}
    assert led["/case/singer/rounds"] >= {"lacing-gap"}
    assert led["/case/drawn/versions"] >= {"channel", "hem"}
    assert led["/case/wren/tryon/1/ask/gap.waist"] >= {"lacing-gap"}
    assert led["/handbook/signs/busk-bows-out.html"] >= {"busk"}


def test_a_new_case_has_its_words_linked(room: Served) -> None:
    assert "terms.html#stitching-line" in Browser(room).ask("/new")[1]


def test_the_words_of_the_cards_are_told_beneath_them_and_the_first_page_waits_for_no_other_rule(
    tmp_path: Path,
) -> None:
    begun(tmp_path)
    told = "from diagnose.workroom.pages import wall; from diagnose.workroom.room import Room; import sys, pathlib;"
    told += "from diagnose.workroom.asked import Asked; room = Room(pathlib.Path(sys.argv[1])); room.warm = print;"
    told += "assert b'terms.html#toile' in wall(room, Asked('GET', {}, {})).body;"
    told += "assert not {'diagnose.rulebase.base', 'shapely', 'numpy'} & set(sys.modules)"
    subprocess.run([sys.executable, "-c", told, str(tmp_path)], check=True, capture_output=True)


@pytest.mark.browser
def test_the_draft_held_against_the_body_has_its_words_linked(browser: Chromium, room: Served) -> None:
    page = open_page(browser, room.address("/new"), PHONE)
    page.get_by_label("Call it by wearer").fill("Ada, brown stays")
    page.get_by_label("The pattern that should fit").set_input_files(str(bundled_cases() / "patterns" / DRAWING))
    page.get_by_role("button", name="See what is understood").click()
    for girth in ("waist", "underbust"):
        page.get_by_label(f"{girth.capitalize()}, round").fill("28 in")
    page.get_by_role("button", name="Keep this").click()
    expect(page.locator("#draft-part a.term, #result a.term").first).to_be_attached()
    accessible_and_fits(page)
    assert page.locator(":is(a, button, label, summary, select, svg) a.term").count() == 0
    # On a busy machine a button stays at work for a while, and can be read then too.
    page.evaluate("document.querySelectorAll('button').forEach(one => one.setAttribute('aria-busy', 'true'))")
    accessible_and_fits(page)


def test_nothing_is_linked_within_what_is_pressed_drawn_or_linked_and_what_she_wrote_stays_escaped() -> None:
    terms = Terms({"busk": "b", "gore": "g"})
    apart = (
        '<a href="/x">busk</a><button>a busk</button><label>busk <input value="a > busk"></label>'
        "<summary><b>busk</b></summary><svg><text>busk</text></svg><p title='busk'>busks, busk-pocket, Gore's</p>"
    )
    mark = '<a class="term mark" href="/handbook/b" title="busk" aria-label="busk: what it means">?</a>'
    label = '<label>busk <input value="a > busk"></label>'
    linked = apart.replace("Gore", '<a class="term" href="/handbook/g">Gore</a>')
    assert terms.linked_page(apart) == linked.replace(label, f'<span class="marked">{label}{mark}</span>')
    drawn = "<p>x</p><svg><text>busk</text></svg><!--words--><button>gore</button>"
    told = '<a class="term" href="/handbook/b">busk</a>, <a class="term" href="/handbook/g">gore</a>'
    assert terms.linked_page(drawn) == drawn.replace("<!--words-->", f'<p class="words-here">Words here: {told}.</p>')
    head = "<fieldset><legend>Busk</legend></fieldset>"
    assert terms.linked_page(head) == head.replace("</legend>", f"</legend>{mark}")
    hers = "<p>&lt;b&gt;busk&lt;/b&gt; &amp; busk</p>"
    link = '<a class="term" href="/handbook/b">busk</a>'
    assert terms.linked_page(hers) == f"<p>&lt;b&gt;{link}&lt;/b&gt; &amp; busk</p>"
    assert terms.linked("<i>busk</i>") == f"&lt;i&gt;{link}&lt;/i&gt;"


@pytest.mark.browser
def test_the_words_are_found_as_they_are_typed_and_the_plan_with_them_stays_accessible(
    browser: Chromium, room: Served
) -> None:
    page = open_page(browser, room.address("/case/singer/plan"), PHONE)
    accessible_and_fits(page)
    page.locator('a.term[href*="terms.html"]:visible').first.click()
    page.get_by_role("searchbox").fill("whalebone")
    assert page.locator("[data-words]:visible dt").all_inner_texts() == ["Bone"]
    page.set_viewport_size({"width": DESK[0], "height": DESK[1]})
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.browser
def test_a_mark_beside_a_label_is_reached_by_the_keyboard_and_leads_to_the_word(
    browser: Chromium, room: Served
) -> None:
    page = open_page(browser, room.address("/case/singer/alter"), PHONE)
    entry = page.get_by_label("At the underbust", exact=True)
    expect(entry).to_have_attribute("name", "at-underbust")
    mark = page.get_by_role("link", name="underbust: what it means")
    page.get_by_label("At the top", exact=True).focus()
    page.keyboard.press("Tab")
    expect(mark).to_be_focused()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/handbook/terms.html#underbust$"))
