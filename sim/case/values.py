"""What one value of a case file may be: a rule reads the raw TOML value or refuses it with advice.

A rule stands in the annotation of a schema field (`Annotated[float, Quantity(LENGTH, "1 cm", "10 m")]`); the
reading itself, the message and the entry in the JSON Schema all come from it.
"""

import re
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar, Final, cast

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema

from sim.case.spelling import nearest_or, quoted, shown
from sim.case.units import NUMBER_PATTERN, Kind, parse_any, parse_quantity
from sim.errors import RefusedValue

_PERCENT = re.compile(f" *({NUMBER_PATTERN}) *% *")


class Rule:
    """Reads one raw value; `allowed` says what it may be, `example` is a value as written in a file."""

    @property
    def allowed(self) -> str:
        raise NotImplementedError

    @property
    def example(self) -> str:
        raise NotImplementedError

    def read(self, raw: object) -> Any:
        """The value for the records (SI); RefusedValue, about the whole of it, if it cannot be taken."""
        try:
            return self.parse(raw)
        except RefusedValue as refused:
            raise self.refuse(raw, refused.try_) from None

    def parse(self, raw: object) -> Any:
        """As `read`; what is refused may be a part of the value."""
        raise NotImplementedError

    def json_schema(self) -> dict[str, Any]:
        raise NotImplementedError

    def refuse(self, raw: object, try_: str) -> RefusedValue:
        return RefusedValue(shown(raw), self.allowed, try_)

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, _core: CoreSchema, _handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return self.json_schema()


@dataclass(frozen=True, slots=True)
class Items:
    """How many items a list or a table of tables may hold."""

    low: int
    high: int

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        counted: Any = {**handler(source), "min_length": self.low, "max_length": self.high}
        return cast(CoreSchema, counted)


@dataclass(frozen=True, slots=True)
class Amount:
    """A value [SI] together with the kind that its unit says it is."""

    value: float
    kind: Kind


@dataclass(frozen=True)
class Quantity(Rule):
    """A text with a number and a unit of one kind, from `low` to `high` (themselves quantities), such as `like`."""

    kind: Kind
    low: str
    high: str
    like: str = ""
    least: float = field(init=False)
    most: float = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "least", parse_quantity(self.low, self.kind))
        object.__setattr__(self, "most", parse_quantity(self.high, self.kind))

    @property
    def allowed(self) -> str:
        return f"{self.kind.allowed}, from {self.low} to {self.high}"

    @property
    def example(self) -> str:
        return f'"{self.like or self.kind.example}"'

    def parse(self, raw: object) -> float:
        if not isinstance(raw, str):
            raise self.refuse(raw, f"a text in quotes, number and unit, as in {self.example}")
        try:
            value = parse_quantity(raw, self.kind)
        except RefusedValue as refused:
            raise self.refuse(raw, refused.try_.replace(f'"{self.kind.example}"', self.example)) from None
        if not self.least <= value <= self.most:
            raise self.refuse(raw, "a value within the range; is the unit the one that was meant?")
        return value

    def json_schema(self) -> dict[str, Any]:
        units = "|".join(self.kind.units)
        return {
            "type": "string",
            "pattern": f"^ *{NUMBER_PATTERN} *({units}) *$",
            "description": self.allowed,
        }


@dataclass(frozen=True)
class Either(Rule):
    """A quantity of one of two or three kinds, such as solids or turbidity."""

    first: Quantity
    second: Quantity
    third: Quantity | None = None

    @property
    def each(self) -> tuple[Quantity, ...]:
        """The kinds that it may be of."""
        return tuple(kind for kind in (self.first, self.second, self.third) if kind is not None)

    @property
    def allowed(self) -> str:
        return "; or ".join(kind.allowed for kind in self.each)

    @property
    def example(self) -> str:
        return self.first.example

    def parse(self, raw: object) -> Amount:
        if not isinstance(raw, str):
            raise self.refuse(raw, f"a text in quotes, number and unit, as in {self.example}")
        _, kind = parse_any(raw, tuple(each.kind for each in self.each))
        return Amount(next(each for each in self.each if each.kind is kind).parse(raw), kind)

    def json_schema(self) -> dict[str, Any]:
        return {"anyOf": [each.json_schema() for each in self.each]}


@dataclass(frozen=True)
class LossAtFlow(Rule):
    """A pressure loss at a flow, read as the constant of the square law [Pa/(m3/s)^2]."""

    loss: Quantity
    flow: Quantity

    @property
    def allowed(self) -> str:
        return f"{self.loss.allowed}, at {self.flow.allowed}"

    @property
    def example(self) -> str:
        return f'"{self.loss.kind.example} at {self.flow.kind.example}"'

    def parse(self, raw: object) -> float:
        if not isinstance(raw, str):
            raise self.refuse(raw, f"a text in quotes, as in {self.example}")
        loss, joint, flow = raw.partition(" at ")
        if not joint:
            raise self.refuse(raw, f'pressure and flow joined by "at", as in {self.example}')
        return self.loss.parse(loss) / self.flow.parse(flow) ** 2

    def json_schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": " at ", "description": self.allowed}


@dataclass(frozen=True)
class Number(Rule):
    """A plain number without unit, from `low` to `high`, such as `like`; or 0 where `zero` says what that does."""

    low: float
    high: float
    like: float
    zero: str = ""

    @property
    def allowed(self) -> str:
        return f"a number without unit, from {self.low:g} to {self.high:g}{self.zero and f', or 0, {self.zero}'}"

    @property
    def example(self) -> str:
        return f"{self.like:g}"

    def parse(self, raw: object) -> float:
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise self.refuse(raw, "the number alone, without quotes and unit")
        if not self.low <= raw <= self.high and not (self.zero and raw == 0):
            raise self.refuse(raw, "a number within the range")
        return float(raw)

    def json_schema(self) -> dict[str, Any]:
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {"anyOf": [{"const": 0}, number]} if self.zero else number


@dataclass(frozen=True)
class Percentage(Number):
    """A share as a plain number or as a text in percent; from `low` to `high`, such as `like`."""

    @property
    def allowed(self) -> str:
        ends = f"from {self.low:g} to {self.high:g}"
        return f"a number without unit, {ends}; or a text in percent, as in {self.example}"

    @property
    def example(self) -> str:
        return f'"{100.0 * self.like:g} %"'

    def parse(self, raw: object) -> float:
        match = _PERCENT.fullmatch(raw) if isinstance(raw, str) else None
        if match is None and (isinstance(raw, bool) or not isinstance(raw, int | float)):
            raise self.refuse(raw, f"a text in percent, as in {self.example}, or {self.like:g}")
        value = float(match[1]) / 100.0 if match is not None else float(cast(float, raw))
        if not self.low <= value <= self.high:
            percent = match is None and 1.0 < value <= 100.0 * self.high
            raise self.refuse(raw, f'"{value:g} %", if percent was meant' if percent else "a value within the range")
        return value

    def json_schema(self) -> dict[str, Any]:
        number = super().json_schema()
        text = {"type": "string", "pattern": f"^{_PERCENT.pattern}$", "description": self.allowed}
        return {"anyOf": [number, text]}


class AsItsKey(Rule):
    """A value of another key, read by that one: a number, or a text with number and unit."""

    allowed = "a value as its key takes it: a number, or a text with number and unit"
    example = '"3 1/m"'

    def parse(self, raw: object) -> float | str:
        if isinstance(raw, bool) or not isinstance(raw, int | float | str):
            raise self.refuse(raw, f"a value as its key has it, as in {self.example}")
        return raw

    def json_schema(self) -> dict[str, Any]:
        return {"type": ["number", "string"], "description": self.allowed}


@dataclass(frozen=True)
class Whole(Rule):
    """A whole number from `low` to `high`."""

    low: int
    high: int

    @property
    def allowed(self) -> str:
        return f"a whole number from {self.low} to {self.high}"

    @property
    def example(self) -> str:
        return f"{self.low}"

    def parse(self, raw: object) -> int:
        if isinstance(raw, bool) or not isinstance(raw, int):
            raise self.refuse(raw, "a number without quotes and decimals")
        if not self.low <= raw <= self.high:
            raise self.refuse(raw, "a number within the range")
        return raw

    def json_schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


class Flag(Rule):
    """true or false."""

    allowed = "true or false"
    example = "true"

    def parse(self, raw: object) -> bool:
        if not isinstance(raw, bool):
            raise self.refuse(raw, "the word true or false, without quotes")
        return raw

    def json_schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


YesNo = Annotated[bool, Flag()]


@dataclass(frozen=True)
class FlagOrQuantity(Rule):
    """true or false, or the quantity that makes it true."""

    quantity: Quantity

    @property
    def allowed(self) -> str:
        return f"true, false or {self.quantity.allowed}"

    @property
    def example(self) -> str:
        return "true"

    def parse(self, raw: object) -> bool | float:
        if isinstance(raw, bool):
            return raw
        try:
            return self.quantity.parse(raw)
        except RefusedValue:
            raise self.refuse(raw, f"true or false without quotes, or as in {self.quantity.example}") from None

    def json_schema(self) -> dict[str, Any]:
        return {"anyOf": [{"type": "boolean"}, self.quantity.json_schema()]}


FIRST_OF_OTHERS: Final = "\" ' + - @"


@dataclass(frozen=True)
class Text(Rule):
    """A printable text of one line, such as `like`; `without` lists characters that it may not hold.

    One without some of them is a name: part of dotted keys, of cells that spreadsheets read and of commands, where
    each of FIRST_OF_OTHERS at its start would have a meaning too.
    """

    longest: int
    like: str
    without: str = ""

    @property
    def allowed(self) -> str:
        named = f", without {quoted(self.without)}, no {FIRST_OF_OTHERS} at its start" if self.without else ""
        return f"a text of 1 to {self.longest} printable characters, no space at either end{named}"

    @property
    def example(self) -> str:
        return shown(self.like)

    def parse(self, raw: object) -> str:
        if not isinstance(raw, str):
            raise self.refuse(raw, f"a text in quotes, as in {self.example}")
        if not 0 < len(raw) <= self.longest:
            raise self.refuse(
                raw,
                f"a shorter text: this one has {len(raw)} characters" if raw else "a text with something in it",
            )
        if not raw.isprintable() or raw != raw.strip():
            raise self.refuse(raw, "letters, digits, signs and spaces between them")
        if any(character in self.without for character in raw) or (self.without and raw[0] in FIRST_OF_OTHERS):
            raise self.refuse(raw, "another sign in its place: these have a meaning in dotted keys or spreadsheets")
        return raw

    def json_schema(self) -> dict[str, Any]:
        return {"type": "string", "minLength": 1, "maxLength": self.longest}


@dataclass(frozen=True, init=False)
class OneOf(Rule):
    """One word of a closed list."""

    words: tuple[str, ...]

    def __init__(self, *words: str) -> None:
        object.__setattr__(self, "words", words)

    @property
    def allowed(self) -> str:
        return quoted(self.words)

    @property
    def example(self) -> str:
        return shown(self.words[0])

    def parse(self, raw: object) -> str:
        if raw in self.words:
            return str(raw)
        near = raw if isinstance(raw, str) else ""
        raise self.refuse(raw, nearest_or(near, self.words, "one of these words, in quotes"))

    def json_schema(self) -> dict[str, Any]:
        return {"enum": list(self.words)}


class Off(Rule):
    """The word "none", which switches an effect off; the schema has a table beside it."""

    allowed = '"none"'
    example = '"none"'

    def read(self, raw: object) -> None:
        if raw != "none":
            raise RefusedValue(shown(raw), '"none" or a table', "the word none in quotes, or a table in braces")

    def json_schema(self) -> dict[str, Any]:
        return {"const": "none"}


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a whole [-], where an amount could stand too."""

    value: float


@dataclass(frozen=True)
class ShareOr(Rule):
    """A share of a whole from 0 to 1 without unit, or an amount of it with its unit."""

    amount: Quantity
    share: ClassVar = Number(0.0, 1.0, like=0.5)

    @property
    def allowed(self) -> str:
        return f"a share from 0 to 1 without unit, or {self.amount.allowed}"

    @property
    def example(self) -> str:
        return "0.5"

    def parse(self, raw: object) -> Share | float:
        if isinstance(raw, str):
            return self.amount.parse(raw)
        try:
            return Share(self.share.parse(raw))
        except RefusedValue:
            raise self.refuse(raw, f"a share such as 0.5, or {self.amount.example} in quotes") from None

    def json_schema(self) -> dict[str, Any]:
        return {"anyOf": [self.share.json_schema(), self.amount.json_schema()]}
