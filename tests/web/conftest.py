"""One page for all tests that only ask it, and a browser where there is one."""

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from sim.web.shelf import DEMO
from tests.web.serving import Served, served

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run",
]  # fmt: skip


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The page over a copy of its own case, in a folder of which every file is known."""
    folder = tmp_path_factory.mktemp("page")
    shutil.copy(DEMO, folder / "case.toml")
    with served("case.toml", cwd=folder) as up:
        yield up


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    if CHROMIUM is None:
        pytest.skip("chromium is not installed (Debian: apt install chromium)")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield opened
        opened.close()
