"""A root within a bracket by false position after Anderson and Bjorck: one guess, one update, no callbacks.

The function is below zero at `left` and above at `right`; a falling function is handed in with its sign turned.
"""

from hydraulics.compiled import law

ROOT_SECONDS = 1e-6  # width at which a crossing within a piece counts as found
ROOT_STEPS = 200
CHORDS = 50  # steps after which a bracket is halved: a chord hardly moves below a function that is flat, then steep


@law
def next_guess(step: int, left: float, right: float, below: float, above: float) -> float:
    """Where the chord crosses zero [s], a quarter of ROOT_SECONDS off the ends at least; the middle after CHORDS."""
    if step >= CHORDS:
        return 0.5 * (left + right)
    guess = right - above * (right - left) / (above - below)
    return min(max(guess, left + 0.25 * ROOT_SECONDS), right - 0.25 * ROOT_SECONDS)


@law
def narrowed(
    left: float, right: float, below: float, above: float, side: int, guess: float, value: float
) -> tuple[float, float, float, float, int]:
    """The bracket after the function had `value` at `guess`.

    The value of an end kept twice shrinks by as much as the last step left of the other's, by half if it left all.
    Source: Anderson & Bjorck (1973), BIT 13, 253-264 (from memory).
    """
    if value > 0.0:
        left_over = 1.0 - value / above
        shrunk = below * (left_over if left_over > 0.0 else 0.5)
        return left, guess, (shrunk if side == 1 else below), value, 1
    left_over = 1.0 - value / below
    shrunk = above * (left_over if left_over > 0.0 else 0.5)
    return guess, right, value, (shrunk if side == -1 else above), -1
