"""Messages that a kind chooses among, and the type of the kind: every one has its text."""

from collections.abc import Mapping
from typing import Any, Literal, get_type_hints

from plots.inputs import Pictures
from sim.case.chemistry.records import Product
from sim.case.series.records import Remedied
from sim.case.stage.records import Do
from sim.case.train.records import Arrangement
from sim.case.trigger import records as trigger_records
from sim.cli import questionnaire
from sim.fit import causes
from sim.lessons import hold, warm_water
from sim.review.findings import Bed, Level, Side, Spike, Stored, Taker, Useless, Water
from sim.study import doubts, faults_possible, over_ranges
from sim.study.decide import advice, whatif
from sim.tell.comparison import answer_words, first_screen, spread_words
from sim.tell.decision import (
    advice_words,
    decision_screens,
    files_of_decision,
    given,
    needs_words,
    payback_words,
    sure_words,
    told,
)
from sim.tell.fit import fit_screen
from sim.tell.keys import results_page
from sim.tell.run import moment_words
from sim.tell.sheet import commissioning, rows, sheet_words
from sim.tell.weather import weather_words
from sim.web import meter

COMPARISON: Mapping[str, Any] = {
    "doubt.same": doubts.Why, "doubt.restored_nothing": doubts.Lack, "doubt.beyond": doubts.Bound,
    "range.reversed": over_ranges.End,
    **dict.fromkeys(("range.constant", "range.constant_by_key", "range.constant_alone"), spread_words.Known),
    "labels.range.at_end": over_ranges.End, "labels.compare.state": first_screen.State,
    **dict.fromkeys(("compare.over_ranges", "compare.on_average"), answer_words.Change),
    **{f"compare.{name}": answer_words.Present
       for name in ("take", "saves", "mend", "nearer", "stay", "none_better", "nearest")},
}  # fmt: skip
DECISION: Mapping[str, Any] = {
    **dict.fromkeys(("advice.rough", "advice.saves", "advice.takes_more", "advice.stay", "seasons.worth_it",
                     "seasons.not_worth_it", "labels.decision_json.margin"), advice.Least),
    **dict.fromkeys(("advice.device_not_counted", "labels.stuck", "labels.decision_tables.in_order",
                     "labels.decision_tables.fails", "labels.phase.failing"), whatif.DeviceName),
    "advice.no_longer_runs": advice_words.Drunk, "labels.what_if": whatif.MeterError,
    "decision.rises": told.Worse,
    **dict.fromkeys(("advice.all_keep", "advice.others_keep"), decision_screens.Today),
    **dict.fromkeys(("payback.free", "payback.costlier", "sure.no_other_way", "sure.another_way"), advice.Least),
    **dict.fromkeys(("payback.idle", "needs.dead", "labels.chart.worth"), whatif.DeviceName),
    **dict.fromkeys(("payback.too_late", "labels.payback.paid"), payback_words.Late),
    **dict.fromkeys(("payback.open", "payback.washes"), payback_words.Change),
    **dict.fromkeys(("payback.value", "labels.chart.price_at_end"), payback_words.Sign),
    **dict.fromkeys(("sure.may_be_worth_it", "sure.may_not_be_worth_it"), sure_words.Over),
    "needs.solids": needs_words.FeedKind, "labels.chart.risk": files_of_decision.Risk,
    "labels.given.step": Do, "labels.given.vessels": Arrangement, "labels.given.use_is": given.WaterUse,
}  # fmt: skip
REVIEW: Mapping[str, Any] = {
    "constant.remedy": Remedied,
    "labels.finding.level": Level,
    "labels.finding.goal": Side,
    "labels.finding.head": Level,
    "labels.check.spike": Spike,
    "labels.check.acidity": Product,
    "labels.check.store_lasts": Stored,
    "check.only_solids.what": Bed,
    "labels.check.drain_flow": Taker,
    "labels.check.flow_at_once": Taker,
    "labels.check.useless_step": Useless,
    **dict.fromkeys(("labels.check.backwash_reached", "labels.check.expansion", "labels.check.expansion_otherwise",
                     "labels.check.mixing"), Water),
}  # fmt: skip
RUN: Mapping[str, Any] = {
    "explain.without_wash": moment_words.Unheld,
    "explain.by_reserve": moment_words.Reserve,
    "explain.cut_frozen": moment_words.Stands,
    **dict.fromkeys(("explain.put_off", "explain.put_off_power", "explain.queued", "explain.queued_behind",
                     "explain.line", "explain.line_behind"), moment_words.When),
    "fitted.unlike": weather_words.Family,
    "fit.open": fit_screen.Left,
    **dict.fromkeys(("fit.surer", "fit.surer_saved"), fit_screen.Change),
    "labels.diagnosis.change": Literal[*(each.value for each in causes.Change)],  # type: ignore[valid-type]
    "labels.fault.kind": faults_possible.Kind,
    "labels.results.side": results_page.Side,
    "labels.settings.learned": trigger_records.Days,
    "labels.sheet.how": rows.Starts,
    "week.why": get_type_hints(Pictures)["week_why"],
    "warm_lesson.changed": warm_water.Change, "labels.hold_lesson.signal": hold.Sight,
    "page.meter.own_numbers": meter.OwnNumbers,
}  # fmt: skip
COMMISSIONING: Mapping[str, Any] = {
    "labels.commissioning.drain": commissioning.How, "commissioning.meanwhile": commissioning.Meanwhile,
    "commissioning.unit": commissioning.When, "commissioning.bridge": commissioning.Device,
    "labels.commissioning.part": commissioning.Day, "commissioning.clock": commissioning.Power,
    "commissioning.outside": commissioning.Outside, "sheet.short": sheet_words.Short,
    "labels.commissioning.dose": commissioning.Dosed, "commissioning.small": commissioning.Metered,
    "labels.questionnaire.note": questionnaire.Note,
}  # fmt: skip
KINDS: Mapping[str, Any] = COMMISSIONING | COMPARISON | DECISION | REVIEW | RUN
