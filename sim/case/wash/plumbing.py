"""What a wash draws from and drains into: from tables to records, with what is left out taken from typical values."""

from hydraulics.media import DEFAULTS
from sim.case.assumptions import Book, Page
from sim.case.table import record_of
from sim.case.wash.records import Drain, Pipe, Restrictor, Sump, Supply
from sim.case.wash.schema import DrainTable, PipeTable, RestrictorTable, SupplyTable


def supply_of(table: SupplyTable | None, book: Book) -> Supply | None:
    """The curve of the supply and its pipe; one pressure up to a limit is a curve of two points."""
    if table is None:
        return None
    flows, pressures = table.flow, table.pressure
    if flows is None or isinstance(pressures, float):
        assert isinstance(pressures, float), "the checks see to it"
        assert table.limit is not None, "the checks see to it"
        flows, pressures = [0.0, table.limit], [pressures, pressures]
    return record_of(
        Supply,
        table,
        flows=tuple(flows),
        pressures=tuple(pressures),
        pipe=_pipe(table.pipe, Page(table, "supply", book)),
    )


def drain_of(table: DrainTable | None, book: Book, *, driven: bool) -> Drain | None:
    """The drain; what its pipe loses matters only to a wash that is `driven` by a supply of the case."""
    if table is None:
        return None
    gap = table.air_gap
    measured = isinstance(gap, float)
    return record_of(
        Drain,
        table,
        pipe=_pipe(table.pipe, Page(table, "drain", book), used=driven),
        air_gap=True if measured else gap,
        air_gap_height=gap if measured else None,
        sump=record_of(Sump, table.sump),
    )


def restrictor_of(table: RestrictorTable | None, page: Page, *, driven: bool) -> Restrictor | None:
    """A stage's restrictor; as the drain's pipe it matters only to a wash that is `driven`."""
    if table is None:
        return None
    inner = page.inner(table, "restrictor")
    return record_of(Restrictor, table, discharge=inner.take("discharge", used=driven))


def _pipe(table: PipeTable | None, page: Page, *, used: bool = True) -> Pipe | None:
    if table is None:
        return None
    inner = page.inner(table, "pipe")
    return record_of(
        Pipe,
        table,
        roughness=inner.take("roughness", DEFAULTS["pipe_roughness"], used=used),
        fittings=inner.take("fittings", DEFAULTS["pipe_fittings"], used=used),
    )
