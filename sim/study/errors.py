"""Errors of a study: a request that cannot be met, runs that fail, as against a case that is wrong."""

from hydraulics.errors import FilterrunError


class RequestError(FilterrunError):
    """What was asked for cannot be done: a policy the case does not have, a place that cannot be written."""


class SettingError(FilterrunError):
    """A run that failed at some settings of a study."""

    def __init__(self, settings: str, policy: str, why: str) -> None:
        super().__init__(settings, policy, why)
        self.settings, self.policy, self.why = settings, policy, why

    def __str__(self) -> str:
        return f"with {self.settings} and {self.policy}: {self.why}"


class StudyError(FilterrunError):
    """A study that cannot go on: workers lost, a disk full."""


class RunFailure(StudyError):
    """One run of many that could not go on: its policy, its place from 0, and why."""

    def __init__(self, policy: str, replicate: int, why: str) -> None:
        super().__init__(policy, replicate, why)
        self.policy, self.replicate, self.why = policy, replicate, why

    def __str__(self) -> str:
        return f'run {self.replicate + 1} of "{self.policy}": {self.why}'


class Interrupted(KeyboardInterrupt):
    """A person stopped a study; the text says what is kept."""
