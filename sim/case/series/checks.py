"""What the tables of a case say together: the feed, the demand, the train as a whole and the policies.

A check yields one finding for every contradiction of its kind; `checks` says what happens where a table
lacks some values.
"""


from hydraulics.oxidation import HIGHEST_PH
from hydraulics.water import COLDEST, HOTTEST
from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile
from sim.case.series.clocks import clocks_agree, file_tables, zones_are_told
from sim.case.series.schema import DISSOLVED_KEYS, FEED_KEYS, FileTable, TemperatureSeason, Weather, YearlySwing
from sim.case.series.series import turbidity_can_be_read
from sim.case.spelling import plain_duration, shown
from sim.case.units import DOSE_PER_TURBIDITY


def feed_is_told_once(case: CaseFile) -> Findings:
    """Solids or turbidity, not both; turbidity needs its ratio to solids."""
    feed = case.feed
    if feed.suspended_solids is None and feed.turbidity is None:
        yield Finding(("feed",), "no solids", "suspended_solids or turbidity", 'suspended_solids = "5 mg/L"')
    if feed.suspended_solids is not None and feed.turbidity is not None:
        yield Finding(
            ("feed", "turbidity"),
            "turbidity beside suspended_solids",
            "one of the two",
            "leaving one out; solids_per_turbidity may stay, for limits in NTU",
        )
    if feed.turbidity is not None and not turbidity_can_be_read(feed):
        yield Finding(
            ("feed", "solids_per_turbidity"),
            "nothing",
            "the ratio of solids to turbidity, since the feed is given as turbidity",
            'solids_per_turbidity = "1.2 mg/L per NTU", or what the site has measured',
        )


def dose_can_be_read(case: CaseFile) -> Findings:
    """A dose that follows turbidity needs the ratio of solids to turbidity."""
    coagulant = case.feed.coagulant
    if coagulant is not None and coagulant.dose.kind is DOSE_PER_TURBIDITY and not turbidity_can_be_read(case.feed):
        yield Finding(
            ("feed", "coagulant", "dose"),
            "a dose that follows turbidity, with no feed.solids_per_turbidity",
            "a dose in mg/L, or in mg/L per NTU with the ratio of solids to turbidity",
            'solids_per_turbidity = "1.2 mg/L per NTU" under [feed], or what the site has measured',
        )


def feed_stays_above_zero(case: CaseFile) -> Findings:
    """A season may not swing below nothing."""
    for key in FEED_KEYS:
        season = getattr(case.feed, key)
        if isinstance(season, YearlySwing) and season.swing > season.mean:
            yield Finding(
                ("feed", key, "swing"),
                f"a swing of {season.swing:g} about a mean of {season.mean:g}",
                "a swing up to the mean, so that the lowest value is 0 or more",
                "a smaller swing",
            )


def acidity_stays_on_its_scale(case: CaseFile) -> Findings:
    """The pH of a season ends where the scale does."""
    season = case.feed.pH
    if isinstance(season, YearlySwing) and season.mean + season.swing > HIGHEST_PH:
        yield Finding(
            ("feed", "pH", "swing"),
            f"a swing of {season.swing:g} about a mean of {season.mean:g}",
            f"up to {HIGHEST_PH:g} all year",
            "a smaller swing, or another mean",
        )


def water_stays_liquid(case: CaseFile) -> Findings:
    """The temperature keeps within the range of the water properties all year."""
    season = case.feed.temperature
    if isinstance(season, TemperatureSeason):
        low, high = season.mean - season.swing, season.mean + season.swing
        if low < COLDEST or high > HOTTEST:
            yield Finding(
                ("feed", "temperature", "swing"),
                f"{low:g} to {high:g} degC over the year",
                f"{COLDEST:g} to {HOTTEST:g} degC all year",
                "a smaller swing, or another mean",
            )


def demand_is_told_once(case: CaseFile) -> Findings:
    """A steady flow or hours of the day; days of the week only with the hours."""
    demand = case.demand
    if demand.flow is None and demand.hourly is None:
        yield Finding(("demand",), "no flow", "flow or hourly", 'flow = "5.5 m3/h"')
    if demand.flow is not None and demand.hourly is not None:
        yield Finding(("demand", "flow"), "flow beside hourly", "one of the two", "leaving one out")
    if demand.weekday is not None and demand.hourly is None:
        yield Finding(
            ("demand", "weekday"),
            "weekday without hourly",
            "factors for the days of the week beside the flows of the hours",
            "hourly with the same flow 24 times in place of flow",
        )


def measured_demand_has_its_own(case: CaseFile) -> Findings:
    """A flow from a file has its season, its variation and its closed days in it."""
    demand = case.demand
    for key, told in {"season": "season", "variation": "variation", "closed": "closed days"}.items():
        if isinstance(demand.flow, FileTable) and getattr(demand, key):
            allowed = f"no {told}: a measured flow has its own"
            yield Finding(("demand", key), f"{key} beside a flow from a file", allowed, "leaving it out")


def slow_changes_are_slower(case: CaseFile) -> Findings:
    """Slow changes of the feed need their spread, and a memory beyond that of the fast ones."""
    for key in FEED_KEYS:
        weather = getattr(case.feed, key)
        if not isinstance(weather, Weather) or weather.slow_memory is None:
            continue
        if weather.slow_spread is None:
            yield Finding(
                ("feed", key, "slow_memory"),
                "slow_memory without slow_spread",
                "the two together, or neither",
                "slow_spread = 1.4 beside it, or leaving it out",
            )
        elif weather.memory is not None and weather.slow_memory <= weather.memory:
            yield Finding(
                ("feed", key, "slow_memory"),
                f"{plain_duration(weather.slow_memory)} beside a memory of {plain_duration(weather.memory)}",
                "a slow_memory above the memory",
                "the two exchanged, with their spreads",
            )


def dissolved_weather_is_told(case: CaseFile) -> Findings:
    """Nothing is usual of how what is dissolved strays: random weather of it is given in full."""
    for key in DISSOLVED_KEYS:
        weather = getattr(case.feed, key)
        if not isinstance(weather, Weather):
            continue
        wanted = ["spread", "memory", *(["slow_memory"] if weather.slow_spread is not None else [])]
        missing: list[tuple[str, ...]] = [(name,) for name in wanted if getattr(weather, name) is None]
        if weather.storms is not None:
            wanted = [name for name in ("per_year", "height", "length") if getattr(weather.storms, name) is None]
            missing += [("storms", name) for name in wanted]
        for path in missing:
            yield Finding(
                ("feed", key, *path),
                "nothing",
                f"{path[-1]}: what is usual of solids holds for nothing dissolved",
                "a value from records of the site",
            )


def dissolved_share_has_its_metal(case: CaseFile) -> Findings:
    for metal in ("iron", "manganese"):
        if getattr(case.feed, f"{metal}_dissolved") is not None and getattr(case.feed, metal) is None:
            yield Finding(
                ("feed", f"{metal}_dissolved"),
                f"a dissolved share without {metal}",
                f"{metal}_dissolved beside {metal}, as total metal",
                f'{metal} = "2 mg/L" beside it, or leaving it out',
            )


def oxidant_is_that_of_the_feed(case: CaseFile) -> Findings:
    """The word for the oxidant of a feed and its chlorine say the same."""
    feed = case.feed
    given = [key for key in ("free_chlorine", "combined_chlorine") if getattr(feed, key) is not None]
    some = [key for key in given if getattr(feed, key) != 0.0]
    if some and feed.oxidant in ("none", "permanganate"):
        yield Finding(
            ("feed", "oxidant"),
            f"{shown(feed.oxidant)} beside {' and '.join(some)}",
            '"chlorine", or no word: the chlorine given tells it',
            "leaving the word out",
        )
    if given and not some and feed.oxidant == "chlorine":
        yield Finding(
            ("feed", "oxidant"),
            f'"chlorine" beside {" and ".join(given)} of 0',
            "a word that the chlorine given bears out",
            "leaving the word out, or the chlorine that the water has",
        )


def remedies_have_something_to_mend(case: CaseFile) -> Findings:
    """Keys of a series from a file that mean nothing without another, or for what it measures."""
    for place, table in file_tables(case).items():
        if table.longest_gap is not None and table.gaps == "refuse":
            yield Finding(
                (*place, "longest_gap"),
                "longest_gap without a remedy for gaps",
                "longest_gap beside a remedy",
                'gaps = "interpolate" or gaps = "hold"',
            )
        if table.stuck_after is not None and table.stuck == "keep":
            yield Finding(
                (*place, "stuck_after"),
                'stuck_after with stuck = "keep"',
                "stuck_after where a value that stands still is not kept",
                'leaving it out, or stuck = "gap"',
            )
        if table.scale is not None and place == ("feed", "temperature"):
            yield Finding(
                (*place, "scale"), "scale for a temperature", "no factor: a temperature has none", "leaving it out"
            )


OF_CASE = (
    feed_is_told_once,
    feed_stays_above_zero,
    acidity_stays_on_its_scale,
    dose_can_be_read,
    slow_changes_are_slower,
    dissolved_weather_is_told,
    dissolved_share_has_its_metal,
    oxidant_is_that_of_the_feed,
    water_stays_liquid,
    demand_is_told_once,
    measured_demand_has_its_own,
    zones_are_told,
    clocks_agree,
    remedies_have_something_to_mend,
)
