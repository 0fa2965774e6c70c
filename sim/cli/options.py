"""Options that the commands share, and what they ask to be written."""

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from plots import load_drawing
from plots.words import ENGLISH, Sentence, items, languages, paragraph, say, speaking, spoken
from sim.case.record import record

if TYPE_CHECKING:  # drawing is loaded when something is written
    from plots.inputs import Head

Function = Callable[..., Any]
Option = Callable[[Function], Function]

MOST_REPLICATES, MOST_WORKERS = 100_000, 1024
LONGEST_NAME = 200
ENGLISH_COMMANDS = ("keys", "upgrade")
"""Those about the lines of a case file."""
REPORT = "report.html"

case_argument = click.argument("case_path", metavar="CASE", type=click.Path(path_type=Path))
units_option = click.option(
    "--units",
    type=click.Choice(["si", "us"]),
    default="si",
    show_default=True,
    help="Units of what is shown; CSV and JSON are always SI.",
)
seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**63 - 1),
    default=1,
    show_default=True,
    help="Seed of everything random.",
)


def _speak(ctx: click.Context, param: click.Parameter, language: str | None) -> None:
    """Say everything from here on in a language, what comes before an error too."""
    if language is not None:
        ctx.find_root().with_resource(speaking(language))
    if ctx.command.name in ENGLISH_COMMANDS:
        speak_english(ctx)


def _in_english(ctx: click.Context, param: click.Parameter, everything: bool) -> bool:
    if everything:
        speak_english(ctx)
    return everything


def speak_english(ctx: click.Context) -> None:
    """Say everything from here on in English and, in the language spoken, that this is so."""
    if is_translated():
        if not ctx.params.get("quiet"):
            say_plainly(say("language.english"))
        ctx.find_root().with_resource(speaking(ENGLISH))


def is_translated() -> bool:
    """Whether one of our languages is spoken that is not English."""
    return spoken() in languages()[1:]


# Read before the options that say something (`is_eager`), and after `--quiet`.
language_option = click.Option(
    ["--language"], type=click.Choice(languages()), show_default=ENGLISH, is_eager=True, expose_value=False,
    callback=_speak, help="Language of what is shown and drawn; errors, --all and the report stay English.",
)  # fmt: skip
all_option = click.option(
    "--all", "everything", is_flag=True, callback=_in_english, help="Show everything, not the first screen alone."
)
study_option = click.option(
    "--study",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Keep every run in FILE, and take from it what is there already.",
)
quiet_option = click.option(
    "--quiet", is_flag=True, is_eager=True, help="Show nothing but errors; write what is asked for."
)


def adding(options: Sequence[Option]) -> Option:
    """A decorator that adds these options in this order."""

    def add(function: Function) -> Function:
        for option in reversed(options):
            function = option(function)
        return function

    return add


def workers_option(*, help: str) -> Option:
    """Add --workers; `help` says how many work without it."""
    return click.option(
        "--workers",
        type=click.IntRange(1, MOST_WORKERS),
        metavar="K",
        help=f"Processes at work; if not given, {help}.",
    )


class Folder(click.Path):
    """A folder by name; an empty one, as an unset variable leaves it, is refused and not the current folder."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """As click does it."""
        if value == "":
            self.fail("an empty name is no folder; try: . for the current one", param, ctx)
        return super().convert(value, param, ctx)


output_options = adding(
    [
        click.option(
            "--out",
            metavar="DIR",
            type=Folder(path_type=Path),
            help="Write tables, and what the command draws and reports, into this folder.",
        ),
        click.option(
            "--json",
            "json_file",
            metavar="FILE",
            help="Write the result as JSON, to standard output if FILE is -.",
        ),
    ]
)

figure_options = adding(
    [
        output_options,
        click.option("--png", is_flag=True, help="With --out: write each figure as PNG too, beside its SVG."),
    ]
)


def _printable(ctx: click.Context, param: click.Parameter, value: str) -> str:
    """A name for the head of a report: no character of it can steer a terminal or turn a line round."""
    if len(value) > LONGEST_NAME or not value.isprintable():
        raise click.BadParameter(f"give a text of up to {LONGEST_NAME} printable characters", ctx, param)
    return value


head_options = adding(
    [
        click.option("--prepared-by", metavar="TEXT", default="", callback=_printable, help="Who prepared it."),
        click.option("--for", "prepared_for", metavar="TEXT", default="", callback=_printable, help="For whom."),
    ]
)
report_options = adding([figure_options, head_options])


@record
class Output:
    """Where results go besides the screen. `json_file` is None, "-" for standard output, or a path; the three from
    `prepared_by` on are for the head of a report. `png`: figures as PNG too."""

    out: Path | None
    json_file: str | None
    quiet: bool
    case_path: Path
    prepared_by: str = ""
    prepared_for: str = ""
    everything: bool = False
    png: bool = False

    @property
    def head(self) -> "Head":
        """The head of the report."""
        from sim.tell.prepared import head_of

        return head_of(
            self.case_path, prepared_by=self.prepared_by, prepared_for=self.prepared_for, whole=self.everything
        )

    @property
    def on_screen(self) -> bool:
        """Whether a person sees tables: not with --quiet, nor where standard output is the JSON itself."""
        return not self.quiet and self.json_file != "-"

    @property
    def to_file(self) -> Path | None:
        """The JSON file, if it is one."""
        return None if self.json_file in (None, "-") else Path(str(self.json_file))

    def refuse_if_unwritable(self, *, length: float = math.inf) -> None:
        """RequestError, before anything is run, if a file could not be made after a run of `length` [s]."""
        from sim.study.errors import RequestError
        from sim.study.whole_files import SHORTEST_DRAWN, require_file, require_folder

        if self.png and self.out is None:
            raise RequestError("--png is for the figures of --out: give both, or neither")
        if self.out is not None and length < SHORTEST_DRAWN:
            raise RequestError(
                f"--out: a run of {length:g} s leaves nothing to draw, which takes {SHORTEST_DRAWN:g} s or more; "
                'try: length = "365 d" in [run]'
            )
        if self.out is not None:
            require_folder(self.out)
        if self.to_file is not None:
            require_file(self.to_file, made=self.out, case=self.case_path)

    def refuse_as_study(self, study: Path | None) -> None:
        """RequestError where the file of a study is another one of the command."""
        from sim.study.errors import RequestError
        from sim.study.whole_files import real_path

        others = [real_path(path) for path in (self.case_path, self.to_file) if path is not None]
        if study is not None and real_path(study) in others:
            raise RequestError(f"--study {study} is the case or another file of this command")

    def tell(
        self, show: Callable[[], None], data: Mapping[str, Any], tables: Callable[[], Mapping[str, str | bytes]]
    ) -> None:
        """Give the answer, on the screen or as JSON on standard output; then draw and write what was asked for.

        It is written too where nobody reads the answer to its end.
        """
        from sim.study.whole_files import as_json

        try:
            if self.on_screen:
                show()
            if self.json_file == "-":
                click.echo(as_json(data), nl=False)
        except (OSError, SystemExit):  # the latter of rich, where a pipe is closed
            self.write(data, tables)
            raise
        self.write(data, tables)

    def write(self, data: Mapping[str, Any], tables: Callable[[], Mapping[str, str | bytes]]) -> None:
        """Write what was asked for: `data` to the JSON file, and the files of --out by name, only then made."""
        from sim.study.whole_files import as_json, write_all

        texts: dict[Path, str | bytes] = {}
        if self.out is not None:
            load_drawing()
            texts |= {self.out / name: text for name, text in _report_in_english(tables).items()}
        if self.to_file is not None:
            texts[self.to_file] = as_json(data)
        if texts:
            write_all(texts)
        if texts and not self.quiet:
            say_plainly(written(list(texts)))


def _report_in_english(tables: Callable[[], Mapping[str, str | bytes]]) -> dict[str, str | bytes]:
    """Files by name, as the language has them; the long report, with its figures, in English."""
    found = dict(tables())
    if is_translated() and REPORT in found:
        with speaking(ENGLISH):
            found[REPORT] = tables()[REPORT]
    return found


def say_plainly(text: str) -> None:
    """Say something on standard error; no name in it, of a file or a policy, can steer the terminal."""
    from sim.case.spelling import NO_BREAK, escaped

    click.echo("\n".join(escaped(line, NO_BREAK) for line in text.split("\n")), err=True)


def written(paths: Sequence[Path]) -> str:
    """What was written, in a line: figures are only counted."""
    from sim.case.spelling import escaped

    figures = sum(path.suffix == ".svg" for path in paths)
    names = [escaped(str(path)) for path in paths if path.suffix not in (".svg", ".png")]
    english = is_translated() and any(path.name == REPORT for path in paths)
    return paragraph(
        say("written.files", files=items(names)) if names else Sentence(""),
        say("written.figures", count=figures) if figures else Sentence(""),
        say("language.report") if english else Sentence(""),
    )
