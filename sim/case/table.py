"""What every table of a case file is: strict, frozen, and readable in part."""

from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ConfigDict

from hydraulics.errors import FilterrunError


class Unread(FilterrunError, AttributeError):
    """A value was asked for that the file does not give, or gives wrongly: nothing can be said about it."""


class Table(BaseModel):
    """A table of the file: every key known, nothing converted that was not asked for."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)

    if not TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            # A table with refused values is built without them: see `reading.as_far_as_readable`.
            if name in type(self).model_fields:
                raise Unread(name)
            return super().__getattr__(name)


def value_or_table(raw: object) -> str:
    """The tag of what a raw value is meant for, where one value or one table may stand."""
    return "<table>" if isinstance(raw, dict) else "<value>"
