"""What a sheet shows of what changed against an old case."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangedPart:
    """Rows of changes, a text for each of those made together, and of figures; `notes` stand below them."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]
    notes: tuple[str, ...]
