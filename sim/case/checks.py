"""What a case says against itself.

A check reads the tables as attributes. In a file with refused values a table may lack some: reading one
raises Unread, and that check is left until they are mended.
"""

from collections.abc import Iterable, Iterator

from sim.case.line_numbers import Path
from sim.case.mistakes import Finding
from sim.case.price import checks as price_checks
from sim.case.schema import CaseFile
from sim.case.series import checks as site_checks
from sim.case.series import clocks
from sim.case.stage import checks as stage_checks
from sim.case.stage.schema import StageTable
from sim.case.table import Table, Unread
from sim.case.train import checks as train_checks
from sim.case.trigger import checks as washing_checks
from sim.case.trigger.schema import AnyOfTable
from sim.case.wash import checks as wash_checks


def contradictions(case: CaseFile) -> list[Finding]:
    """Everything that the readable part of a case says against itself."""
    return [finding for check in _checks(case) for finding in _as_far_as_readable(check)]


def _as_far_as_readable(findings: Iterable[Finding]) -> Iterator[Finding]:
    try:
        yield from findings
    except Unread:
        return


def _checks(case: CaseFile) -> Iterator[Iterable[Finding]]:
    yield site_checks.feed_is_told_once(case)
    yield site_checks.feed_stays_above_zero(case)
    yield site_checks.dose_can_be_read(case)
    yield site_checks.slow_changes_are_slower(case)
    yield site_checks.water_stays_liquid(case)
    yield site_checks.demand_is_told_once(case)
    yield clocks.zones_are_told(case)
    yield clocks.clocks_agree(case)
    yield site_checks.remedies_have_something_to_mend(case)
    yield wash_checks.supply_is_told_once(case)
    yield wash_checks.supply_is_a_curve(case)
    yield wash_checks.sump_has_a_limit(case)
    yield train_checks.closed_days_without_a_file(case)
    yield train_checks.membrane_belongs_to_a_membrane(case)
    yield train_checks.unit_is_whole(case)
    yield train_checks.tank_levels_rise(case)
    yield train_checks.unit_runs_for_a_while(case)
    yield train_checks.cartridge_is_told_once(case)
    yield train_checks.feed_limit_can_be_read(case)
    yield train_checks.pump_has_a_curve(case)
    yield price_checks.pumping_is_told_once(case)
    yield price_checks.salt_has_its_amount(case)
    yield price_checks.cartridge_is_there(case)
    yield washing_checks.some_hour_is_left(case)
    yield washing_checks.lines_are_shared(case)
    yield washing_checks.something_is_aborted(case)
    yield washing_checks.moments_can_be(case)
    yield washing_checks.abort_comes_before_the_end(case)
    yield stage_checks.stage_names_differ(case)
    yield washing_checks.today_names_a_policy(case)
    yield stage_checks.unfilterable_never_grows(case)
    for policy, triggers in getattr(case, "policy", {}).items():
        if isinstance(triggers, dict):
            yield washing_checks.policy_covers_the_train(case, policy, triggers)
            for stage, trigger in triggers.items():
                yield washing_checks.longest_run_is_shorter(case, stage, trigger, ("policy", policy, stage))
                yield from _trigger_checks(case, trigger, ("policy", policy, stage))
    for position, table in enumerate(getattr(case, "stage", [])):
        yield from _stage_checks(case, table, position)


def _trigger_checks(case: CaseFile, trigger: Table, place: Path) -> Iterator[Iterable[Finding]]:
    """Those of one trigger, or of each of several."""
    if isinstance(trigger, AnyOfTable):
        yield washing_checks.triggers_differ(trigger, place)
        for number, each in enumerate(getattr(trigger, "any_of", [])):
            yield from _trigger_checks(case, each, (*place, "any_of", number))
        return
    yield washing_checks.reserve_is_a_part(trigger, place)
    yield washing_checks.weekdays_come_round(trigger, place)
    yield washing_checks.hour_is_allowed(case, trigger, place)


def _stage_checks(case: CaseFile, stage: StageTable, position: int) -> Iterator[Iterable[Finding]]:
    place = ("stage", position)
    yield stage_checks.limit_can_be_read(stage, place, case)
    yield stage_checks.bed_fits_the_vessel(stage, place)
    yield stage_checks.coefficients_belong_to_the_law(stage, place)
    yield stage_checks.wash_has_a_backwash(stage, place)
    yield stage_checks.known_run_alone(stage, place)
    yield wash_checks.restrictor_narrows(stage, place)
    yield train_checks.hold_lies_in_the_wash(stage, place)
    yield train_checks.unit_is_there(stage, place, case)
    yield train_checks.wash_path_can_be(stage, place, position)
    yield train_checks.sisters_are_there(stage, place)
    yield train_checks.switch_can_reset(stage, place, case)
    yield washing_checks.longest_run_hour_has_its_run(stage, place)
    yield washing_checks.hour_is_allowed(case, stage, place, "longest_run_at")
    for number, step in enumerate(getattr(stage, "step", [])):
        yield stage_checks.step_has_its_flow(step, (*place, "step", number))
        yield stage_checks.step_has_its_water(step, (*place, "step", number))
    for number, layer in enumerate(getattr(stage, "layer", [])):
        inner = (*place, "layer", number)
        yield stage_checks.grains_are_told_once(layer, inner)
        yield stage_checks.capture_is_told_once(layer, inner)
        yield stage_checks.sieve_is_a_curve(layer, inner)
        yield stage_checks.pores_stay_open(layer, stage, inner, case)
        yield stage_checks.particles_have_a_size(layer, stage, inner, case)
        yield stage_checks.particles_are_smaller_than_grains(layer, stage, inner, case)
