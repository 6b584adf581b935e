"""Taped points: frames, mirrors, slips and everything that is refused."""

from __future__ import annotations

import math
import random
from itertools import combinations

import pytest

from estimator.geometry.tape import Adjusted, Fault, Refused, TapedLine, TapedPoint, adjust
from estimator.geometry.tape_slip import misreading
from tests.geometry_tape.figures import measured, pentagon

RING = {"A": (0.0, 0.0), "B": (5.0, 0.0), "C": (4.6, 4.2), "D": (-0.3, 3.9)}


def at_height(names: str, height: float = 2.5) -> list[TapedPoint]:
    return [TapedPoint(name, height) for name in names]


def lines(pairs: str, spots: dict[str, tuple[float, float]] = RING, **instead: float) -> list[TapedLine]:
    """Exact lines of pairs written `AB BC`, some with another length."""
    return [TapedLine(p[0], p[1], instead.get(p, math.dist(spots[p[0]], spots[p[1]]))) for p in pairs.split()]


def adjusted(points: list[TapedPoint], taped: list[TapedLine], tape_error: float = 0.003) -> Adjusted:
    found = adjust(points, taped, tape_error=tape_error)
    assert isinstance(found, Adjusted)
    return found


def faults(points: list[TapedPoint], taped: list[TapedLine]) -> tuple[Fault, ...]:
    found = adjust(points, taped)
    assert isinstance(found, Refused)
    return found.faults


def places(found: Adjusted) -> dict[str, tuple[float, float]]:
    return {p.name: (round(p.across, 4) + 0.0, round(p.out, 4) + 0.0) for p in found.points}


ALL_SIX = "AB BC CD DA AC BD"


def test_exact_lines_give_the_points_back() -> None:
    found = adjusted(at_height("ABCD"), lines(ALL_SIX))
    assert places(found) == RING
    assert (found.spare, found.verdict, found.slip, found.suspects) == (1, "closes", None, ())
    assert found.mirror == "Seen from A to B: C and D left."
    assert found.misclosure == pytest.approx(0, abs=1e-9)


def test_straight_lines_are_reduced_with_the_heights_and_level_ones_are_not() -> None:
    points = [TapedPoint("A", 2.0), TapedPoint("B", 3.0), TapedPoint("C", 2.0)]
    taped = [TapedLine("A", "B", math.hypot(4, 1)), TapedLine("B", "C", 3.0, True), TapedLine("C", "A", 5.0)]
    found = adjusted(points, taped)
    assert places(found) == {"A": (0, 0), "B": (4, 0), "C": (4, 3)}
    assert [p.height for p in found.points] == [2.0, 3.0, 2.0]


def test_residuals_are_computed_less_taped_in_the_sense_of_the_line() -> None:
    held = [TapedPoint("A", 2.0, 0, 0), TapedPoint("B", 3.0, 4, 0)]
    found = adjusted(held, [TapedLine("A", "B", 4.12), TapedLine("A", "B", 4.002, True)])
    assert [line.residual for line in found.lines] == pytest.approx([math.hypot(4, 1) - 4.12, -0.002])
    assert found.spare == 2


def test_names_compare_without_case_and_space() -> None:
    taped = [TapedLine("post a", "B", 4), TapedLine("b ", "C", 3), TapedLine("c", "POST  A", 5)]
    found = adjusted([TapedPoint("Post A", 2), TapedPoint("B", 2), TapedPoint("C", 2)], taped)
    assert places(found)["C"] == (4, 3)


def test_mirror_rule_puts_the_third_point_on_the_out_side() -> None:
    below = {name: (x, -y) for name, (x, y) in RING.items()}
    assert places(adjusted(at_height("ABCD"), lines(ALL_SIX, below))) == RING


def test_coordinates_may_say_otherwise() -> None:
    points = [TapedPoint("A", 2, 0, 0), TapedPoint("B", 2, 5, 0), TapedPoint("C", 2, 4.6, -4.2), TapedPoint("D", 2)]
    found = adjusted(points, lines("AD BD CD", {name: (x, -y) for name, (x, y) in RING.items()}))
    assert places(found)["D"] == (-0.3, -3.9)
    assert found.mirror == "Seen from A to B: C and D right."


def test_one_given_point_keeps_its_place_and_the_first_two_run_along_across() -> None:
    points = [TapedPoint("A", 2), TapedPoint("B", 2), TapedPoint("C", 2, 1.0, 2.0)]
    found = adjusted(points, [TapedLine("A", "B", 4), TapedLine("B", "C", 3), TapedLine("C", "A", 5)])
    assert places(found) == {"A": (-3, -1), "B": (1, -1), "C": (1, 2)}
    assert [p.across_std > 0 for p in found.points] == [True, True, False]


def test_two_given_points_give_the_direction_and_out_stays_out_when_they_run_leftward() -> None:
    points = [TapedPoint("A", 2, 0, 0), TapedPoint("B", 2, -4, 0), TapedPoint("C", 2)]
    found = adjusted(points, [TapedLine("B", "C", 3), TapedLine("C", "A", 5)])
    assert places(found)["C"] == (-4, 3)
    assert found.mirror == "Seen from A to B: C right."


def test_a_row_of_three_leaves_the_mirror_to_the_next_point_and_says_how_loose_it_is() -> None:
    spots = {"A": (0.0, 0.0), "B": (2.0, 0.0), "C": (5.0, 0.0), "D": (1.0, 4.0)}
    found = adjusted(at_height("ABC"), lines("AB BC AC", spots))
    assert found.points[2].out_std > 0.05
    assert found.mirror == "Seen from A to B: C on the line."
    found = adjusted(at_height("ABCD"), lines("AB BC AC AD BD CD", spots, AC=4.998))
    assert places(found)["D"][1] == pytest.approx(4.0, abs=0.01)
    assert found.mirror == "Seen from A to B: D left, C on the line."


def test_two_fixings_above_each_other_give_no_direction_so_the_next_does() -> None:
    points = [TapedPoint("A", 2.5), TapedPoint("A2", 3.5), TapedPoint("B", 2.5), TapedPoint("C", 2.5)]
    taped = [TapedLine("A", "A2", 1), TapedLine("A", "B", 4), TapedLine("B", "C", 3), TapedLine("C", "A", 5)]
    taped += [TapedLine("A2", "B", math.sqrt(17)), TapedLine("A2", "C", math.sqrt(26))]
    assert places(adjusted(points, taped)) == {"A": (0, 0), "A2": (0, 0), "B": (4, 0), "C": (4, 3)}


def test_two_given_points_at_one_place_hold_a_place_and_no_direction() -> None:
    points = [TapedPoint("A", 2, 1, 1), TapedPoint("A2", 3, 1, 1), TapedPoint("B", 2), TapedPoint("C", 2)]
    taped = [TapedLine("A", "B", 4), TapedLine("B", "C", 3), TapedLine("C", "A", 5)]
    assert places(adjusted(points, taped)) == {"A": (1, 1), "A2": (1, 1), "B": (5, 1), "C": (5, 4)}


def test_one_diagonal_takes_the_ring_without_a_bend_and_tells_of_the_other_place() -> None:
    found = adjusted(at_height("ABCD"), lines("AB BC CD DA AC"))
    assert places(found) == RING
    assert found.unchecked
    assert [other.name for other in found.other_places] == ["D"]
    other = found.other_places[0]
    assert math.dist((other.across, other.out), RING["C"]) == pytest.approx(math.dist(RING["D"], RING["C"]), abs=1e-6)


def test_stiff_figure_that_no_point_can_be_put_down_in_is_found_from_scattered_starts() -> None:
    spots = {"A": (0, 0), "B": (4, 1), "C": (1, 5), "D": (3, 3.3), "E": (6, -1), "F": (-2, 2)}
    taped = lines(" ".join(a + b for a in "ABC" for b in "DEF"), spots)
    found = adjusted(at_height("ABCDEF"), taped)
    assert max(abs(line.residual) for line in found.lines) < 1e-6
    assert found.unchecked


def test_same_lines_give_the_same_answer_to_the_last_bit() -> None:
    points, taped = measured(pentagon(random.Random(3)), random.Random(4), slip=(2, 0.05))
    assert adjust(points, taped) == adjust(points, taped)


@pytest.mark.parametrize("count", [0, 1])
def test_hardly_any_point_is_no_fault(count: int) -> None:
    found = adjusted(at_height("A" * count), [])
    assert (len(found.points), found.spare, found.verdict) == (count, 0, "unchecked")


def test_given_points_need_no_line() -> None:
    found = adjusted([TapedPoint("A", 2, 0, 0), TapedPoint("B", 2, 4, 1)], [])
    assert places(found) == {"A": (0, 0), "B": (4, 1)}
    assert found.unchecked


def test_closure_of_the_second_diagonal() -> None:
    found = adjusted(at_height("ABCD"), lines(ALL_SIX, BD=math.dist(RING["B"], RING["D"]) - 0.006))
    assert found.closure is not None
    assert (found.closure.first, found.closure.second) == (("A", "C"), ("B", "D"))
    assert found.closure.difference == pytest.approx(0.006, abs=1e-9)


def test_one_spare_line_names_nobody_and_gives_the_length_of_each_that_closes() -> None:
    found = adjusted(at_height("ABCD"), lines(ALL_SIX, BC=math.dist(RING["B"], RING["C"]) + 0.1))
    assert (found.verdict, found.slip, len(found.suspects)) == ("one of these slipped", None, 6)
    true = found.suspects[1]
    assert true.lengths[0] == pytest.approx(math.dist(RING["B"], RING["C"]), abs=1e-6)
    assert (true.misreading, true.sure) == ("100 mm", None)
    for suspect in found.suspects:
        for length in suspect.lengths:
            taped = list(found.lines)
            again = [
                TapedLine(line.start, line.end, length if at == suspect.line else line.length)
                for at, line in enumerate(taped)
            ]
            assert adjusted(at_height("ABCD"), again).misclosure < 1e-6


def test_a_line_that_nothing_checks_is_told_and_has_no_closing_length() -> None:
    points = [TapedPoint("A", 2, 0, 0), TapedPoint("B", 2, 4, 0), TapedPoint("C", 2)]
    found = adjusted(points, [TapedLine("A", "B", 4.03), TapedLine("B", "C", 3), TapedLine("C", "A", 5)])
    assert [line.checked for line in found.lines] == [True, False, False]
    assert [suspect.lengths for suspect in found.suspects] == [(pytest.approx(4.0),), (), ()]


def test_two_spare_lines_name_the_slip_with_its_length_and_misreading() -> None:
    spots = {**RING, "E": (2.2, 6.5)}
    every = " ".join(a + b for a, b in combinations("ABCDE", 2))
    found = adjusted(at_height("ABCDE"), lines(every, spots, BD=math.dist(RING["B"], RING["D"]) + 0.3048))
    assert found.verdict == "one slipped"
    assert found.slip is not None
    assert (found.lines[found.slip.line].start, found.lines[found.slip.line].end) == ("B", "D")
    assert found.slip.lengths[0] == pytest.approx(math.dist(RING["B"], RING["D"]), abs=1e-6)
    assert found.slip.misreading == "a foot"
    assert found.slip.sure is not None
    assert found.slip.sure > 0.99


def test_two_slips_are_not_put_on_one_line() -> None:
    spots = {**RING, "E": (2.2, 6.5)}
    every = " ".join(a + b for a, b in combinations("ABCDE", 2))
    slipped = {pair: math.dist(spots[pair[0]], spots[pair[1]]) + off for pair, off in (("AC", 0.15), ("BE", -0.15))}
    found = adjusted(at_height("ABCDE"), lines(every, spots, **slipped), tape_error=0.0)
    assert (found.verdict, found.slip, found.suspects) == ("several slipped", None, ())


@pytest.mark.parametrize(
    ("taken", "closing", "words"),
    [
        (4.563, 4.653, "two figures swapped"),
        (4.56, 4.65, "two figures swapped"),
        (5.41, 4.51, "two figures swapped"),
        (5.0, 5.1, "100 mm"),
        (5.0, 4.99, "10 mm"),
        (5.0, 6.0, "1 m"),
        (5.0, 4.6952, "a foot"),
        (5.0, 5.037, ""),
    ],
)
def test_usual_misreadings(taken: float, closing: float, words: str) -> None:
    assert misreading(taken, closing, 0.001) == words


def test_a_misreading_smaller_than_chance_is_not_claimed() -> None:
    assert misreading(5.0, 5.01, 0.004) == ""


def test_repeats_that_agree_count_as_a_spare_line_and_others_are_refused() -> None:
    points = at_height("ABC")
    rest = [TapedLine("B", "C", 3.0), TapedLine("C", "A", 5.0)]
    found = adjusted(points, [TapedLine("A", "B", 4.0), TapedLine("B", "A", 4.006), *rest])
    assert found.spare == 1
    assert found.points[1].across == pytest.approx(4.003, abs=1e-4)
    (fault,) = faults(points, [TapedLine("A", "B", 4.0), TapedLine("B", "A", 4.02), *rest])
    assert (fault.kind, fault.names, fault.lines) == ("repeats-disagree", ("A", "B"), (0, 1))
    assert fault.by == pytest.approx(0.02)


def test_side_longer_than_the_two_others_is_named() -> None:
    (fault,) = faults(at_height("ABC"), [TapedLine("A", "B", 2), TapedLine("B", "C", 2), TapedLine("C", "A", 5)])
    assert (fault.kind, fault.names, fault.lines) == ("too-long", ("A", "C", "B"), (2, 0, 1))
    assert fault.by == pytest.approx(1.0)


def test_side_longer_than_given_points_allow() -> None:
    held = [TapedPoint("A", 2, 0, 0), TapedPoint("B", 2, 9, 0), TapedPoint("C", 2)]
    (fault,) = faults(held, [TapedLine("A", "C", 4), TapedLine("B", "C", 4)])
    assert (fault.kind, fault.names) == ("too-long", ("A", "B", "C"))


def test_four_sides_and_no_diagonal_fix_no_shape() -> None:
    (fault,) = faults(at_height("ABCD"), lines("AB BC CD DA", {"A": (0, 0), "B": (3, 0), "C": (3, 3), "D": (0, 3)}))
    assert (fault.kind, fault.tape, fault.lines) == ("flexes", (("A", "C"),), (0, 1, 2, 3))
    assert (fault.least, fault.greatest) == (pytest.approx(0, abs=1e-9), pytest.approx(9.0))


def test_four_sides_typed_in_any_order_keep_their_ring() -> None:
    spots = {"A": (0, 0), "B": (5, 0), "C": (5, 2), "D": (0, 2)}
    (fault,) = faults(at_height("ABCD"), lines("CD AB DA BC", spots))
    assert fault.greatest == pytest.approx(10.0)
    assert fault.lines == (1, 3, 0, 2)


def test_four_sides_that_cannot_close() -> None:
    (fault,) = faults(
        at_height("ABCD"), [TapedLine(a, b, n) for a, b, n in ("AB2", "BC2", "CD2", "DA7") for n in [float(n)]]
    )
    assert (fault.kind, fault.names, fault.by) == ("too-long", ("A", "D"), pytest.approx(1.0))


def test_five_sides_flex_and_say_which_lines_to_add() -> None:
    (fault,) = faults(at_height("ABCDE"), [TapedLine(a, b, 3) for a, b in ("AB", "BC", "CD", "DE", "EA")])
    assert (fault.kind, len(fault.tape)) == ("flexes", 2)
    assert (fault.least, fault.greatest) == (None, None)


def test_unchecked_point_hanging_on_one_line_is_named() -> None:
    (fault,) = faults(at_height("ABCD"), lines("AB BC AC CD"))
    assert (fault.kind, fault.names) == ("loose-point", ("D",))


def test_groups_that_no_line_joins_are_named() -> None:
    spots = {**RING, "E": (9, 0), "F": (9, 3)}
    (fault,) = faults(at_height("ABCDEF"), lines("AB BC AC DE EF DF", spots))
    assert (fault.kind, fault.names) == ("apart", ("A", "D"))


def test_heights_that_differ_by_more_than_the_line() -> None:
    (fault,) = faults([TapedPoint("A", 0), TapedPoint("B", 3)], [TapedLine("A", "B", 2.9)])
    assert (fault.kind, fault.names, fault.lines) == ("too-steep", ("A", "B"), (0,))
    assert fault.by == pytest.approx(0.1)


def test_everything_that_cannot_be_read_is_told_at_once() -> None:
    points = [TapedPoint("A", 2), TapedPoint("a", 2), TapedPoint("B", 2, 1.0, None)]
    taped = [TapedLine("A", "Z", 2), TapedLine("A", "a ", 3), TapedLine("A", "B", -1), TapedLine("A", "B", math.nan)]
    assert [(fault.kind, fault.lines) for fault in faults(points, taped)] == [
        ("named-twice", ()),
        ("half-given", ()),
        ("unknown-name", (0,)),
        ("same-point", (1,)),
        ("not-a-length", (2,)),
        ("not-a-length", (3,)),
    ]
