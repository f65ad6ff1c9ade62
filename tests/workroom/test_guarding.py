"""Nobody but the one browser of this machine sees the page."""

from __future__ import annotations

import http.client
import socket
from collections.abc import Iterator

import pytest
from serving_here import Served, served

from diagnose.rulebase.base import RuleBase


@pytest.fixture
def page(base: RuleBase) -> Iterator[Served]:
    with served(base) as page:
        yield page


def fetch(
    page: Served, path: str, method: str = "GET", body: str | None = None, **headers: str
) -> tuple[http.client.HTTPResponse, str]:
    connection = http.client.HTTPConnection("127.0.0.1", page.port, timeout=10)
    connection.request(method, path, body, {name.replace("_", "-"): value for name, value in headers.items()})
    response = connection.getresponse()
    text = response.read().decode()
    connection.close()
    return response, text


def opened(page: Served) -> str:
    """The cookie that the key gives."""
    response, _ = fetch(page, f"/?key={page.key}")
    assert response.status == 303
    return (response.getheader("set-cookie") or "").partition(";")[0]


def test_without_the_key_nothing_is_shown(page: Served) -> None:
    for path in (
        "/",
        "/question/stop",
        "/answers",
        "/plan",
        "/page.js",
        "/?key=",
        "/?key=guess",
        "/question/stop?key=x",
    ):
        response, text = fetch(page, path)
        assert response.status == 403
        assert "Short of breath" not in text


def test_key_opens_once_and_the_cookie_stays_here(page: Served) -> None:
    response, _ = fetch(page, f"/?key={page.key}")
    set_cookie = (response.getheader("set-cookie") or "").lower()
    assert "httponly" in set_cookie
    assert "samesite=strict" in set_cookie
    assert response.getheader("location") == "/"
    again, _ = fetch(page, f"/?key={page.key}")
    assert again.status == 403
    shown, text = fetch(page, "/question/stop", Cookie=(response.getheader("set-cookie") or "").partition(";")[0])
    assert shown.status == 200
    assert "Short of breath" in text


def test_key_is_no_longer_in_any_address(page: Served) -> None:
    cookie = opened(page)
    assert page.key not in fetch(page, "/question/stop", Cookie=cookie)[1]


@pytest.mark.parametrize("host", ["evil.example", "localhost", "127.0.0.1", "127.0.0.1:1", ""])
def test_another_host_name_is_refused_even_with_the_cookie(page: Served, host: str) -> None:
    cookie = opened(page)
    assert fetch(page, "/question/stop", Cookie=cookie, Host=host)[0].status in (400, 403)


@pytest.mark.parametrize("origin", ["http://evil.example", "null", None, "http://127.0.0.1"])
def test_answer_from_another_page_is_refused(page: Served, origin: str | None) -> None:
    headers = {"Cookie": opened(page), **({"Origin": origin} if origin else {})}
    response, _ = fetch(page, "/question/stop", "POST", "tell=n", **headers)
    assert response.status == 403
    assert page.holding.replies == {}


def test_answer_from_the_page_is_taken(page: Served) -> None:
    response, _ = fetch(page, "/question/stop", "POST", "tell=n", Cookie=opened(page), Origin=f"http://{page.place}")
    assert response.status == 303
    assert page.holding.replies == {"stop": []}


def test_answer_of_monstrous_size_is_refused(page: Served) -> None:
    body = "text=" + "x" * 200_000
    response, _ = fetch(page, "/question/stop", "POST", body, Cookie=opened(page), Origin=f"http://{page.place}")
    assert response.status == 403


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH"])
def test_other_methods_are_refused(page: Served, method: str) -> None:
    assert fetch(page, "/", method, Cookie=opened(page))[0].status in (403, 405)


def test_it_listens_on_loopback_alone(page: Served) -> None:
    others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
    for address in [*others, "127.0.0.2"]:
        with socket.socket() as probe:
            probe.settimeout(2)
            assert probe.connect_ex((address, page.port)) != 0


def test_nothing_from_outside_may_be_loaded_nor_the_page_framed(page: Served) -> None:
    response, text = fetch(page, "/question/stop", Cookie=opened(page))
    policy = response.getheader("content-security-policy") or ""
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "http:" not in text
    assert "https:" not in text


def test_question_that_is_not_asked_leads_back_to_the_start(page: Served) -> None:
    response, _ = fetch(page, "/question/known.nothing-such", Cookie=opened(page))
    assert (response.status, response.getheader("location")) == (303, "/")


def test_name_of_a_case_is_shown_as_text(base: RuleBase) -> None:
    with served(base, title="<script>alert(1)</script>") as page:
        _, text = fetch(page, "/question/stop", Cookie=opened(page))
    assert "<script>alert" not in text
    assert "&lt;script&gt;" in text
