"""The desk: who asks for the same joins, what nobody waits for is dropped, what takes too long is stopped."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from dataclasses import replace
from typing import Any

import pytest

from sim.web import desk as desk_module
from sim.web import plant, rinse, start
from sim.web.by_question import Setup, setup
from sim.web.desk import Desk, Going
from sim.web.errors import Refused
from sim.web.shelf import DEMO, Held, Stand
from sim.web.worker import Job
from tests.web.serving import CASES

DEMO_CASE = Held(DEMO.read_text(encoding="utf-8"), DEMO.name)
LONG_CASE = Held((CASES / "greenhouse.toml").read_text(encoding="utf-8").replace('"210 d"', '"6500 d"'), "long.toml")
SHORT = Job(setup, (start.sliders, (DEMO_CASE,)))
OTHER = Job(setup, (rinse.sliders, (DEMO_CASE, None)))
LONG = Job(start.answered, (Stand(LONG_CASE, (), "si"), None))
READY = 120.0


@asynccontextmanager
async def one_worker() -> AsyncIterator[Desk]:
    desk = Desk(Job(start.warm_up, ()), 1)
    desk.open()
    try:
        assert isinstance(await desk.ask(SHORT, READY), Setup)
        yield desk
    finally:
        desk.close()


def run(test: Callable[[Desk], Awaitable[None]]) -> None:
    """In a thread of its own, since a browser's tests may have a loop in this one."""

    async def inside() -> None:
        async with one_worker() as desk:
            await test(desk)

    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(inside())).result()


async def refused(desk: Desk, job: Job[Any], patience: float) -> Refused:
    with pytest.raises(Refused) as found:
        await desk.ask(job, patience)
    return found.value


@pytest.mark.long
def test_a_job_is_joined_stopped_and_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    async def test(desk: Desk) -> None:
        first = await desk.ask(LONG, 0.2)
        assert isinstance(first, Going)
        (hand,) = desk._hands
        waiting = [asyncio.ensure_future(refused(desk, LONG, 30.0)) for _ in range(3)]
        await asyncio.sleep(0.1)
        assert len(desk._tasks) == 1
        # Another job waits; nobody waits for it any more once its own wait is given up.
        other = asyncio.ensure_future(desk.ask(OTHER, 30.0))
        await asyncio.sleep(0.1)
        assert len(desk._tasks) == 2
        other.cancel()
        await asyncio.sleep(0.1)
        assert len(desk._tasks) == 1
        desk.cancel(LONG)
        assert [str(each) for each in await asyncio.gather(*waiting)] == ["This was cancelled."] * 3
        assert not hand.process.is_alive() or hand.process.join(5.0) is None
        # A new worker takes its place and answers.
        assert isinstance(await desk.ask(OTHER, READY), Setup)
        # What takes too long is stopped.
        monkeypatch.setattr(desk_module, "LONGEST", 0.3)
        assert str(await refused(desk, LONG, 30.0)).startswith("This took longer than 0.3 s")
        # A job that shows how far it is has longer.
        longer = replace(LONG, longest=60.0)
        assert isinstance(await desk.ask(longer, 2.0), Going)
        desk.cancel(longer)
        monkeypatch.undo()
        # What nobody asks about any more is dropped.
        assert isinstance(await desk.ask(Job(setup, (start.sliders, (LONG_CASE,))), READY), Setup)
        monkeypatch.setattr(desk_module, "GRACE", 0.1)
        assert isinstance(await desk.ask(LONG, 0.1), Going)
        await asyncio.sleep(1.5)
        assert desk._tasks == {}

    run(test)


def test_too_many_are_refused_and_answers_are_kept_within_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    async def test(desk: Desk) -> None:
        assert await desk.ask(SHORT, 0.0) is await desk.ask(SHORT, 0.0)
        monkeypatch.setattr(desk_module, "MOST_KEPT", 2000)
        await desk.ask(OTHER, READY)
        assert len(desk._kept) <= 1
        monkeypatch.setattr(desk_module, "MOST_WAITING", 2)
        jobs = [Job(plant.checked_case, (Held(f"a = {count}", "a.toml"),)) for count in range(4)]
        asked = [asyncio.ensure_future(desk.ask(each, 30.0)) for each in (LONG, *jobs)]
        done = await asyncio.gather(*asked[3:], return_exceptions=True)
        assert [getattr(each, "status", None) for each in done] == [429, 429]
        for each in asked:
            each.cancel()

    run(test)
