"""Whatever address she opens, she is led to where the try-on stands; nothing is stored twice or by half."""

from __future__ import annotations

import http.client
from collections.abc import Iterator

import pytest
from serving_here import Served, served

from diagnose.errors import FitError
from diagnose.interview.flow import ENOUGH
from diagnose.rulebase.base import RuleBase

TO_THE_LATE = {
    "stop": [], "gap.top": "1 in", "gap.waist": "2 in", "gap.bottom": "3 in", "tension": "working", "ready": True,
    "today": None, "where": [], "looked": [],
}  # fmt: skip


class Browser:
    """What a browser that has opened the page with its key sends."""

    def __init__(self, page: Served) -> None:
        self.page, self.cookie = page, ""
        self.cookie = self.ask(f"/?key={page.key}")[0].getheader("set-cookie", "").partition(";")[0]

    def ask(self, path: str, method: str = "GET", body: str | None = None) -> tuple[http.client.HTTPResponse, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.page.port, timeout=10)
        headers = {"cookie": self.cookie, "origin": f"http://{self.page.place}", "sec-fetch-site": "same-origin"}
        connection.request(method, path, body, headers | {"content-type": "application/x-www-form-urlencoded"})
        response = connection.getresponse()
        text = response.read().decode()
        connection.close()
        return response, text

    def led_to(self, path: str, method: str = "GET") -> str | None:
        response, _ = self.ask(path, method)
        return response.getheader("location") if response.status == 303 else None


@pytest.fixture
def browser(base: RuleBase) -> Iterator[Browser]:
    with served(base, dict(TO_THE_LATE)) as page:
        yield Browser(page)


def test_before_the_try_on_is_stored_there_is_neither_plan_nor_sheet(browser: Browser) -> None:
    assert [browser.led_to(path) for path in ("/plan", "/sheet", "/question/no-such")] == ["/", "/", "/"]


def test_once_it_is_stored_every_way_leads_to_the_plan(browser: Browser) -> None:
    assert browser.led_to("/go-on", "POST") == "/"
    assert browser.led_to("/") == "/question/sign.fold-under-bust"
    assert browser.led_to("/plan", "POST") == "/plan"
    assert [browser.led_to(path) for path in ("/", "/answers")] == ["/plan", "/plan"]
    assert browser.led_to("/question/stop") == "/"
    assert [browser.ask(path)[0].status for path in ("/plan", "/sheet")] == [200, 200]


def test_storing_it_again_keeps_the_first_plan(browser: Browser) -> None:
    browser.led_to("/plan", "POST")
    first = browser.page.holding.outcome
    assert browser.led_to("/plan", "POST") == "/plan"
    assert browser.page.holding.outcome is first


def test_enough_ends_the_late_questions_and_shows_the_answers(browser: Browser) -> None:
    holding = browser.page.holding
    assert holding.walk().next is not None
    assert browser.led_to("/enough", "POST") == "/answers"
    assert holding.walk().next is None
    assert browser.page.kept[-1][ENOUGH] is True


def test_what_cannot_be_stored_is_said_beside_the_answers_and_can_be_tried_again(browser: Browser) -> None:
    holding = browser.page.holding
    finish = holding.finish

    def full(_: object) -> None:
        raise FitError.of("wren", "The disk is full.", "Make room.")

    holding.finish = full  # type: ignore[assignment]
    response, text = browser.ask("/plan", "POST")
    assert response.status == 422
    assert "The disk is full." in text
    assert "Make room." in text
    assert holding.outcome is None
    holding.finish = finish
    assert browser.led_to("/plan", "POST") == "/plan"


def test_the_key_opened_again_by_the_same_browser_gives_it_no_second_cookie(browser: Browser) -> None:
    response, _ = browser.ask(f"/?key={browser.page.key}")
    assert (response.status, response.getheader("location")) == (303, "/")
    assert response.getheader("set-cookie") is None
