"""Questions put to a person at a terminal, one at a time, until every answer will do."""

import io
import sys
from collections.abc import Mapping
from typing import Any

import click
from rich.console import Console

from sim.cli.screen import say, screen
from sim.errors import RefusedValue
from sim.study.errors import RequestError
from sim.write.answers import clash, defaults, read
from sim.write.questions import QUESTIONS, Question

HOW_TO = "? explains a question, Enter takes the answer in brackets, Ctrl-C leaves without writing."


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
    if any(question.key not in asked for question in QUESTIONS):
        say(console, HOW_TO)
    while True:
        question = next((each for each in QUESTIONS if each.key not in asked), None)
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


def _answer(console: Console, question: Question, values: Mapping[str, Any]) -> Any:
    """One answer that will do; None for the default."""
    default = defaults(values).get(question.key)
    system = values.get("units", "si")
    example = question.examples[system]
    prompt = f"{question.words}, as in {example}{f' [{default}]' if default else ''}: "
    while True:
        text = _line(prompt).strip()
        if text == "?":
            say(console, question.explained, indent=2)
        elif text:
            try:
                return read(question.key, text)
            except RefusedValue as refused:
                _say_refused(console, refused)
        elif default:
            return None
        else:
            say(console, "an answer is needed: nothing is usual here", indent=2)


def _line(prompt: str) -> str:
    click.echo(prompt, nl=False)  # input() itself would put it on standard error
    try:
        return input()
    except EOFError:
        raise RequestError("the input ended before every question was answered; nothing written") from None


def _say_refused(console: Console, refused: RefusedValue) -> None:
    say(console, f"given {refused.given}; allowed: {refused.allowed}; try: {refused.try_}", indent=2)
