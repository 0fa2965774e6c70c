"""The questions of `new` on paper, for a first visit to a plant."""

from plots.commissioning import Asked, questionnaire_html
from plots.paper import Paper
from plots.words import Code, Name, items, label
from sim.write.questions import QUESTIONS, Question

CASE = "plant.toml"


def questionnaire(paper: Paper) -> str:
    """All questions in their order, with room for an answer each, as HTML."""
    return questionnaire_html(tuple(_asked(each) for each in QUESTIONS), Code(f"filterrun new {CASE}"), paper)


def _asked(question: Question) -> Asked:
    si, us = (Name(question.examples[system]) for system in ("si", "us"))
    only = None
    if question.several:
        only = label("questionnaire.several")
    elif question.filters:
        only = label("questionnaire.only", filters=items(question.filters, "or"))
    return Asked(
        words=Name(question.words),
        example=label("questionnaire.example", si=si) if si == us else label("questionnaire.examples", si=si, us=us),
        only=only,
        why=Name(f"{question.explained} {question.absent}"),
    )
