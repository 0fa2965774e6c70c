"""The lessons, each studied once for all tests of it."""

import pytest

from sim.lessons import hold, rinse, salt, stagger, storm, stuck_meter, warm_water, worst_hour
from sim.lessons.lesson import Studied


@pytest.fixture(scope="session")
def rinsed() -> Studied:
    return rinse.LESSON.study()


@pytest.fixture(scope="session")
def stormed() -> Studied:
    return storm.LESSON.study()


@pytest.fixture(scope="session")
def warmed() -> Studied:
    return warm_water.LESSON.study()


@pytest.fixture(scope="session")
def staggered() -> Studied:
    return stagger.LESSON.study()


@pytest.fixture(scope="session")
def held() -> Studied:
    return hold.LESSON.study()


@pytest.fixture(scope="session")
def softened() -> Studied:
    return salt.LESSON.study()


@pytest.fixture(scope="session")
def carbon() -> Studied:
    return worst_hour.LESSON.study()


@pytest.fixture(scope="session")
def stuck() -> Studied:
    return stuck_meter.LESSON.study()
