"""Published: tanks in series."""

import pytest

from hydraulics.rinse import remaining_both


# F(1) = P(N, N), the regularised incomplete gamma function, computed.
@pytest.mark.parametrize(("tanks", "gone"), [(1, "0.63212056"), (3, "0.57680992"), (10, "0.54207029")])
def test_share_gone_after_one_volume(tanks, gone, printed):
    assert 1.0 - remaining_both(1.0, tanks)[0] == printed(gone)


# As above.
def test_share_left_in_three_tanks_after_three_volumes(printed):
    assert remaining_both(3.0, 3)[0] == printed("6.232e-3")
