"""What a value of a case may be, in words."""

from plots.words import Code, Label, Term, items, label, localised, term
from sim.case.price.schema import Priced
from sim.case.quantities import System
from sim.case.series.zones import ZoneName
from sim.case.spelling import shown
from sim.case.time_rules import (
    EARLIEST,
    LATEST,
    Day,
    DayHours,
    DayOfYear,
    HoursList,
    LocalMoment,
    TimeOfDay,
    WeekdayOrDate,
)
from sim.case.values import (
    AsItsKey,
    Either,
    Flag,
    FlagOrQuantity,
    LossAtFlow,
    Number,
    Off,
    OneOf,
    Percentage,
    Quantity,
    Rule,
    ShareOr,
    Text,
    Whole,
)
from sim.tell.limits import limits_in


def rule_words(rule: Rule, system: System = "si") -> Label:
    """What values a rule takes, its limits in the units of a system. Raises TypeError for a rule without words."""
    match rule:
        case Quantity() | LossAtFlow() | FlagOrQuantity() | ShareOr() | Priced() | Either():
            return _of_quantities(rule, system)
        case Number() | Whole():
            return _of_numbers(rule)
        case LocalMoment() | Day() | DayOfYear() | TimeOfDay() | DayHours() | ZoneName():
            return _of_times(rule)
        case HoursList():
            return label("rule.times_of_day")
        case WeekdayOrDate():
            return label("rule.a_day", days=items([shown(day) for day in rule.words], "or"))
        case Flag():
            return label("rule.flag")
        case AsItsKey():
            return label("rule.as_its_key")
        case Off():
            return label("rule.off", word=Code(rule.example))
        case OneOf():
            return label("rule.one_of", words=items([shown(word) for word in rule.words], "or"))
        case Text() if rule.without:
            without = items([shown(sign) for sign in rule.without], "or")
            return label("rule.text_without", longest=rule.longest, without=without)
        case Text():
            return label("rule.text", longest=rule.longest)
        case _:
            raise TypeError(type(rule).__name__)


def _of_quantities(
    rule: Quantity | LossAtFlow | FlagOrQuantity | ShareOr | Priced | Either, system: System
) -> Label:
    match rule:
        case Quantity():
            kind, (low, high) = _quantity(rule, system)
            return label("rule.quantity", quantity=kind, low=low, high=high)
        case LossAtFlow(loss=own):
            kind, (low, high) = _quantity(own, system)
            return label("rule.loss_at_flow", quantity=kind, low=low, high=high)
        case FlagOrQuantity(quantity=own):
            kind, (low, high) = _quantity(own, system)
            return label("rule.flag_or_quantity", quantity=kind, low=low, high=high)
        case ShareOr(amount=own):
            kind, (low, high) = _quantity(own, system)
            return label("rule.share_or", quantity=kind, low=low, high=high)
        case Priced(price=own):
            kind, (low, high) = _quantity(own, system)
            return label("rule.price", quantity=kind, low=low, high=high)
        case Either(third=Quantity()):
            each = (_quantity(one, system) for one in rule.each)
            return label("rule.any_of", kinds=items([f"{kind}, {low} to {high}" for kind, (low, high) in each], "or"))
        case Either(first=one, second=other):
            first, (first_low, first_high) = _quantity(one, system)
            second, (second_low, second_high) = _quantity(other, system)
            return label(
                "rule.either", first=first, first_low=first_low, first_high=first_high,
                second=second, second_low=second_low, second_high=second_high,
            )  # fmt: skip


def _quantity(rule: Quantity, system: System) -> tuple[Term, tuple[Code, Code]]:
    return term("quantity", rule.kind.name), limits_in(system, rule)


def _of_numbers(rule: Number | Whole) -> Label:
    low, high = (localised(f"{each:g}" if isinstance(rule, Number) else str(each)) for each in (rule.low, rule.high))
    match rule:
        case Whole():
            return label("rule.whole", low=low, high=high)
        case Percentage():
            return label("rule.percentage", low=low, high=high)
        case Number() if rule.zero:
            return label("rule.number_or_zero", low=low, high=high)
        case Number():
            return label("rule.number", low=low, high=high)


def _of_times(rule: LocalMoment | Day | DayOfYear | TimeOfDay | DayHours | ZoneName) -> Label:
    years = Code(str(EARLIEST)), Code(str(LATEST))
    match rule:
        case LocalMoment():
            return label("rule.moment", low=years[0], high=years[1])
        case Day():
            return label("rule.day", low=years[0], high=years[1])
        case DayOfYear():
            return label("rule.day_of_year")
        case TimeOfDay():
            return label("rule.time_of_day")
        case DayHours():
            return label("rule.day_hours")
        case ZoneName():
            return label("rule.zone", place=Code('"Europe/Rome"'))
