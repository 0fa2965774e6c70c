"""Pages to print, black on white, as HTML and PDF that need nothing else: the letters that they use are in them."""

import io
import re
from base64 import b64encode
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Literal

from plots.report import template

Paper = Literal["a4", "letter"]
_PER_TIME = re.compile(r"(?<=m³)/(?=h\b)")  # no line ends within a unit
FACES = {"DejaVuSans.ttf": "normal", "DejaVuSans-Bold.ttf": "bold"}


def paper_html(name: str, paper: Paper, **shown: Any) -> str:
    """A template that extends paper.html, filled, on paper of this size, with its letters."""
    page = template(name)

    def filled(faces: Sequence[tuple[str, str]]) -> str:
        return _PER_TIME.sub("/\N{WORD JOINER}", page.render(paper=paper, faces=faces, **shown))

    letters = "".join(sorted(set(filled(())) - {"\n"}))
    return filled([(weight, _face(file, letters)) for file, weight in FACES.items()])


def can_make_pdf() -> bool:
    """Whether what turns a page into PDF is installed, with the libraries that it needs of the system."""
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError):
        return False
    return True


def pdf_of(html: str) -> bytes:
    """A page as PDF. Nothing is fetched: what is not in the page is left out."""
    from weasyprint import HTML
    from weasyprint.urls import URLFetcher

    pdf = HTML(string=html, url_fetcher=URLFetcher(allowed_protocols={"data"})).write_pdf()
    assert isinstance(pdf, bytes)
    return pdf


def paper_files(name: str, html: str, *, pdf: bool) -> dict[str, str | bytes]:
    """A page as HTML and, if asked for, as PDF, by the names of the files."""
    return {f"{name}.html": html} | ({f"{name}.pdf": pdf_of(html)} if pdf else {})


@cache
def _face(file: str, letters: str) -> str:
    """A face of the font with these letters alone, in base 64; always the same bytes."""
    from fontTools.subset import Options, Subsetter
    from fontTools.ttLib import TTFont
    from matplotlib import get_data_path

    font = TTFont(Path(get_data_path(), "fonts", "ttf", file), recalcTimestamp=False)
    options = Options(hinting=False, notdef_outline=True, layout_features=[])
    options.drop_tables += ["FFTM"]  # when it was made
    subsetter = Subsetter(options)
    subsetter.populate(text=letters)
    subsetter.subset(font)
    out = io.BytesIO()
    font.save(out)
    return b64encode(out.getvalue()).decode("ascii")
