"""The error of a request that cannot be met, as against a case that is wrong or a run that failed."""

from hydraulics.errors import FilterrunError


class RequestError(FilterrunError):
    """What was asked for cannot be done: a policy the case does not have, a place that cannot be written."""
