"""Shared by all tests: the bundled rules, settings and patterns, and a small way to make a try-on."""

import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from diagnose.model.settings import Settings
from diagnose.model.tryon import TryOn
from diagnose.model.tryon_reading import read_tryon
from diagnose.pattern.brought import load_pattern
from diagnose.pattern.outline import Pattern
from diagnose.places import bundled_cases, bundled_rules
from diagnose.rulebase.base import RuleBase
from diagnose.rulebase.loading import load_rulebase
from diagnose.rulebase.neutral import Matcher
from diagnose.rulebase.reading.settings_file import read_settings

MakeTryOn = Callable[..., TryOn]


# Where a machine forbids bytecode, as containers do, each process that a test starts would compile the house again.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# A busy machine is no fault of the code; and what fails on one run is to fail on the next, whatever ran before.
# New examples each time: tests/faults/random_inputs.py and tests/faults/fuzz_readers.py, by hand.
hypothesis.settings.register_profile(
    "any-machine", deadline=None, derandomize=True, suppress_health_check=[hypothesis.HealthCheck.too_slow]
)
hypothesis.settings.load_profile("any-machine")


# Colours, widths and screens of whoever runs the tests are no matter of theirs, nor are our own traces of faults.
SHOWING = ("FORCE_COLOR", "NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "PY_COLORS", "GITHUB_ACTIONS", "TTY_COMPATIBLE",
           "TTY_INTERACTIVE", "COLUMNS", "LINES", "DISPLAY", "WAYLAND_DISPLAY", "DIAGNOSE_TRACE")  # fmt: skip
_own = pytest.MonkeyPatch()


def pytest_configure(config: pytest.Config) -> None:
    """Tests keep their compiled rules, settings and what they wrote apart from the user's.

    From the start: some read the rules while they are collected.
    """
    folder = tempfile.mkdtemp(prefix="diagnose-tests-")
    config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))
    config.add_cleanup(_own.undo)
    for kind in ("CACHE", "CONFIG", "STATE"):
        _own.setenv(f"XDG_{kind}_HOME", os.path.join(folder, kind.lower()))
    for name in SHOWING:
        _own.delenv(name, raising=False)


MOST_LETTERS = 60
"""A folder for what does not last may have so long a path, and chromium makes a socket in it."""
LONGEST = ("workroom", "sheets", "photo", "loop", "faults", "plan", "pattern", "cli", "cases", "casebook")
"""Folders with files that take long."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest comes first, so that at the end no process is left alone with it while the other waits."""

    def place(item: pytest.Item) -> int:
        folder = item.path.relative_to(Path(__file__).parent).parts[0]
        return LONGEST.index(folder) if folder in LONGEST else len(LONGEST)

    items.sort(key=place)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Debian's chromium; without it a test is skipped, unless DIAGNOSE_NEEDS_BROWSER says that there is to be one."""
    chromium = shutil.which("chromium")
    if chromium is None and "DIAGNOSE_NEEDS_BROWSER" not in os.environ:
        pytest.skip("chromium is not installed")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as running:
        # It makes a socket there, whose path may have 107 letters and no more.
        folder = tempfile.gettempdir()
        environment = {**os.environ, "TMPDIR": folder if len(folder) <= MOST_LETTERS else "/tmp"}
        browser = running.chromium.launch(executable_path=chromium, args=["--no-sandbox"], env=environment)
        yield browser
        browser.close()


@pytest.fixture
def browser(chromium: Any) -> Iterator[Any]:
    """The browser, whose pages are closed after the test: what is left open goes on working."""
    yield chromium
    for context in chromium.contexts:
        context.close()


@pytest.fixture(scope="session")
def rules_folder() -> Path:
    return bundled_rules()


@pytest.fixture(scope="session")
def settings(rules_folder: Path) -> Settings:
    return read_settings(rules_folder)


@pytest.fixture(scope="session")
def base() -> RuleBase:
    return load_rulebase()


@pytest.fixture(scope="session")
def matcher(base: RuleBase) -> Matcher:
    from diagnose.engine.matching import matcher_for

    return matcher_for(base)


@pytest.fixture(scope="session")
def make_tryon(base: RuleBase) -> MakeTryOn:
    def make(**raw: Any) -> TryOn:
        return read_tryon({"id": "t", **raw}, base.vocabulary)

    return make


@pytest.fixture(scope="session")
def bodies() -> Pattern:
    """The bundled one-piece bodies: a fold, five tabs, fourteen channels, bent levels."""
    return load_pattern(bundled_cases() / "patterns" / "boned-bodies.json")


@pytest.fixture(scope="session")
def corset() -> Pattern:
    """The bundled six-panel corset."""
    return load_pattern(bundled_cases() / "patterns" / "six-panel-corset.json")
