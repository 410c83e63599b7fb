"""The order of the whole set: changes of setting counted against every order there is."""

from __future__ import annotations

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plangen.machining.whole_order import Task, fewest_changes


def tasks_of(colours: str, *pairs: tuple[int, int]) -> list[Task]:
    """A task for each sign (``-``: no machine), ``pairs`` (earlier, later)."""
    return [
        Task(
            None if c == "-" else ord(c),
            frozenset(a for a, b in pairs if b == n),
        )
        for n, c in enumerate(colours)
    ]


def runs(tasks: list[Task], order: tuple[int, ...]) -> int:
    shown = [tasks[i].colour for i in order if tasks[i].colour is not None]
    return sum(a != b for a, b in pairwise([None, *shown]))


def is_allowed(tasks: list[Task], order: tuple[int, ...]) -> bool:
    place = {i: n for n, i in enumerate(order)}
    return all(place[a] < place[b] for b, t in enumerate(tasks) for a in t.after)


@st.composite
def jobs(draw: st.DrawFn) -> list[Task]:
    count = draw(st.integers(1, 7))
    colours = draw(st.text(alphabet="abcd-", min_size=count, max_size=count))
    every = [(a, b) for b in range(count) for a in range(b)]
    return tasks_of(colours, *draw(st.lists(st.sampled_from(every), unique=True)) if every else ())


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_no_order_has_fewer_changes_than_the_one_found(tasks: list[Task]) -> None:
    """Every order of up to seven cuts is tried."""
    found = fewest_changes(tasks)
    best = min(runs(tasks, p) for p in permutations(range(len(tasks))) if is_allowed(tasks, p))
    assert is_allowed(tasks, found.order)
    assert sorted(found.order) == list(range(len(tasks)))
    assert (found.changes, found.least_changes, runs(tasks, found.order)) == (best, best, best)


def test_a_setting_that_a_piece_comes_back_to_is_set_twice() -> None:
    assert fewest_changes(tasks_of("aba", (0, 1), (1, 2))).changes == 3


def test_pieces_that_take_two_settings_in_opposite_order_cost_one_change_more() -> None:
    found = fewest_changes(tasks_of("abba", (0, 1), (2, 3)))
    assert (found.changes, found.least_changes) == (3, 3)


def test_work_by_hand_changes_no_setting_and_waits_until_it_is_needed() -> None:
    found = fewest_changes(tasks_of("-ab-b", (0, 2), (3, 4)))
    assert found.changes == 2
    assert found.order[0] == 1


def test_settings_of_one_machine_follow_one_another() -> None:
    machine = {ord("a"): "saw", ord("b"): "drill", ord("c"): "saw"}
    found = fewest_changes(tasks_of("abc"), lambda colour: machine[colour])
    assert found.order == (0, 2, 1)


def test_a_hundred_cuts_in_rings_are_ordered_within_the_bound_of_work() -> None:
    """Where the search is cut off, what it tells is still a bound below and an order that is allowed."""
    colours, pairs = "", []
    for n in range(25):
        names = "abcdefgh"
        row = [names[(n * k + k * k) % 8] for k in range(1, 5)]
        pairs += [(len(colours) + k, len(colours) + k + 1) for k in range(3)]
        colours += "".join(row)
    tasks = tasks_of(colours, *pairs)
    found = fewest_changes(tasks)
    assert is_allowed(tasks, found.order)
    assert len(set(colours)) <= found.least_changes <= found.changes == runs(tasks, found.order)


def test_cuts_that_wait_for_one_another_are_refused() -> None:
    with pytest.raises(ValueError, match="wait for one another"):
        fewest_changes([Task(1, frozenset({1})), Task(2, frozenset({0}))])
