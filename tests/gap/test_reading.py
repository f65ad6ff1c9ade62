"""The gap: stations, shape, change wanted, censoring. Figures worked by hand."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.gap.reading import GapReading, gap_facts, read_gap, shape_of
from diagnose.model.settings import Settings
from diagnose.model.stations import STATIONS
from diagnose.model.tryon_reading import Vocabulary, read_tryon

IN = 25.4
ANSWERS = frozenset({"meant-to-meet", "largest-today"})


def reading_of(settings: Settings, **raw: Any) -> GapReading:
    return read_gap(read_tryon({"id": "t", **raw}, Vocabulary({}, ANSWERS)), settings)


def test_the_change_wanted_is_target_less_gap(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": "1 in", "waist": "2 in", "bottom": "3 in"}, target="2 in")
    assert [s.change_mm for s in reading.stations.values()] == pytest.approx([IN, 0, -IN])
    assert reading.shape == "widens-downward"


def test_a_closed_gap_says_at_least(settings: Settings) -> None:
    top = reading_of(settings, gap={"top": 0}, target="2 in").stations["top"]
    assert (top.closed, top.at_least, top.change_mm) == (True, True, pytest.approx(2 * IN))


def test_a_known_lap_makes_a_closed_gap_exact(settings: Settings) -> None:
    raw = {"gap": {"top": "0"}, "overlap": {"top": "1/2 in"}, "target": "2 in"}
    top = reading_of(settings, **raw).stations["top"]
    assert (top.closed, top.at_least, top.change_mm) == (True, False, pytest.approx(2.5 * IN))


def test_edges_meant_to_meet_have_target_nothing_and_a_closed_gap_is_right(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": 0, "waist": 0}, garment={"meant_to_meet": True})
    assert reading.changes == [0, 0]
    assert not reading.at_least
    assert reading.settled(6.35)


def test_the_usual_target_may_widen_towards_the_ends_as_the_heights_do(settings: Settings) -> None:
    # The 3-2-3 rule: heights 8, 4, 0, -3 and -5 in, so 3, 2 1/2, 2, 2 3/5 and 3 in.
    shaped = settings.with_value("target-wider-top", IN).with_value("target-wider-bottom", IN)
    targets = reading_of(shaped, gap=dict.fromkeys(STATIONS, "2 in")).stations.values()
    assert [station.target_mm / IN for station in targets] == pytest.approx([3, 2.5, 2, 2.6, 3])
    given = reading_of(shaped, gap=dict.fromkeys(STATIONS, "2 in"), target={"waist": "1 in"}).stations.values()
    assert [station.target_mm / IN for station in given] == pytest.approx([1] * 5)
    meeting = reading_of(shaped, gap={"top": "1 in"}, garment={"meant_to_meet": True})
    assert meeting.stations["top"].target_mm == 0
    crossed = settings.with_value("target-wider-top", -3 * IN)
    assert reading_of(crossed, gap={"top": "1 in"}).stations["top"].target_mm == 0


def test_without_a_target_the_usual_one_is_taken_and_said_to_be(settings: Settings) -> None:
    reading = reading_of(settings, gap={"waist": "2 in"})
    assert reading.presumed_target
    assert reading.changes == [0]


def test_a_target_for_some_stations_serves_the_others_by_its_mean(settings: Settings) -> None:
    reading = reading_of(settings, gap={"top": 0, "underbust": 0, "waist": 0}, target={"top": "3 in", "waist": "2 in"})
    assert reading.stations["underbust"].target_mm == pytest.approx(2.5 * IN)


def test_the_published_3_2_3_spacing_read_against_itself_is_parallel(settings: Settings) -> None:
    # Instructions in Spirella Corsetry, training manual, 1910s, ch. 13: back-lace spacing bust 3, waist 2, hip 3 in.
    # A reader who expects a parallel gap would call it narrowest at the waist.
    raw: dict[str, Any] = {"gap": {"top": "3 in", "waist": "2 in", "bottom": "3 in"}}
    assert reading_of(settings, target={"top": "3 in", "waist": "2 in", "bottom": "3 in"}, **raw).shape == "parallel"
    assert reading_of(settings, target="2 in", **raw).shape == "narrowest-at-waist"


@pytest.mark.parametrize(
    ("excess", "shape"),
    [
        ((0, 0, 0), "parallel"), ((0, 6, 12), "parallel"), ((0, 6, 12.7), "widens-downward"),
        ((30, 10, 0), "widens-upward"), ((0, 20, 5), "widest-at-waist"), ((20, 0, 20), "narrowest-at-waist"),
        ((0, 30, 20), "widens-downward"),
    ],
)  # fmt: skip
def test_the_shape_is_named_by_what_stands_out_most(excess: tuple[float, ...], shape: str) -> None:
    assert shape_of(dict(zip(("top", "waist", "bottom"), excess, strict=True)), 12.7) == shape


def test_one_reading_has_no_shape() -> None:
    assert shape_of({"waist": 3.0}, 12.7) is None


def test_the_answer_that_the_edges_are_meant_to_meet_counts_as_the_garment_saying_so(settings: Settings) -> None:
    closed = {"top": 0, "waist": 0}
    assert reading_of(settings, gap=closed, known={"meant-to-meet": True}).changes == [0, 0]
    assert reading_of(settings, gap=closed, known={"meant-to-meet": False}).changes == pytest.approx([2 * IN, 2 * IN])


@pytest.mark.parametrize(
    ("told", "gap"),
    [
        # Worked by hand: target 2 in on her usual body, changes by 1 in: 2 1/2 at her largest, 1 1/2 at her smallest.
        ({"wearer": {"changes_by": "1 in", "today": "largest"}}, 2.5),
        ({"wearer": {"changes_by": "1 in"}, "known": {"largest-today": True}}, 2.5),
        ({"wearer": {"changes_by": "1 in", "today": "smallest"}, "known": {"largest-today": True}}, 1.5),
        ({"wearer": {"changes_by": "1 in"}, "known": {"largest-today": False}}, 2.0),
        ({"wearer": {"changes_by": "1 in"}}, 2.0),
    ],
)
def test_of_a_body_that_changes_today_is_where_she_says_it_stands(
    told: dict[str, Any], gap: float, settings: Settings
) -> None:
    reading = reading_of(settings, gap={"waist": "2 in"}, target="2 in", **told)
    assert reading.stations["waist"].target_mm == pytest.approx(gap * IN)


@pytest.mark.parametrize(
    ("gap", "lap", "target", "changes", "aimed"),
    [
        # Worked by hand, limits 1 to 4 in. Changes by 2 in, target 1 1/2: from 1/2 to 2 1/2, so 1/2 in more than that.
        (1.5, 0, 1.5, 2.0, 2.0),
        # Target 3 1/2 in: from 2 1/2 to 4 1/2, so 1/2 in less.
        (3.5, 0, 3.5, 2.0, 3.0),
        # A target past a limit moves the limit: 3/4 in on a body that changes by 1/4 keeps from 3/4 to 1.
        (0.75, 0, 0.75, 0.25, 0.875),
        (5.0, 0, 5.0, 0.25, 4.875),
        # Closed with a lap of 1/2 in: the same 2 in are aimed at, 2 1/2 in more than now.
        (0, 0.5, 2.0, 1.0, 2.0),
    ],
)
def test_of_a_body_that_changes_the_gap_is_kept_inside_its_limits_over_her_range(
    gap: float, lap: float, target: float, changes: float, aimed: float, settings: Settings
) -> None:
    raw: dict[str, Any] = {"overlap": {"waist": f"{lap} in"}} if lap else {}
    wearer = {"changes_by": f"{changes} in"}
    reading = reading_of(settings, gap={"waist": f"{gap} in"}, target=f"{target} in", wearer=wearer, **raw)
    assert reading.stations["waist"].target_mm == pytest.approx(aimed * IN)
    assert reading.changes[0] == pytest.approx((aimed - gap + lap) * IN, abs=0.001)


def test_edges_meant_to_meet_are_so_over_all_of_her_range(settings: Settings) -> None:
    garment = {"meant_to_meet": True}
    assert reading_of(settings, gap={"waist": 0}, garment=garment, wearer={"changes_by": "2 in"}).changes == [0]


def test_closed_all_the_way_down_is_a_shape_of_its_own_unless_the_laps_differ(settings: Settings) -> None:
    closed: dict[str, Any] = {"gap": {"top": 0, "waist": 0}, "target": "2 in"}
    assert reading_of(settings, **closed).shape == "closed"
    assert reading_of(settings, **closed, overlap={"top": "1 in"}).shape == "widens-downward"
    assert reading_of(settings, gap={"top": 0, "waist": "1/4 in"}, target="2 in").shape == "parallel"


def test_a_target_given_or_meant_to_be_nothing_is_not_presumed(settings: Settings) -> None:
    assert not reading_of(settings, gap={"waist": "2 in"}, target="2 in").presumed_target
    assert not reading_of(settings, gap={"waist": 0}, garment={"meant_to_meet": True}).presumed_target


def test_an_open_gap_has_no_lap(settings: Settings) -> None:
    assert reading_of(settings, gap={"waist": "2 in"}).stations["waist"].overlap_mm == 0.0


def test_a_gap_off_by_the_dead_band_itself_is_not_settled(settings: Settings) -> None:
    reading = reading_of(settings, gap={"waist": "1 3/4 in"}, target="2 in")
    assert not reading.settled(reading.changes[0])
    assert reading.settled(reading.changes[0] + 0.01)
    assert not reading_of(settings, gap={}).settled(6.35)


def test_the_facts_that_rules_name_worked_by_hand(settings: Settings) -> None:
    # Target 2 in: 2 in wanted at the closed top, 1/2 in to let out at the waist, 1 in at the bottom.
    raw = {"gap": {"top": 0, "waist": "2 1/2 in", "bottom": "3 in"}, "target": "2 in"}
    facts = gap_facts(reading_of(settings, **raw))
    assert facts == pytest.approx({
        "gap-closed-at": 1.0, "change-mean": 0.5 * IN / 3, "change-most": 2 * IN, "change-least": -0.5 * IN,
        "gap-average": -0.5 * IN / 3, "gap-widest": 3 * IN, "largest-girth-change": 2 * IN,
        "gap-top": 0.0, "gap-waist": 2.5 * IN, "gap-bottom": 3 * IN,
        "change-top": 2 * IN, "change-waist": -0.5 * IN, "change-bottom": -IN,
        "gap-fall": 3 * IN, "gap-spread": 3 * IN,
        # excess −2, 1/2, 1 in: the waist stands under the higher end by 1/2 in and over the lower by 2 1/2
        "gap-waist-over-ends": -0.5 * IN, "gap-ends-over-waist": -2.5 * IN,
    }, abs=0.002)  # fmt: skip


def test_one_reading_has_no_facts_of_shape_and_a_lap_counts_below_nothing(settings: Settings) -> None:
    facts = gap_facts(reading_of(settings, gap={"waist": 0}, overlap={"waist": "1/2 in"}, target="2 in"))
    assert facts.keys().isdisjoint({"gap-fall", "gap-spread"})
    assert facts["gap-waist"] == pytest.approx(-IN / 2)
    assert gap_facts(reading_of(settings, gap={})) == {}


@given(st.dictionaries(st.sampled_from(STATIONS), st.floats(0, 300), min_size=1), st.floats(0, 100))
def test_the_facts_agree_with_the_readings(settings: Settings, gaps: dict[str, float], target: float) -> None:
    reading = reading_of(settings, gap=gaps, target=target)
    facts = gap_facts(reading)
    for name, gap in gaps.items():
        assert facts[f"change-{name}"] == pytest.approx(target - gap, abs=0.002)
    assert facts["gap-average"] == pytest.approx(-facts["change-mean"])
    assert abs(facts["change-most"]) == pytest.approx(max(abs(target - gap) for gap in gaps.values()), abs=0.002)
    if len(gaps) > 1:
        assert facts["gap-spread"] == pytest.approx(max(gaps.values()) - min(gaps.values()), abs=0.002)
