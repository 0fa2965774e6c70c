"""Published: tanks in series."""

import pytest

from hydraulics.rinse import pulse_moments, remaining_share, tanks_from_pulse


# F(1) = P(N, N), the regularised incomplete gamma function, computed.
@pytest.mark.parametrize(("tanks", "gone"), [(1, "0.63212056"), (3, "0.57680992"), (10, "0.54207029")])
def test_share_gone_after_one_volume(tanks, gone, printed):
    assert 1.0 - remaining_share(1.0, tanks) == printed(gone)


# As above.
def test_share_left_in_three_tanks_after_three_volumes(printed):
    assert remaining_share(3.0, 3) == printed("6.232e-3")


# Levenspiel, Chemical Reaction Engineering: pulse read every 5 min. From memory; the arithmetic recomputes.
def test_levenspiel_pulse(printed):
    minutes = [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0]
    signal = [0.0, 3.0, 5.0, 5.0, 4.0, 2.0, 1.0, 0.0]
    mean, variance = pulse_moments(minutes, signal)
    assert mean == printed("15")
    assert variance == printed("47.5")
    assert tanks_from_pulse(minutes, signal) == printed("4.7368")
