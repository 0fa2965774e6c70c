"""The questions of `new` on paper, for a first visit to a plant."""

from plots.commissioning import Asked, questionnaire_html
from plots.paper import Paper
from plots.words import Code, apart, items, label, paragraph
from sim.tell.questions import example, in_words, why, without
from sim.write.questions import QUESTIONS, Question

CASE = "plant.toml"


def questionnaire(paper: Paper) -> str:
    """All questions in their order, with room for an answer each, as HTML."""
    return questionnaire_html(tuple(_asked(each) for each in QUESTIONS), Code(f"filterrun new {CASE}"), paper)


def _asked(asked: Question) -> Asked:
    only = None
    if asked.several:
        only = label("questionnaire.several")
    elif asked.filters:
        only = label("questionnaire.only", filters=items(asked.filters, "or"))
    return Asked(
        words=in_words(asked.key),
        example=apart(each for each in (example(*asked.examples.values()), only) if each),
        why=paragraph(why(asked.key), without(asked.key, needed=asked.needed)),
    )
