"""The questions of `new` on paper, for a first visit to a plant."""

from typing import Literal, get_args

from plots.commissioning import Asked, questionnaire_html
from plots.paper import Paper
from plots.words import Code, Kind, apart, items, label, paragraph
from sim.tell.questions import example, in_words, why, without
from sim.write.questions import QUESTIONS, Question

CASE = "plant.toml"
Note = Literal["starts", "steps", "vessel", "locked", "fitted", "call"]
"""What `new` does not ask and a plant's settings need."""


def questionnaire(paper: Paper) -> str:
    """All questions in their order, with room for an answer each, as HTML."""
    questions = tuple(_asked(each) for each in QUESTIONS)
    notes = tuple(label("questionnaire.note", what=Kind(each)) for each in get_args(Note))
    return questionnaire_html(questions, notes, Code(f"filterrun new {CASE}"), paper)


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
