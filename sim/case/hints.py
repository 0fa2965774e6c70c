"""The schema's annotations taken apart: what stands at a place, and how to say it."""

from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import Discriminator, Tag
from pydantic.fields import FieldInfo

from sim.case.table import Table
from sim.case.values import Items, OneOf, Rule

Hint = Any
"""An annotation such as `list[Annotated[float, Quantity(...)]]`."""


def hint_of(field: FieldInfo) -> Hint:
    """The whole annotation of a field; pydantic keeps its outer part and its metadata apart."""
    return Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation


def bare(hint: Hint) -> tuple[Hint, tuple[Any, ...]]:
    """The annotation without `Annotated` and without `| None` around it, and the metadata that it carried.

    The words of a Literal are a rule like any other.
    """
    metadata: tuple[Any, ...] = ()
    while True:
        origin, members = _origin(hint), get_args(hint)
        if origin is Annotated:
            hint, metadata = members[0], (*metadata, *members[1:])
        elif origin in (Union, UnionType) and NoneType in members and len(members) == 2:
            hint = next(member for member in members if member is not NoneType)
        elif origin is Literal:
            return hint, (*metadata, OneOf(*members))
        else:
            return hint, metadata


def _origin(hint: Hint) -> Any:
    return get_origin(hint)


def list_item(hint: Hint) -> Hint | None:
    """What a list of this annotation holds, None if it is no list."""
    core, _ = bare(hint)
    return get_args(core)[0] if _origin(core) is list else None


def named_item(hint: Hint) -> Hint | None:
    """What stands under each name of a table with free names, None if it is none."""
    core, _ = bare(hint)
    return get_args(core)[1] if _origin(core) is dict else None


def table_of(hint: Hint) -> type[Table] | None:
    """The schema's class, None if the annotation is no table."""
    core, _ = bare(hint)
    return core if isinstance(core, type) and issubclass(core, Table) else None


def members_by_tag(union: Hint) -> dict[str, Hint]:
    """The members of a tagged union; none of what is no tagged union."""
    return {
        note.tag: member
        for member in get_args(union)
        for note in getattr(member, "__metadata__", ())
        if isinstance(note, Tag)
    }


def member_for(hint: Hint, raw: object) -> Hint | None:
    """The member of a tagged union that a raw value is meant for, None if it is meant for none."""
    union, metadata = bare(hint)
    for note in metadata:
        if isinstance(note, Discriminator) and callable(note.discriminator):
            return members_by_tag(union).get(str(note.discriminator(raw)))
    return None


def step_into(hint: Hint, part: str | int) -> Hint:
    """The annotation one step further along an error's location: a key, a position or a union's tag."""
    table = table_of(hint)
    if table:
        return hint_of(table.model_fields[str(part)])
    return list_item(hint) or named_item(hint) or members_by_tag(bare(hint)[0])[str(part)]


def things(hint: Hint) -> str:
    """What a list or a table with free names holds, in a word."""
    item = list_item(hint)
    one_of_tables = bool(members_by_tag(bare(item)[0]))  # no list of the schema holds values of several shapes
    return "tables" if named_item(hint) or table_of(item) or one_of_tables else "values"


def allowed(hint: Hint) -> str:
    """What may stand here, in words."""
    core, metadata = bare(hint)
    for note in metadata:
        if isinstance(note, Rule):
            return note.allowed
        if isinstance(note, Items):
            count = f"{note.low}" if note.low == note.high else f"{note.low} to {note.high}"
            return f"{count} {things(hint)}"
    table = table_of(hint)
    if table:
        return f"a table with the keys {', '.join(table.model_fields)}"
    if named_item(hint):
        return "a table of tables, each under its name"
    return "; or ".join(allowed(member) for member in members_by_tag(core).values())


def example(hint: Hint) -> str:
    """A value as it could be written here."""
    core, metadata = bare(hint)
    for note in metadata:
        if isinstance(note, Rule):
            return note.example
    table, item = table_of(hint), list_item(hint)
    if table:
        needed = [(key, field) for key, field in table.model_fields.items()
                  if field.is_required() or key in table.in_example]  # fmt: skip
        return "{ " + ", ".join(f"{key} = {example(hint_of(field))}" for key, field in needed) + " }"
    if item:
        return f"[{example(item)}, ...]"
    return example(next(iter(members_by_tag(core).values())))
