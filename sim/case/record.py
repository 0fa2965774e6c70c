"""What a record is: plain data that nothing changes once it is made."""

from dataclasses import dataclass
from typing import TypeVar, dataclass_transform

Made = TypeVar("Made")


@dataclass_transform(frozen_default=True, kw_only_default=True)
def record(cls: type[Made]) -> type[Made]:
    """A dataclass that is frozen and slotted, its fields given by name."""
    return dataclass(frozen=True, slots=True, kw_only=True)(cls)
