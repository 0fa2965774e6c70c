"""Questions put to a person at a terminal, one at a time, until every answer will do."""

import io
import sys
from collections.abc import Collection, Mapping
from typing import Any

import click
from rich.console import Console

from plots.words import paragraph, say
from sim.cli.screen import screen, write
from sim.errors import RefusedValue
from sim.study.errors import RequestError
from sim.tell.questions import example, in_words, why
from sim.write.answers import clash, defaults, read
from sim.write.questions import QUESTIONS, Question


def a_person_is_there() -> bool:
    """Whether questions can be seen and answered."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def ask(given: Mapping[str, Any]) -> dict[str, Any]:
    """The answers given and those asked for, without the ones that take their default.

    Raises RequestError if the input ends before the last question.
    """
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    console, values, asked = screen(), dict(given), set(given)
    if _next(asked, values) is not None:
        write(console, paragraph(say("new.how_to"), say("asked.alone")))
    while True:
        question = _next(asked, values)
        if question is None:
            return values
        asked.add(question.key)
        answer = _answer(console, question, values)
        if answer is not None:
            values[question.key] = answer
        against = clash(values)
        if against is not None:
            _say_refused(console, against.refused)
            for key in set(against.keys) - set(given):
                values.pop(key, None)
                asked.discard(key)


def _next(asked: Collection[str], values: Mapping[str, Any]) -> Question | None:
    """The next question that concerns the train and was not asked yet."""
    train = values.get("train", ())
    return next((each for each in QUESTIONS if each.key not in asked and each.concerns(train)), None)


def _answer(console: Console, question: Question, values: Mapping[str, Any]) -> Any:
    """One answer that will do; None for the default."""
    default = defaults(values).get(question.key)
    system = values.get("units", "si")
    like = question.examples[system]
    prompt = f"{in_words(question.key)}, {example(like, like)}{f' [{default}]' if default else ''}: "
    while True:
        text = _line(prompt).strip()
        if text == "?":
            write(console, why(question.key), indent=2)
        elif text:
            try:
                return read(question.key, text, system)
            except RefusedValue as refused:
                _say_refused(console, refused)
        elif default:
            return None
        else:
            write(console, say("new.needed"), indent=2)


def _line(prompt: str) -> str:
    click.echo(prompt, nl=False)  # input() itself would put it on standard error
    try:
        return input()
    except EOFError:
        raise RequestError("the input ended before every question was answered; nothing written") from None


def _say_refused(console: Console, refused: RefusedValue) -> None:
    write(console, str(refused), indent=2)
