"""The report: one HTML file that needs nothing else, for the screen and for paper."""

import json
from base64 import b64encode
from collections import Counter
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from jinja2 import Environment, FunctionLoader, StrictUndefined, Template
from markupsafe import Markup

from plots.decision_inputs import DecisionReport
from plots.gallery import Drawing
from plots.inputs import Head, LogSheet, Report
from plots.words import Items, colon, dated, each_of, items, label, say, spoken, term, typeset

LARGEST = 950_000  # bytes: a report stays under a megabyte
MOST_FIGURES = 12
FIRST_CHANGES = 3  # of what would change the answer: so many fit on the first page
TEMPLATES: dict[type, str] = {Report: "report.html", DecisionReport: "decision.html"}


def report_html(report: Report | DecisionReport, drawings: Sequence[Drawing], head: Head) -> str:
    """The whole report; the first drawing answers, the others follow in the order given.

    A dozen are shown unless the head asks for all, and no more than one file has room for; those left out are named,
    since they lie beside it.
    """
    styles, kept = Markup(report_styles()), list(drawings)
    while not head.whole and len(kept) > MOST_FIGURES:
        _leave_one_out(kept)
    while True:
        beside = [each for each in drawings if each not in kept]
        html = template(TEMPLATES[type(report)]).render(
            report=report, drawings=kept, beside=beside, head=head, styles=styles,
            first_changes=FIRST_CHANGES,
        )
        if len(html.encode("utf-8")) <= LARGEST or len(kept) == 1:
            return html
        _leave_one_out(kept)


def log_sheet_html(title: str, sheets: Sequence[LogSheet]) -> str:
    """Sheets to print, a page each, on which a month of readings is kept by hand."""
    return template("log_sheet.html").render(title=title, sheets=sheets)


def _leave_one_out(kept: list[Drawing]) -> None:
    """Take out the last figure of the largest group; of equal groups, of the one that comes last."""
    sizes = Counter(each.group for each in reversed(kept))
    group = max(sizes, key=lambda each: sizes[each])
    place = max(place for place, each in enumerate(kept) if each.group == group)
    del kept[place]


def named(drawings: Sequence[Drawing]) -> Items:
    """The names of figures, in a sentence."""
    return items([each.name for each in drawings])


def report_styles() -> str:
    """The styles of the report; the caution at the foot of every printed page is part of them."""
    return template_text("report.css").replace("CAUTION", in_styles(say("report.caution")))


def in_styles(text: str) -> str:
    """A text as a style sheet has it: letters stay, since an escape of JSON means another letter there.

    >>> in_styles("vanne fermée")
    '"vanne fermée"'
    """
    return json.dumps(text, ensure_ascii=False)


def as_data(svg: str) -> str:
    """An SVG as an address that holds the picture itself."""
    return "data:image/svg+xml;base64," + b64encode(svg.encode("utf-8")).decode("ascii")


def styles_of(name: str) -> Markup:
    """A file of styles, for a template."""
    return Markup(template_text(name))


@cache
def template(name: str) -> Template:
    """A template that comes with the figures."""
    environment = Environment(
        loader=FunctionLoader(template_text),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"as_data": as_data, "typeset": typeset}
    known = (colon, dated, each_of, in_styles, label, named, say, spoken, styles_of, term)
    environment.globals |= {each.__name__: each for each in known}
    return environment.get_template(name)


def template_text(name: str) -> str:
    """A template or a file of styles as it stands."""
    return files("plots").joinpath("templates", name).read_text(encoding="utf-8")
