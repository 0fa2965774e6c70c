"""The report: one HTML file that needs nothing else, for the screen and for paper."""

import json
from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from plots.decision_inputs import DecisionReport
from plots.gallery import Drawing
from plots.inputs import Report
from plots.words import Words, typeset

LARGEST = 950_000  # bytes: a report stays under a megabyte
TEMPLATES: dict[type, str] = {Report: "report.html", DecisionReport: "decision.html"}


def report_html(report: Report | DecisionReport, drawings: Sequence[Drawing], words: Words) -> str:
    """The whole report; the first drawing stands with the answer, the others in the order given.

    Where they are too many for one file, the last ones are left out and named, since they lie beside it.
    """
    styles = Markup(report_styles(words))
    for kept in range(len(drawings), 0, -1):
        first, *others = drawings[:kept]
        html = _template(TEMPLATES[type(report)]).render(
            report=report, first=first, others=others, beside=drawings[kept:], words=words, styles=styles
        )
        if len(html.encode("utf-8")) <= LARGEST:
            break
    return html


def report_styles(words: Words) -> str:
    """The styles of the report; the caution at the foot of every printed page is part of them."""
    return template_text("report.css").replace("CAUTION", json.dumps(words.text("report.caution")))


def as_data(svg: str) -> str:
    """An SVG as an address that holds the picture itself."""
    return "data:image/svg+xml;base64," + b64encode(svg.encode("utf-8")).decode("ascii")


@cache
def _template(name: str) -> Template:
    environment = Environment(
        loader=FunctionLoader(template_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"as_data": as_data, "typeset": typeset}
    return environment.get_template(name)


def template_text(name: str) -> str:
    """A template or a file of styles as it stands."""
    return files("plots").joinpath("templates", name).read_text(encoding="utf-8")
