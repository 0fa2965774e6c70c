"""The recipe of cases/data/dye_works.csv: ten weeks of hours at a dye works that never was.

Whole numbers only, so that every machine makes the same file: `python -m tests.case.dye_works` writes it anew.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

FILE = Path(__file__).parents[2] / "cases" / "data" / "dye_works.csv"
START, HOURS = datetime(2027, 3, 8), 70 * 24
HEADER = "time,canal_NTU,canal_degC,dye_house_L_min"

# Hour of the first rain, tenths of NTU at the peak, hours of rise and of fall.
STORMS = ((214, 310, 7, 41), (662, 190, 5, 28), (1187, 460, 9, 63), (1436, 240, 6, 33))
# L/min asked for from 0 to 24 h on a working day: two shifts, baths filled in the morning and after noon.
MORNING, AFTER_NOON = (95, 265, 310, 280, 225, 205, 215), (150, 290, 320, 270, 220, 210, 205, 190, 170, 85)
WORKING_DAY = (18,) * 5 + MORNING + AFTER_NOON + (18,) * 2
SATURDAY = (18,) * 5 + (80, 210, 240, 190, 150, 140, 120, 60) + (0,) * 11
# First hour and number of hours in which the turbidity meter gave nothing: cleaned, and once without power.
SILENT = ((154, 2), (490, 2), (826, 3), (1003, 9), (1162, 2), (1500, 2))


def chance() -> Iterator[int]:
    """Whole numbers from 0 to 99 in no order that anyone would notice: a linear congruence."""
    state = 20270308
    while True:
        state = (1103515245 * state + 12345) % 2**31
        yield (state >> 16) % 100


def turbidity(hour: int, luck: int) -> int:
    """Tenths of NTU: a steady canal, boats by day, rain now and then."""
    boats = 22 if 7 <= hour % 24 <= 18 and hour // 24 % 7 < 6 else 0
    rain = 0
    for start, peak, rise, fall in STORMS:
        since = hour - start
        if 0 <= since < rise:
            rain += peak * since // rise
        elif rise <= since < rise + fall:
            rain += peak * (rise + fall - since) // fall
    return (52 + boats + rain) * (88 + luck // 4) // 100


def temperature(hour: int) -> int:
    """Tenths of degC: a spring that comes on, a little warmer in the afternoon."""
    from_three = abs(hour % 24 - 15)
    return 68 + hour * 74 // HOURS + (6 - min(from_three, 24 - from_three)) // 2


def demand(hour: int, luck: int) -> int:
    """L/min; nothing from Saturday afternoon to Monday morning."""
    day = hour // 24 % 7
    asked = 0 if day == 6 else (SATURDAY if day == 5 else WORKING_DAY)[hour % 24]
    return asked * (92 + luck // 6) // 100


def rows() -> Iterator[str]:
    luck = chance()
    silent = {first + more for first, count in SILENT for more in range(count)}
    yield HEADER
    for hour in range(HOURS):
        cloudy, warm, asked = turbidity(hour, next(luck)), temperature(hour), demand(hour, next(luck))
        reading = "" if hour in silent else f"{cloudy / 10:.1f}"
        stamp = (START + timedelta(hours=hour)).isoformat(timespec="minutes")
        yield f"{stamp},{reading},{warm / 10:.1f},{asked}"


def text() -> str:
    return "".join(f"{row}\n" for row in rows())


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
