"""What the train feeds: whether an oxidant can reach a membrane that it destroys."""

from sim.case.records import Case
from sim.case.stage.records import Stage
from sim.review.findings import Finding, Findings, noted


def downstream_findings(case: Case) -> Findings:
    """What reaches a polyamide membrane; other units bear an oxidant."""
    if case.use != "membrane":
        return
    if case.downstream is None or case.downstream.membrane is None:
        yield noted(
            "look",
            None,
            "what the membrane downstream is made of: not stated",
            'membrane = "polyamide" under [downstream] if it is: chlorine destroys that one',
        )
        return
    yield _reaching(case)


def _reaching(case: Case) -> Finding:
    carried = _carried(case.feed.oxidant, case.stages)
    if carried is not None:
        return noted(
            "stop",
            None,
            f"{carried} can reach the polyamide membrane: no carbon takes it up on the way",
            "carbon behind the last place where it is added, or none of it: it destroys that membrane",
        )
    if case.feed.oxidant is None:
        return noted(
            "look",
            None,
            "whether the feed carries an oxidant, ahead of a polyamide membrane: not stated",
            'oxidant = "chlorine" or "none" under [feed]; water from a public main usually carries chlorine',
        )
    told = {case.feed.oxidant, *(stage.oxidant for stage in case.stages)} - {None, "none"}
    if not told:
        return noted("fine", None, "oxidant ahead of the polyamide membrane: none")
    return noted(
        "look",
        None,
        "carbon alone stands between an oxidant and the polyamide membrane",
        "test for the oxidant behind the carbon, above all after a wash, and change the carbon in time",
    )


def _carried(feed: str | None, stages: tuple[Stage, ...]) -> str | None:
    """The oxidant in the water behind the last stage, None for none; carbon takes up what comes to it."""
    carried = None if feed in (None, "none") else feed
    for stage in stages:
        if stage.oxidant not in (None, "none"):
            carried = stage.oxidant
        if any(layer.medium == "carbon" for layer in stage.layers):
            carried = None
    return carried
