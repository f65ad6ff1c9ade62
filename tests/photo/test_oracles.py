"""Lens and homography held against the library's own calibration."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from diagnose.pattern.brought.photo import chequers as b
from diagnose.pattern.brought.photo.accuracy import SURE
from diagnose.pattern.brought.photo.cards import FoundCard
from diagnose.pattern.brought.photo.lens import View, unbent
from diagnose.pattern.brought.photo.solving import placed, solve

SIZE = (4000, 3000)
SIDE = np.linspace(0.0, 1.0, 12)[:, None]
PANEL = np.concatenate([SIDE * [110, 0], [110, 0] + SIDE * [0, 360], [110, 360] - SIDE * [110, 0], SIDE * [0, 360]])
MIDDLE = np.array([1999.5, 1499.5])


def _view(k1: float, tilt_deg: float, seed: int, focal: float = 3000.0) -> View:
    rng = np.random.default_rng(seed)
    axis = rng.normal(size=2)
    turn = np.array([*axis / np.hypot(*axis) * np.radians(tilt_deg), 0.0])
    r = cv2.Rodrigues(turn)[0] @ np.diag([1.0, -1.0, -1.0])
    shift = np.array([0.0, 0.0, 480.0]) - r @ np.array([90.0, 130.0, 0.0])
    return View(np.r_[cv2.Rodrigues(r)[0].ravel(), shift, focal, k1, MIDDLE])


def _cards(view: View, noise: float = 0.0, seed: int = 1) -> tuple[FoundCard, ...]:
    places = b.corner_places()
    rng = np.random.default_rng(seed)
    lies = {1: (0.0, 0.0, 0.0), 2: (-215.0, 12.0, 0.04)}
    seen = {n: view.project(placed(places, at)) for n, at in lies.items()}
    return tuple(FoundCard(n, places, px + rng.normal(0, noise, px.shape)) for n, px in seen.items())


@pytest.mark.parametrize(("k1", "tilt"), [(0.0, 0.0), (0.15, 20.0), (-0.15, 40.0)])
def test_oracle_the_lens_bends_as_the_library_bends(k1: float, tilt: float) -> None:
    view, places = _view(k1, tilt, 2), b.corner_places()
    k = np.array([[3000.0, 0, MIDDLE[0]], [0, 3000.0, MIDDLE[1]], [0, 0, 1]])
    theirs, _ = cv2.projectPoints(np.c_[places, np.zeros(len(places))], view.numbers[:3], view.numbers[3:6], k,
                                  np.array([k1, 0.0, 0.0, 0.0]))  # fmt: skip
    assert np.abs(view.project(places) - theirs.reshape(-1, 2)).max() < 1e-6
    flat = cv2.undistortPoints(theirs, k, np.array([k1, 0.0, 0.0, 0.0])).reshape(-1, 2)
    back = np.linalg.inv(np.c_[view.rotation[:, :2], view.numbers[3:6]])
    table = np.c_[flat, np.ones(len(flat))] @ back.T
    assert np.abs(view.table(theirs.reshape(-1, 2)) - table[:, :2] / table[:, 2:]).max() < 0.05
    assert np.abs(view.table(view.project(places)) - places).max() < 1e-6


@pytest.mark.parametrize(("k1", "tilt"), [(0.1, 25.0), (-0.12, 35.0)])
def test_oracle_the_camera_is_that_of_the_library_s_own_calibration(k1: float, tilt: float) -> None:
    view = _view(k1, tilt, 3)
    cards = _cards(view)
    solved = solve(cards, SIZE)
    places = [np.c_[placed(card.places, solved.lies[card.number]), np.zeros(len(card.places))] for card in cards]
    flags = cv2.CALIB_USE_INTRINSIC_GUESS | cv2.CALIB_FIX_ASPECT_RATIO | cv2.CALIB_ZERO_TANGENT_DIST
    flags |= cv2.CALIB_FIX_K2 | cv2.CALIB_FIX_K3 | cv2.CALIB_FIX_PRINCIPAL_POINT
    guess = np.array([[3200.0, 0, MIDDLE[0]], [0, 3200.0, MIDDLE[1]], [0, 0, 1]])
    _, k, bent, *_ = cv2.calibrateCamera(
        [np.concatenate(places).astype(np.float32)], [np.concatenate([c.px for c in cards]).astype(np.float32)], SIZE,
        guess, np.zeros(5), flags=flags,
    )  # fmt: skip
    assert solved.view.numbers[6] == pytest.approx(k[0, 0], rel=2e-3)
    assert solved.view.numbers[7] == pytest.approx(bent.ravel()[0], abs=2e-3)


def _bow_px(px: np.ndarray) -> float:
    """How far the places of a line lie at most from the straight line through them."""
    middle = px - px.mean(0)
    return float(np.abs(middle @ np.linalg.svd(middle, full_matrices=False)[2][1]).max())


@pytest.mark.parametrize(("k1", "tilt"), [(0.15, 0.0), (-0.15, 15.0), (0.08, 40.0), (-0.1, 30.0)])
def test_oracle_plumb_lines_are_straight_once_the_lens_is_corrected(k1: float, tilt: float) -> None:
    view = _view(k1, tilt, 6)
    k = np.array([[3000.0, 0, MIDDLE[0]], [0, 3000.0, MIDDLE[1]], [0, 0, 1]])
    cards = _cards(view, 0.05)
    numbers = solve(cards, SIZE).view.numbers
    rim = view.table(np.array([(60.0, 60.0), (3940.0, 60.0), (3940.0, 2940.0), (60.0, 2940.0)]))
    threads = [rim[a] + SIDE * (rim[z] - rim[a]) for a, z in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2))]
    bows = []
    for thread in threads:
        taken = cv2.projectPoints(np.c_[thread, np.zeros(len(thread))], view.numbers[:3], view.numbers[3:6], k,
                                  np.array([k1, 0.0, 0.0, 0.0]))[0]  # fmt: skip
        ours = unbent((taken.reshape(-1, 2) - MIDDLE) / 3000.0, k1) * 3000.0
        stop = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 200, 1e-12)
        theirs = cv2.undistortImagePoints(taken, k, np.array([k1, 0.0, 0.0, 0.0]), None, stop)
        assert np.abs(ours + MIDDLE - theirs.reshape(-1, 2)).max() < 1e-3
        assert _bow_px(ours) < 1e-3
        found = unbent((taken.reshape(-1, 2) - numbers[8:10]) / numbers[6], float(numbers[7])) * numbers[6]
        bows.append((_bow_px(taken.reshape(-1, 2)), _bow_px(found)))
    assert max(bow for bow, _ in bows) > 8.0, "as taken, lines bow: the check could fail"
    assert max(bow for _, bow in bows) < 1.5


def test_oracle_with_a_straight_lens_the_table_is_the_library_s_homography() -> None:
    view = _view(0.0, 30.0, 4)
    card = _cards(view)[0]
    solved = solve([card], SIZE)
    h, _ = cv2.findHomography(card.px, card.places)
    spots = np.array([(500.0, 500.0), (3000.0, 700.0), (2000.0, 2500.0)])
    theirs = cv2.perspectiveTransform(spots.reshape(-1, 1, 2), h).reshape(-1, 2)
    assert np.abs(solved.view.table(spots) - theirs).max() < 0.2


def test_what_is_said_of_places_is_what_noise_makes_of_them() -> None:
    view = _view(0.08, 20.0, 5)
    spots = np.array([(-350.0, y) for y in (0.0, 100.0, 200.0, 300.0)] + [(-250.0, y) for y in (0.0, 300.0)])
    off, said = [], []
    for seed in range(24):
        solved = solve(_cards(view, 0.1, seed)[:1], SIZE)
        there = solved.view.table(view.project(spots))
        middle, aim = there - there.mean(0), spots - spots.mean(0)
        angle = np.arctan2((middle[:, 0] * aim[:, 1] - middle[:, 1] * aim[:, 0]).sum(), (middle * aim).sum())
        off.append(np.hypot(*(placed(middle, (0.0, 0.0, angle)) - aim).T))
        said.append(solved.shape_sd_mm(there))
    spread = np.sqrt((np.array(off) ** 2).mean(0)).max()
    assert spread < np.array(said).mean(0).max() < 3.0 * spread


def _taken(rng: np.random.Generator) -> tuple[View, tuple[FoundCard, ...], float]:
    """A telephone's camera over a table of some width, its lens bent, and one or two cards with noise on them."""
    tilt, two = np.radians(40.0 * rng.beta(1.2, 1.6)), rng.random() < 0.4
    axis = rng.normal(size=2)
    turn = np.array([*axis / np.hypot(*axis) * tilt, 0.0])
    r = cv2.Rodrigues(turn)[0] @ np.diag([1.0, -1.0, -1.0])
    wide = rng.uniform(400, 700) if two else rng.uniform(150, 400)
    shift = np.array([0.0, 0.0, 1.15 * (wide + (520 if two else 260))]) - r @ np.array([90.0 - wide / 2, 130.0, 0.0])
    lens = [SIZE[0] * rng.uniform(0.68, 0.85), rng.uniform(-0.15, 0.15), *(MIDDLE + rng.normal(0, 12, 2))]
    view = View(np.r_[cv2.Rodrigues(r)[0].ravel(), shift, lens])
    lies = {1: (0.0, 0.0, 0.0)}
    if two:
        lies[2] = (-wide - 225.0, rng.uniform(-15, 15), rng.uniform(-0.03, 0.03))
    places, noise = b.corner_places()[sorted(b.real_corners())], rng.uniform(0.02, 0.15)
    seen = {n: view.project(placed(places, at)) for n, at in lies.items()}
    return view, tuple(FoundCard(n, places, px + rng.normal(0, noise, px.shape)) for n, px in seen.items()), wide


def test_what_camera_and_lens_leave_open_of_a_piece_is_no_more_than_is_said() -> None:
    rng, ratios = np.random.default_rng(1), []
    for _ in range(60):
        view, cards, wide = _taken(rng)
        solved = solve(cards, SIZE)
        for left in np.arange(-30.0, -wide, -130.0) - 110.0:
            ring = PANEL + np.array([left, -20.0])
            there = solved.view.table(view.project(ring))
            middle, aim = there - there.mean(0), ring - ring.mean(0)
            angle = np.arctan2((middle[:, 0] * aim[:, 1] - middle[:, 1] * aim[:, 0]).sum(), (middle * aim).sum())
            off = np.hypot(*(placed(middle, (0.0, 0.0, angle)) - aim).T).max()
            ratios.append(off / solved.shape_sd_mm(there).max())
    assert len(ratios) > 120
    assert max(ratios) < SURE
    assert np.median(ratios) > 0.3, "said far too carefully, and so of no use"
