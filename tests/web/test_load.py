"""Twenty people who move sliders for a minute: no error, memory flat, and how long the slowest wait."""

import itertools
import statistics
import threading
import time
from pathlib import Path

import pytest

from tests.web.serving import Served, served

USERS, MINUTE = 20, 60.0
THINKS = 0.5  # s between an answer and the next move of one person
PROC = Path("/proc")


def memory(pid: int) -> float:
    """Resident memory of a process and all below it [MiB]."""
    total, found = 0.0, [pid]
    while found:
        one = found.pop()
        try:
            status = (PROC / str(one) / "status").read_text(encoding="ascii", errors="replace")
            total += float(status.partition("VmRSS:")[2].split()[0]) / 1024.0
            for task in (PROC / str(one) / "task").iterdir():
                found += map(int, (task / "children").read_text(encoding="ascii").split())
        except (OSError, IndexError):
            continue
    return total


class Crowd:
    """Everybody's times and errors."""

    def __init__(self, page: Served) -> None:
        self.page, self.times, self.errors = page, list[float](), list[str]()
        self.numbers = itertools.count()
        self.until = time.monotonic() + MINUTE

    def one(self, who: int) -> None:
        while time.monotonic() < self.until:
            count = next(self.numbers)
            moved = f"policy.calendar.twin+bed.every={1 + count % 71 / 10:g}&feed.turbidity.median={1 + who / 2:g}"
            rinsed = f"guess=1&stage.0.step.2.minutes={count % 600 / 10:g}"
            way = f"/start/answer?{moved}" if who % 5 else f"/rinse/answer?{rinsed}"
            start = time.perf_counter()
            try:
                answer = self.page.settled(way)
            except (AssertionError, OSError) as error:
                self.errors.append(repr(error))
                continue
            self.times.append(time.perf_counter() - start)
            if answer.status != 200:
                self.errors.append(f"{answer.status} at {way}")
            time.sleep(THINKS)


@pytest.mark.long
@pytest.mark.skipif(not (PROC / "self" / "status").exists(), reason="memory is read from /proc")
def test_twenty_people_move_sliders_for_a_minute() -> None:
    with served() as page:
        for count in range(30):
            page.settled(f"/start/answer?policy.volume.twin+bed.volume={60 + count}")
        crowd = Crowd(page)
        people = [threading.Thread(target=crowd.one, args=(who,)) for who in range(USERS)]
        for each in people:
            each.start()
        levels = []
        while time.monotonic() < crowd.until:
            levels.append(memory(page.process.pid))
            time.sleep(3.0)
        for each in people:
            each.join()
    times = sorted(crowd.times)
    late = times[int(0.95 * len(times))]
    early, end = statistics.mean(levels[2:6]), statistics.mean(levels[-4:])
    print(
        f"\n{len(times)} answers, median {statistics.median(times):.2f} s, 95 % within {late:.2f} s; "
        f"memory {early:.0f} MiB early, {end:.0f} MiB at the end"
    )
    assert crowd.errors == []
    assert len(times) > USERS
    assert end < 1.1 * early + 20.0
