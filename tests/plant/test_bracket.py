"""Exact: a bracketed root by hand, step by step, and by functions whose roots are known."""

import math
from collections.abc import Callable

import pytest

from sim.plant.bracket import CHORDS, ROOT_SECONDS, ROOT_STEPS, narrowed, next_guess


def test_the_chord_between_the_ends_is_followed() -> None:
    """From -1 at 2 s to 3 at 6 s it crosses at 3 s; after many steps the middle is tried."""
    assert next_guess(0, 2.0, 6.0, -1.0, 3.0) == pytest.approx(3.0, rel=1e-12)
    assert next_guess(CHORDS, 2.0, 6.0, -1.0, 3.0) == 4.0


def test_a_guess_keeps_off_the_ends() -> None:
    """An end that is all but the root would be guessed again and again: a quarter of a microsecond inside of it."""
    assert next_guess(0, 0.0, 10.0, -1.0, 0.0) == 10.0 - 0.25e-6
    assert next_guess(0, 0.0, 10.0, 0.0, 1.0) == 0.25e-6


def test_the_end_that_stays_a_second_time_loses_its_weight() -> None:
    """By hand: from 3 to 1 two thirds are gained at the right, so that the left end's -1 counts as two thirds."""
    assert narrowed(0.0, 8.0, -1.0, 3.0, 0, 6.0, 1.0) == (0.0, 6.0, -1.0, 1.0, 1)
    assert narrowed(0.0, 8.0, -1.0, 3.0, 1, 6.0, 1.0) == pytest.approx((0.0, 6.0, -2.0 / 3.0, 1.0, 1))
    assert narrowed(0.0, 8.0, -4.0, 3.0, -1, 2.0, -1.0) == pytest.approx((2.0, 8.0, -1.0, 3.0 * 0.75, -1))
    assert narrowed(0.0, 8.0, -4.0, 3.0, 0, 2.0, -1.0) == (2.0, 8.0, -1.0, 3.0, -1)
    assert narrowed(0.0, 8.0, -1.0, 3.0, 1, 6.0, 3.0)[2] == -0.5, "by half where nothing is gained"


@pytest.mark.parametrize(
    ("rising", "root", "most"),
    [
        (lambda x: x - 7.0, 7.0, 5),
        (lambda x: 1.0 - math.exp(4.0 - x), 4.0, 30),
        (lambda x: x**9 - 512.0, 2.0, CHORDS + 25),  # 10 s halved 24 times are less than a microsecond
        (lambda x: math.exp(40.0 * (x - 9.5)) - 1e-6, 9.5 - math.log(1e6) / 40.0, CHORDS + 25),
    ],
    ids=["line", "exponential", "ninth power", "breakthrough"],
)
def test_roots_are_found_to_a_microsecond(rising: Callable[[float], float], root: float, most: int) -> None:
    left, right, side, steps = 0.0, 10.0, 0, 0
    below, above = rising(left), rising(right)
    while right - left > ROOT_SECONDS and steps < ROOT_STEPS:
        guess = next_guess(steps, left, right, below, above)
        assert left < guess < right
        left, right, below, above, side = narrowed(left, right, below, above, side, guess, rising(guess))
        assert left <= root <= right
        steps += 1
    assert steps <= most
