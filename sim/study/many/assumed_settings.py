"""Settings for a case file that give assumed constants other values of their ranges."""

from collections.abc import Mapping

from sim.case.records import Assumption, Case
from sim.case.stage.layers import gain_by_size
from sim.case.stage.records import Stage
from sim.case.units import HOUR

Setting = str | float | int | bool

OTHER_CHOICE: Mapping[str, Setting] = {"coagulated": True, "law": "carman-kozeny", "growth": "pore-narrowing"}
ROOM_SHARE = 0.9  # of the pores' room: the most that an assumed ultimate deposit is tried at
MONEY = "prices."  # begins the keys of constants that change what a run costs, and no run


def settings_of(case: Case, values: Mapping[Assumption, float]) -> dict[str, Setting]:
    """Settings by dotted key; a constant that keeps its typical value is left out, so that it stays assumed.

    An ultimate deposit is lowered to what the pores have room for, an unfilterable share to that of the stage before;
    a gain of head loss and the viscosity's exponent keep to another exponent that they were told for.
    """
    settings: dict[str, Setting] = {}
    for each, value in values.items():
        if value != each.value:
            settings |= _setting(case, each, value)
    return _ordered(case, _fitted(case, _tied(case, values, settings)))


def _setting(case: Case, assumption: Assumption, value: float) -> dict[str, Setting]:
    name = assumption.key.rpartition(".")[2]
    if name in OTHER_CHOICE:
        return {assumption.key: OTHER_CHOICE[name]} if round(value) != assumption.value else {}
    if name == "valve":
        head_loss = _stage(case, assumption.key).head_loss
        flow = (assumption.value / head_loss.valve_constant) ** 0.5
        return {assumption.key: f"{value!r} Pa at {flow * HOUR!r} m3/h"}
    if assumption.unit == "-":
        return {assumption.key: round(value) if name == "tanks" else value}
    return {assumption.key: f"{value!r} {assumption.unit}"}


def _tied(case: Case, values: Mapping[Assumption, float], settings: dict[str, Setting]) -> dict[str, Setting]:
    """The settings with what follows another exponent moved along with it, where both are set."""
    moved = {each.key: (each.value, value) for each, value in values.items() if each.key in settings}
    for key in moved:
        base, _, name = key.rpartition(".")
        if name == "viscosity_exponent" and f"{base}.velocity_exponent" in moved:
            before, after = moved[f"{base}.velocity_exponent"]
            settings[key] = max(_number(settings[key], 0.0) + after - before, 0.0)
        exponent = f"{base.partition('.layer.')[0]}.gain_size_exponent"
        if name == "head_loss_gain" and exponent in moved:
            layer = _stage(case, key).layers[int(base.rpartition(".")[2])]
            before, after = (gain_by_size(layer.medium, layer.sublayer_sizes, each) for each in moved[exponent])
            number, unit = str(settings[key]).split(maxsplit=1)
            settings[key] = f"{float(number) * after / before!r} {unit}"
    return settings


def _fitted(case: Case, settings: dict[str, Setting]) -> dict[str, Setting]:
    """The settings with every ultimate deposit at most a share of what the pores then have room for."""
    for key in [key for key in settings if key.endswith(".ultimate_deposit")]:
        stage, base = _stage(case, key), key.rpartition(".")[0]
        layer = stage.layers[int(base.rpartition(".")[2])]
        density = _number(settings.get(f"{base}.deposit_density"), layer.deposit_density)
        porosity = _number(settings.get(f"{base}.porosity"), layer.porosity)
        most = ROOM_SHARE * density * (porosity - stage.porosity_floor)
        if settings.get(f"stage.{stage.name}.head_loss.growth", stage.head_loss.growth) == "linear":
            most = max(most, layer.ultimate_deposit)  # linear growth lets a typical one be
        settings[key] = f"{min(_number(settings[key], layer.ultimate_deposit), most)!r} g/m3"
    return settings


def _ordered(case: Case, settings: dict[str, Setting]) -> dict[str, Setting]:
    """The settings with no unfilterable share above that of the stage before; one that cannot move is left out."""
    before = 1.0
    for stage in case.stages:
        key = f"stage.{stage.name}.unfilterable"
        if key in settings:
            settings[key] = min(_number(settings[key], stage.unfilterable), before)
            if settings[key] == stage.unfilterable:
                del settings[key]
        before = _number(settings.get(key), stage.unfilterable)
    return settings


def _number(setting: Setting | None, otherwise: float) -> float:
    return otherwise if setting is None else float(str(setting).split()[0])


def _stage(case: Case, key: str) -> Stage:
    name = key.split(".")[1]
    return next(stage for stage in case.stages if stage.name == name)
