"""The page is opened in her browser, unless she says no or there is no screen; the address is told either way."""

from __future__ import annotations

import asyncio
import http.client
import os
import re
import shlex
import signal
import socket
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from diagnose import casebook
from diagnose.casebook.bundled import bundled_case
from diagnose.workroom.serving import listening_at


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
    browser.write_text(f'#!/bin/sh\necho "$1" > "{tmp_path}/shown"\n', encoding="utf-8")
    browser.chmod(0o755)
    shows = {"DISPLAY": screen, "BROWSER": f"{shlex.quote(str(browser))} %s"}
    told = _told([str(tmp_path / "dancer"), "--page", *options], shows)
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


def test_ctrl_c_ends_it_though_a_body_was_announced_and_never_came(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "diagnose", "workroom", str(tmp_path), "--no-open"]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert process.stderr is not None
    found = next(found for line in process.stderr if (found := re.search(r"http://(\S+)/\?key=(\S+)", line)))
    place, key = found.groups()
    host, port = place.split(":")
    line = http.client.HTTPConnection(place, timeout=60)
    line.request("GET", f"/?key={key}")
    cookie = (line.getresponse().getheader("set-cookie") or "").partition(";")[0]
    with socket.create_connection((host, int(port))) as half:
        head = f"POST /telephone/code HTTP/1.1\r\nhost: {place}\r\norigin: http://{place}\r\ncookie: {cookie}\r\n"
        half.sendall(f"{head}content-length: 100\r\n\r\nx=".encode())
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        _, told = process.communicate(timeout=60)
    line.close()
    assert process.returncode == 130
    assert "Traceback" not in told
    assert not (tmp_path / ".workroom-open").exists()


def test_a_reply_is_not_held_back_until_the_browser_has_thanked_for_its_first_part() -> None:
    """asyncio turns that off (TCP_NODELAY) where a connection names its protocol, and only there."""
    (listening,) = listening_at(["127.0.0.1"])
    with listening, socket.create_connection(listening.getsockname()) as browser:
        taken, _ = listening.accept()

        async def delay_is_off() -> int:
            _, writer = await asyncio.open_connection(sock=taken)
            found: int = writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
            writer.close()
            return found

        taken.setblocking(False)
        with ThreadPoolExecutor(max_workers=1) as apart:  # a browser of another test may hold this thread's loop
            assert apart.submit(asyncio.run, delay_is_off()).result(timeout=60)
        browser.close()
