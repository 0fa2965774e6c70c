"""One page for all tests that only ask it."""

import shutil
from collections.abc import Iterator

import pytest

from sim.web.shelf import DEMO
from tests.web.serving import WORTH, Served, served


@pytest.fixture(scope="session")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The page over a copy of its own case, in a folder of which every file is known."""
    folder = tmp_path_factory.mktemp("page")
    shutil.copy(DEMO, folder / "case.toml")
    with served("case.toml", cwd=folder) as up:
        up.upload(WORTH.name, WORTH.text.encode("utf-8"))
        yield up
