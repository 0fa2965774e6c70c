"""What the prices of a case say against each other and against the rest of the case."""


from sim.case.mistakes import Finding, Findings
from sim.case.schema import CaseFile


def pumping_is_told_once(case: CaseFile) -> Findings:
    """Per m3 pumped, or per unit of energy with the pressure that it takes."""
    prices = case.prices
    if prices is None:
        return
    if prices.pumping is not None and prices.energy is not None:
        yield Finding(
            ("prices", "energy"), "energy beside pumping", "one of the two", "the price of energy with its pressures"
        )
    if prices.energy is not None and prices.wash_pressure is None:
        yield Finding(
            ("prices", "wash_pressure"),
            "nothing",
            "the pressure that drives a backwash, since energy has a price",
            'wash_pressure = "2 bar"',
        )


def salt_has_its_amount(case: CaseFile) -> Findings:
    """A price of salt needs what a wash takes of it: a step of regenerant, or a mass for every wash, never both."""
    prices = case.prices
    if prices is None:
        return
    regenerated = any(step.do == "regenerant" for stage in case.stage for step in stage.step or ())
    if regenerated and prices.salt_per_wash is not None:
        yield Finding(
            ("prices", "salt_per_wash"), "a mass beside a step of regenerant", "one of the two",
            "leaving it out: the salt of the regenerations is counted",
        )  # fmt: skip
    if prices.salt is not None and prices.salt_per_wash is None and not regenerated:
        yield Finding(
            ("prices", "salt_per_wash"), "nothing", "a mass, since salt has a price", 'salt_per_wash = "6 kg"'
        )


def cartridge_is_there(case: CaseFile) -> Findings:
    """A price of cartridges needs to know how fast one fills."""
    prices = case.prices
    if prices is None or prices.cartridge is None:
        return
    if case.downstream is None or case.downstream.cartridge is None:
        yield Finding(
            ("prices", "cartridge"),
            "a price of cartridges in a case without one",
            "a price where [downstream] tells of a cartridge",
            'cartridge = { capacity = "0.8 kg", share = 0.9 } in [downstream], or leaving the price out',
        )


OF_CASE = (pumping_is_told_once, salt_has_its_amount, cartridge_is_there)
