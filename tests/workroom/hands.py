"""How a page is worked: by finger, by mouse, or by the keyboard alone."""

from __future__ import annotations

import re

from chromium_here import led_on, touches
from playwright.sync_api import Locator, Page, expect

__all__ = ["Finger", "Keys", "Mouse", "on_edge"]

FARTHEST = 250
"""So many presses of Tab lead through any page."""


def on_edge(page: Page, piece: str, edge: str, part: float = 0.5) -> tuple[float, float]:
    """A spot of the screen on an edge of the drawing, so far along it."""
    line = page.locator(f'.taps g[data-piece="{piece}"] [data-edge="{edge}"]')
    line.scroll_into_view_if_needed()
    x, y = line.evaluate(
        """(e, part) => { const p = e.getPointAtLength(e.getTotalLength() * part).matrixTransform(e.getScreenCTM());
        return [p.x, p.y]; }""",
        part,
    )
    return x, y


class Mouse:
    """All that is pressed is clicked; edges are clicked on the drawing where the page has its script."""

    def __init__(self, page: Page, *, script: bool = True) -> None:
        self.page, self.script = page, script

    def button(self, name: str) -> None:
        """Press the first button of that name."""
        self.press(self.page.get_by_role("button", name=name, exact=True).first)

    def link(self, name: str) -> None:
        """Follow the first link whose name begins so, to its page."""
        found = self.page.get_by_role("link", name=re.compile(f"^{re.escape(name)}")).first
        led_on(self.page, lambda: self.press(found))

    def opens(self, summary: str) -> None:
        """Open what is folded away."""
        self.press(self.page.locator("summary", has_text=summary).first)

    def edge(self, entry: str, piece: str, edge: str) -> None:
        """Say which edge is meant: on the drawing, or in the list."""
        if self.script:
            self.tap(piece, edge)
        else:
            self.choose(self.page.locator(entry), f"{piece}|{edge}")
        expect(self.page.locator(entry)).to_have_value(f"{piece}|{edge}")

    def tap(self, piece: str, edge: str) -> None:
        """Tap the drawing."""
        self.page.mouse.click(*on_edge(self.page, piece, edge))

    def press(self, what: Locator) -> None:
        """Press it."""
        what.click()

    def write(self, entry: Locator, text: str) -> None:
        """Put the text into a field."""
        entry.fill(text)

    def choose(self, entry: Locator, value: str) -> None:
        """Pick a value of a list."""
        entry.select_option(value)

    def slide(self, entry: Locator, steps: int) -> None:
        """Move a slider by so many steps."""
        entry.fill(str(int(entry.input_value()) + steps))


class Finger(Mouse):
    """The drawing is tapped, and a slider dragged, with a finger."""

    def tap(self, piece: str, edge: str) -> None:
        """Tap the drawing."""
        self.page.touchscreen.tap(*on_edge(self.page, piece, edge))

    def press(self, what: Locator) -> None:
        """Tap it."""
        what.tap()

    def slide(self, entry: Locator, steps: int) -> None:
        """Drag the slider's knob by so many steps."""
        entry.scroll_into_view_if_needed()
        box = entry.bounding_box()
        assert box is not None
        low, high = (int(entry.get_attribute(name) or "") for name in ("min", "max"))
        now = int(entry.input_value())
        knob = 16.0
        spots = [
            (box["x"] + knob / 2 + (box["width"] - knob) * (value - low) / (high - low), box["y"] + box["height"] / 2)
            for value in (now, now + steps / 2, now + steps)
        ]
        touches(self.page, *([spot] for spot in spots))


class Keys(Mouse):
    """The keyboard alone: Tab leads to everything."""

    def edge(self, entry: str, piece: str, edge: str) -> None:
        """Say in the list which edge is meant."""
        self.choose(self.page.locator(entry), f"{piece}|{edge}")

    def press(self, what: Locator) -> None:
        """Press what Tab leads to."""
        self._to(what)
        self.page.keyboard.press("Enter")

    def write(self, entry: Locator, text: str) -> None:
        """Type over what stands in a field."""
        self._to(entry)
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)

    def choose(self, entry: Locator, value: str) -> None:
        """Go down a list, or up it, to a value."""
        self._to(entry)
        values = entry.evaluate("e => [...e.options].map(one => one.value)")
        away = values.index(value) - values.index(entry.input_value())
        for _ in range(abs(away)):
            self.page.keyboard.press("ArrowDown" if away > 0 else "ArrowUp")
        assert entry.input_value() == value

    def slide(self, entry: Locator, steps: int) -> None:
        """Move a slider by so many steps."""
        self._to(entry)
        for _ in range(abs(steps)):
            self.page.keyboard.press("ArrowRight" if steps > 0 else "ArrowLeft")

    def _to(self, what: Locator) -> None:
        expect(what).to_be_visible()
        meant = what.element_handle()
        for _ in range(FARTHEST):
            if meant.evaluate("e => document.activeElement === e"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{what} is not reached by the Tab key")
