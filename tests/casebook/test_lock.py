import os
import threading
import time
from pathlib import Path

import pytest

from diagnose.casebook.lock import LOCK_NAME, WAIT_S, asking, locked
from diagnose.errors import FitError


def test_a_second_holder_is_refused_clearly_after_its_wait(tmp_path: Path) -> None:
    began = time.monotonic()
    with (
        locked(tmp_path),
        pytest.raises(FitError, match="Another program is changing this case"),
        locked(tmp_path, 0.2),
    ):
        pass
    assert 0.2 <= time.monotonic() - began < 3.0
    assert WAIT_S == 5.0


def test_a_second_holder_waits_until_the_first_is_done(tmp_path: Path) -> None:
    order: list[str] = []
    inside = threading.Event()

    def first() -> None:
        with locked(tmp_path):
            inside.set()
            time.sleep(0.3)
            order.append("first")

    thread = threading.Thread(target=first)
    thread.start()
    inside.wait()
    with locked(tmp_path):
        order.append("second")
    thread.join()
    assert order == ["first", "second"]


def test_the_lock_is_let_go_when_its_holder_is_killed(tmp_path: Path) -> None:
    child = os.fork()
    if child == 0:
        with locked(tmp_path):
            os.kill(os.getpid(), 9)
    os.waitpid(child, 0)
    with locked(tmp_path, 0.0):
        assert (tmp_path / LOCK_NAME).exists()


def test_a_lock_file_taken_away_while_waited_for_is_not_trusted(tmp_path: Path) -> None:
    """The first holder takes the file away, as a start undone does; the second then holds the one that has the name."""
    inside = threading.Event()

    def first() -> None:
        with locked(tmp_path):
            inside.set()
            time.sleep(0.2)
            (tmp_path / LOCK_NAME).unlink()

    thread = threading.Thread(target=first)
    thread.start()
    inside.wait()
    with locked(tmp_path), pytest.raises(FitError), locked(tmp_path, 0.0):
        pass
    thread.join()


def test_a_lock_that_is_a_link_or_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / LOCK_NAME).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FitError, match="link"), locked(tmp_path):
        pass
    assert not (tmp_path / "elsewhere").exists()
    (tmp_path / LOCK_NAME).unlink()
    (tmp_path / LOCK_NAME).mkdir()
    with pytest.raises(FitError, match="folder"), locked(tmp_path):
        pass


def test_questions_are_answered_in_one_place_at_a_time_while_the_case_may_be_changed(tmp_path: Path) -> None:
    with asking(tmp_path):
        with (
            pytest.raises(FitError, match="being answered already, in another window or on the page"),
            asking(tmp_path),
        ):
            pass
        with locked(tmp_path, 0.0):
            pass
    with asking(tmp_path):
        pass
