"""The page is opened in her browser, unless she says no or there is no screen; the address is told either way."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case


@pytest.mark.long
@pytest.mark.parametrize(
    ("options", "screen", "opened"), [([], ":9", True), (["--no-open"], ":9", False), ([], "", False)]
)
def test_the_address_is_told_and_opened_where_it_can_be(
    tmp_path: Path, options: list[str], screen: str, opened: bool
) -> None:
    bundled = bundled_case("dancer")
    casebook.create(tmp_path / "dancer", bundled.pattern, **bundled.about)
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$1" > {tmp_path}/shown\n', encoding="utf-8")
    browser.chmod(0o755)
    told = _told([str(tmp_path / "dancer"), "--page", *options], {"DISPLAY": screen, "BROWSER": f"{browser} %s"})
    address = re.search(r"http://127\.0\.0\.1:\d+/\?key=\S+", told)
    assert address is not None
    shown = tmp_path / "shown"
    assert shown.exists() == opened
    if opened:
        assert shown.read_text(encoding="utf-8").strip() == address.group()
    assert all(len(line) <= 80 for line in told.splitlines() if "http" not in line)


def _told(arguments: list[str], screen: dict[str, str]) -> str:
    """What is told until the page is served."""
    environment = {name: value for name, value in os.environ.items() if name != "WAYLAND_DISPLAY"} | screen
    command = [sys.executable, "-m", "diagnose", "tryon", *arguments]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment)
    assert process.stderr is not None
    told = ""
    for line in process.stderr:
        told += line
        if "Ctrl-C ends it" in line:
            break
    process.kill()
    process.communicate()
    return told
