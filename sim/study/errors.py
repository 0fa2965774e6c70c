"""The errors of studies: a request that cannot be met, a run that failed at settings of a study."""

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
