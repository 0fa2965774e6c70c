"""A root within a bracket by false position with the Illinois rule: one guess, one update, no callbacks.

The function is below zero at `left` and above at `right`; a falling function is handed in with its sign turned.
"""

from hydraulics.compiled import law

ROOT_SECONDS = 1e-6  # width at which a crossing within a piece counts as found
ROOT_STEPS = 200


@law
def next_guess(left: float, right: float, below: float, above: float) -> float:
    """Where the chord crosses zero, kept a quarter of ROOT_SECONDS off the ends [s]."""
    guess = right - above * (right - left) / (above - below)
    return min(max(guess, left + 0.25 * ROOT_SECONDS), right - 0.25 * ROOT_SECONDS)


@law
def narrowed(
    left: float, right: float, below: float, above: float, side: int, guess: float, value: float
) -> tuple[float, float, float, float, int]:
    """The bracket after the function had `value` at `guess`; an end kept twice has its value halved."""
    if value > 0.0:
        return left, guess, (0.5 * below if side == 1 else below), value, 1
    return guess, right, value, (0.5 * above if side == -1 else above), -1
