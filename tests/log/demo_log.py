"""Make the log that is shipped with the laundry: read by hand twice a day in a month, with every wart a log can have.

    python -m tests.log.demo_log

Its plant is the laundry's with other constants, which nobody who fits it knows.
"""

from datetime import datetime
from pathlib import Path

from tests.log.made_log import HAND, make_log

PATH = Path("cases/data/laundry_log.csv")
TRUTH = {
    "run.start": datetime(2027, 5, 3),
    "stage.sand.layer.0.head_loss_gain": "5.6 Pa/m per g/m3",
    "stage.sand.head_loss.valve": "11 kPa at 6.5 m3/h",
    "stage.sand.loose_rate": "0.6 1/min",
}
DAYS, MORNING, AFTERNOON, DAY = 31, 7.5 * 3600.0, 16.25 * 3600.0, 86_400.0


def make_demo(path: Path = PATH) -> Path:
    """Write it."""
    times = [day * DAY + hour for day in range(DAYS) for hour in (MORNING, AFTERNOON)]
    return make_log(
        path, Path("cases/laundry.toml"), seed=7, days=float(DAYS), times=times, columns=HAND,
        truth=TRUTH, warts=("gap", "empty cells", "negative", "stuck", "reset"), dates="day first",
    )  # fmt: skip


if __name__ == "__main__":
    make_demo()
