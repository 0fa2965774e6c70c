"""What every table of a case file is: strict, frozen, and readable in part; and the record that it becomes."""

from dataclasses import MISSING, fields
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, overload

from pydantic import BaseModel, ConfigDict

from hydraulics.errors import FilterrunError

Record = TypeVar("Record")


class Unread(FilterrunError, AttributeError):
    """A value was asked for that the file does not give, or gives wrongly: nothing can be said about it."""


class Table(BaseModel):
    """A table of the file: every key known, nothing converted that was not asked for."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)
    in_example: ClassVar[tuple[str, ...]] = ()  # keys of it beside those that it needs

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        # A generic table is described as it is whatever its values are.
        cls.__doc__ = cls.__doc__ or cls.__base__.__doc__

    @classmethod
    def model_parametrized_name(cls, params: tuple[Any, ...]) -> str:
        """The name of a generic table with values of some kind: its own."""
        return cls.__name__

    if not TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            # A table with refused values is built without them: see `reading.as_far_as_readable`.
            if name in type(self).model_fields:
                raise Unread(name)
            return super().__getattr__(name)


def value_or_table(raw: object) -> str:
    """The tag of what a raw value is meant for, where one value or one table may stand."""
    return "<table>" if isinstance(raw, dict) else "<value>"


@overload
def record_of(kind: type[Record], table: Table, **worked_out: Any) -> Record: ...
@overload
def record_of(kind: type[Record], table: None, **worked_out: Any) -> None: ...
def record_of(kind: type[Any], table: Table | None, **worked_out: Any) -> Any:
    """The record that a table becomes; None without a table.

    A field takes what is worked out for it, else what the key of its name gives, a list as a tuple; where neither
    says anything, it keeps the record's own default.
    """
    if table is None:
        return None
    own = {}
    for field in fields(kind):
        if field.name in type(table).model_fields and field.name not in worked_out:
            given = getattr(table, field.name)
            assert not isinstance(given, Table), f"{field.name} is a table: its record has to be made"
            if given is not None or field.default is MISSING:
                own[field.name] = tuple(given) if isinstance(given, list) else given
    return kind(**own, **worked_out)
