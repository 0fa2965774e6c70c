"""Settings that every test shares, and one browser for all that need one."""

import os
import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings

# The first example of a test may compile a kernel, which takes seconds and says nothing about the rest.
# In CI the same examples are drawn every time; elsewhere new ones, which is how those that matter are found.
settings.register_profile("patient", deadline=None, derandomize="CI" in os.environ)
settings.load_profile("patient")

# Here the programs that tests start wait for compiled code, as many runs do, instead of beginning in plain Python.
os.environ.setdefault("FILTERRUN_PLAIN", "0")

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run",
]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Chromium; a second one beside it in the same process would be refused."""
    if CHROMIUM is None:
        pytest.skip("chromium is not installed (Debian: apt install chromium)")
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with api.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield opened
        opened.close()
