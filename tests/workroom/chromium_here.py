"""Debian's chromium as a maker uses it, and what must hold of every page it shows."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from itertools import combinations
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect

__all__ = [
    "DESK",
    "PHONE",
    "TABLET",
    "accessible_and_fits",
    "asked",
    "fits",
    "led_on",
    "letters_can_be_read",
    "nothing_more",
    "open_page",
    "press",
    "touches",
]

PATIENCE_MS = 60_000
"""How long anything is waited for: a busy machine is no fault of the page."""
expect.set_options(timeout=PATIENCE_MS)
LEAST_PX, TOUCH_PX = 11.0, 0.5
"""How high the letters of a drawing are at least, on the screen; and how far two words may touch, in px."""

PHONE, TABLET, DESK = (390, 844), (820, 1180), (1440, 900)


def open_page(browser: Browser, address: str, size: tuple[int, int] = PHONE, **how: Any) -> Page:
    """A page of a browser of its own."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, **how)
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.goto(address)
    return page


def press(page: Page, name: str) -> None:
    """Press the button of that name."""
    page.get_by_role("button", name=name, exact=True).click()


def nothing_more(page: Page, press_: Callable[[Locator], None] = Locator.click) -> None:
    """What is still asked, answered with nothing wrong or not known, to the last page."""
    for _ in range(40):
        heading = page.get_by_role("heading", level=1).inner_text()
        if heading == "That is all that is needed":
            break
        names = ["Working pull", "Yes, all", "As usual", "Nothing anywhere", "I looked everywhere", "Can’t tell"]
        for name in names:
            button = page.get_by_role("button", name=re.compile(f"^{name}"))
            if button.count():
                led_on(page, lambda button=button: press_(button.first))
                break


def led_on(page: Page, press_: Callable[[], None]) -> None:
    """Press, and wait for the page that it leads to."""
    here = page.url
    press_()
    page.wait_for_url(lambda url: url != here)


def asked(page: Page, text: str) -> None:
    """The page's heading holds the text."""
    expect(page.get_by_role("heading", level=1)).to_contain_text(text)


def accessible_and_fits(page: Page) -> None:
    """Axe finds nothing, and it fits."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    fits(page)


def fits(page: Page) -> None:
    """Nothing is wider than the screen, and all that is pressed is large enough for a finger."""
    # A telephone's own window grows with a page that is too wide for it.
    assert page.viewport_size is not None
    assert page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]
    small = page.evaluate(
        """() => [...document.querySelectorAll(
          'button, a:not(.term, .skip, p a, figcaption a), summary, label.pick, select, ' +
          'input:not([type=checkbox], [type=radio], [type=hidden])')]
        .filter(e => e.checkVisibility())
        .map(e => [e.textContent.trim() || e.id, e.getBoundingClientRect().width, e.getBoundingClientRect().height])
        .filter(([, w, h]) => w < 44 || h < 44)"""
    )
    assert small == []


def letters_can_be_read(page: Page) -> None:
    """Every word of every drawing is as high as letters have to be, and none lies on another of its drawing."""
    words = page.evaluate(
        """() => [...document.querySelectorAll("svg")].map(svg => [...svg.querySelectorAll("text")]
        .filter(one => one.checkVisibility() && one.textContent.trim()).map(one => {
          const { left, right, top, bottom } = one.getBoundingClientRect(), { a, b } = one.getScreenCTM();
          const high = parseFloat(getComputedStyle(one).fontSize) * Math.hypot(a, b);
          return [one.textContent, high, left, right, top, bottom]; }))"""
    )
    assert [one[:2] for drawing in words for one in drawing if one[1] < LEAST_PX] == []
    apart = [
        (one[0], other[0])
        for drawing in words
        for one, other in combinations(drawing, 2)
        if min(one[3], other[3]) - max(one[2], other[2]) > TOUCH_PX
        and min(one[5], other[5]) - max(one[4], other[4]) > TOUCH_PX
    ]
    assert apart == []


def touches(page: Page, *moves: Sequence[tuple[float, float]]) -> None:
    """Fingers that come down, move and are lifted, as a screen tells them."""
    screen = page.context.new_cdp_session(page)
    for number, spots in enumerate(moves):
        points = [{"x": x, "y": y, "id": n} for n, (x, y) in enumerate(spots)]
        screen.send(
            "Input.dispatchTouchEvent", {"type": "touchMove" if number else "touchStart", "touchPoints": points}
        )
    screen.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
