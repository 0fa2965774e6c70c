"""Every kind that a case may name stands in every table that says something of each."""

from typing import get_args

import pytest

from hydraulics.media import CATALOGUE
from sim.case import units
from sim.case.series.clocks import SERIES
from sim.case.series.schema import DemandTable, FeedTable, FileTable
from sim.case.series.waters import FIGURES, WATERS
from sim.case.stage.longest_run import USUAL
from sim.case.stage.records import CHEMICAL
from sim.case.table import Table, record_of
from sim.case.trigger import records, schema
from sim.case.values import Amount
from sim.case.wash.records import Sump
from sim.case.wash.schema import SumpTable


def test_every_medium_has_its_longest_run() -> None:
    assert USUAL.keys() == CATALOGUE.keys()
    assert CATALOGUE.keys() >= CHEMICAL


def test_every_word_of_a_trigger_has_its_table_and_its_record() -> None:
    tables = [get_args(each)[0] for each in get_args(schema._Single)]
    words = [get_args(each.model_fields["start_on"].annotation) for each in tables]
    assert words == [(word,) for word in schema.START_ON.words]
    assert {each.__name__.removesuffix("Table") for each in tables} == {
        each.__name__ for each in get_args(records.SingleTrigger)
    }


def test_every_key_that_takes_a_file_is_among_the_series() -> None:
    def files(table: type[Table]) -> set[str]:
        return {key for key, field in table.model_fields.items() if "File" in repr(field.annotation)}

    found = {("feed", key) for key in files(FeedTable)} | {("demand", key) for key in files(DemandTable)}
    assert found == set(SERIES)
    for rule in SERIES.values():
        assert any(set(rule.kind.units) == set(_words(each)) for each in FileTable.__subclasses__())


def _words(table: type[FileTable]) -> tuple[str, ...]:
    (rule,) = table.model_fields["unit"].metadata
    return tuple(rule.words)


def test_every_figure_of_a_water_is_known_for_every_kind() -> None:
    for water in WATERS.values():
        for name in FIGURES:
            constant = getattr(water, name)
            assert 0.0 <= constant.low <= constant.value <= constant.high


def test_every_kind_of_quantity_is_found_by_its_units() -> None:
    assert len(units.KINDS) == len({kind.name for kind in units.KINDS})
    assert {units.FLOW, units.TEMPERATURE, units.ENERGY} <= set(units.KINDS)


def test_a_record_takes_the_keys_of_its_fields_and_its_defaults() -> None:
    sump = record_of(Sump, SumpTable(flow_limit="1 m3/h"))
    assert sump == Sump(flow_limit=1.0 / 3600.0, daily_limit=None)
    assert record_of(Sump, None) is None
    with pytest.raises(TypeError):
        record_of(Amount, SumpTable())
