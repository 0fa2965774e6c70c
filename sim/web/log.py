"""“What does my log say?”: the constants that a plant's own log settles, what is left of its readings, causes."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple, cast, get_args, get_type_hints

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from hydraulics.errors import FilterrunError
from plots.fit import fit_drawing
from plots.inputs import Answer, TextTable
from plots.one import Shown
from plots.words import ENGLISH, Label, label, say, speaking
from sim.case.quantities import System
from sim.fit.diagnose import diagnose
from sim.fit.fit import fit_log
from sim.log.reading import How, read_log_text
from sim.log.source import LOG_FILE
from sim.tell.comparison.first_screen import answer_of
from sim.tell.comparison.tables import text_table
from sim.tell.fit.diagnosis_screen import Asked, diagnosis_screen
from sim.tell.fit.fit_files import fit_files, fit_picture
from sim.tell.fit.fit_screen import fit_screen
from sim.tell.fit.wash_listing import seen_words, wash_listing
from sim.tell.prepared import head_of
from sim.web.asking import Question, answer, question, read
from sim.web.by_question import tried
from sim.web.cases_read import case_of, file_name
from sim.web.errors import Refused
from sim.web.pages import address, download, page
from sim.web.report import KINDS
from sim.web.shelf import Held, HeldLog, Shelf
from sim.web.worker import Job, Tell, one_sentence
from sim.write.from_fit import written_from

MOST_ROWS = 20_000
LONGEST = 300.0  # s: its page says how far it is, and can cancel it
HOW: Mapping[str, tuple[str, ...]] = {
    name: get_args(get_type_hints(How)[name]) for name in ("dates", "gaps", "negative", "stuck", "resets")
}
"""What a person may say of how the log is to be read; the first of each where nothing is said."""
FILES = ("report.html", "tables.xlsx")
"""Those that the command fit makes with --report and --no-ranges."""


class LogSetup(NamedTuple):
    """The case that a log is fitted to: its title and the names of its filters."""

    title: str
    stages: tuple[str, ...]


class Washes(NamedTuple):
    """The washes that a log without marks shows, for a person to confirm."""

    sentence: str
    table: TextTable


class LogAnswer(NamedTuple):
    """What a log says: constants, what it leaves open, the figure, causes or why there are none, the fitted case, and
    report and workbook by file name."""

    title: str
    fit: Answer
    figure: Shown
    causes: Answer | None
    no_causes: str
    case: Held
    files: Mapping[str, str | bytes]


def setup(held: Held, _tell: Tell) -> LogSetup:
    """What the form shows of a case."""
    case = case_of(held)
    return LogSetup(case.title, tuple(stage.name for stage in case.stages))


def fitted(
    text: bytes, held: Held, log: HeldLog, _id: str, confirmed: bool, system: System, tell: Tell
) -> LogAnswer | Washes:
    """A log fitted to a case, and causes by the fitted case; its washes first where nobody has confirmed them.

    `log` comes without its text, which its id stands for, so that no answer that the desk keeps holds a log.
    """
    case = case_of(held)
    stage = log.stage or case.stages[0].name
    found = read_log_text(text.decode("utf-8"), log.name, None, stage=stage, **dict(log.how))
    if not confirmed and any(wash.found == "seen" for wash in found.washes):
        return Washes(seen_words(found), text_table(label("fit.washes"), wash_listing(found)))
    fit = fit_log(found, case, stage, progress=lambda runs: tell(say("log_page.fits", runs=runs)))
    path = Path(held.folder or "") / held.name
    made = replace(held, text=written_from(held.text, path, path, fit), name=f"{path.stem}_fitted.toml")
    told, drawing = fit_screen(fit, case, system), fit_drawing(fit_picture(fit, system))
    table = text_table(label("fit.constants"), told.table)
    with speaking(ENGLISH):
        files = fit_files(fit, case, system, head_of(Path(held.name)))
    causes, why = None, ""
    try:
        after = case_of(made)
        cause = diagnose(
            found, after, stage,
            progress=lambda done, of: tell(say("log_page.causes", number=done + 1, of=of)),
        )  # fmt: skip
        causes = answer_of(diagnosis_screen(cause, Asked(case=after, log=found), system))
    except FilterrunError as error:
        why = one_sentence(str(error))
    return LogAnswer(
        title=told.title, fit=Answer(sentences=told.answer, table=table, notes=told.foot, change=told.open),
        figure=Shown(svg=drawing.bare, caption=drawing.caption, alt=drawing.alt),
        causes=causes, no_causes=why, case=made, files={name: files[name] for name in FILES},
    )  # fmt: skip


def held_log(content: bytes, name: str, fields: Mapping[str, str]) -> HeldLog:
    """A log that a browser sent; Refused if it cannot be one."""
    try:
        text = content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise Refused(422, "A log here is a CSV file in UTF-8; this is none. Save it anew as CSV in UTF-8.") from None
    lines = text.rstrip("\n").split("\n")
    if len(lines) > MOST_ROWS + 1:
        raise Refused(422, f"A log here has up to {MOST_ROWS:,} rows; the command fit reads longer ones.")
    if max(map(len, lines)) > LOG_FILE.longest_line:
        raise Refused(422, f"A line of a log has up to {LOG_FILE.longest_line:,} characters; this one has more.")
    given = {each: fields.get(each, values[0]) for each, values in HOW.items()}
    if fields.keys() - HOW.keys() - {"stage"} or any(given[each] not in HOW[each] for each in HOW):
        raise Refused(400, "This form holds something that is none of its fields.")
    return HeldLog(text, file_name(name, ".csv"), fields.get("stage"), tuple(given.items()))


def _choices() -> tuple[tuple[str, Label, tuple[str, ...]], ...]:
    """The key of each part of HOW, what it is called, and its values."""
    called = {
        "dates": label("log_page.dates"), "gaps": label("log_page.gaps"), "negative": label("log_page.negative"),
        "stuck": label("log_page.stuck"), "resets": label("log_page.resets"),
    }  # fmt: skip
    return tuple((name, called[name], values) for name, values in HOW.items())


def _asked(request: Request) -> Question:
    return replace(question(request, ("log", "washes")), moved=())


def _log_of(request: Request, asked: Question) -> HeldLog:
    return cast(Shelf, request.app.state.shelf).log(asked.own.get("log"))


async def jobs(request: Request) -> tuple[Job[LogAnswer | Washes], ...]:
    """The fit that an address asks for."""
    asked = _asked(request)
    log = _log_of(request, asked)
    known = asked.held, replace(log, text=""), log.id, "washes" in asked.own, asked.system
    return (Job(fitted, known, LONGEST, given=log.text.encode("utf-8")),)


async def show(request: Request) -> Response:
    """The form, and what the log says where one was sent."""
    asked = _asked(request)
    about = await read(request, Job(setup, (asked.held,)))
    found, refused, log = None, None, None
    if "log" in asked.own:
        log = _log_of(request, asked)
        (job,) = await jobs(request)
        found, refused = await tried(answer(request, job))
    return page(
        request, "log.html", asked, refused.status if refused else 200, setup=about, how=_choices(),
        given={} if log is None else dict(log.how), found=found, refused=refused,
        switch=address("/log", asked.switched.parameters()),
    )  # fmt: skip


async def take(request: Request) -> Response:
    """Take a log that somebody chose, and go on to what it says."""
    asked = _asked(request)
    async with request.form(max_files=1, max_fields=len(HOW) + 1) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise Refused(400, "No file was chosen.")
        texts = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
        if len(dict(texts)) < len(texts):
            raise Refused(400, "This form holds a field twice.")
        log = held_log(await file.read(), file.filename, dict(texts))
    about = await read(request, Job(setup, (asked.held,)))
    if log.stage is not None and log.stage not in about.stages:
        raise Refused(404, "This case has no filter of that name.")
    return RedirectResponse(address("/log", {**asked.plain, "log": request.app.state.shelf.put_log(log)}), 303)


async def _made(request: Request) -> LogAnswer | None:
    """The answer of an address; None while it is worked out or waits for somebody to confirm the washes."""
    (job,) = await jobs(request)
    found = await answer(request, job)
    return found if isinstance(found, LogAnswer) else None


async def save(request: Request) -> Response:
    """The fitted case, or the file that the address names, for the browser to save; nothing is written here."""
    name, made = request.path_params.get("name"), await _made(request)
    if made is None:
        return RedirectResponse(address("/log", _asked(request).parameters()), 303)
    if name is None:
        return download(made.case.name, made.case.text.encode("utf-8"), "application/toml")
    if name not in FILES:
        raise Refused(404, "There is nothing at this address.")
    content = made.files[name]
    return download(name, content.encode("utf-8") if isinstance(content, str) else content, KINDS[name])


async def use(request: Request) -> Response:
    """Hold the fitted case, and go on to it."""
    asked, made = _asked(request), await _made(request)
    if made is None:
        return RedirectResponse(address("/log", asked.parameters()), 303)
    case_id = request.app.state.shelf.put(made.case)
    return RedirectResponse(address("/plant", {**asked.plain, "case": case_id, "taken": "yes"}), 303)
