"""The head of a report: of which case, by which program, when, by whom and for whom."""

import os
from datetime import UTC, date, datetime
from pathlib import Path

from plots.inputs import Head
from sim.case.spelling import shown
from sim.study.errors import RequestError
from sim.study.version import PROGRAM, VERSION

END_OF_YEARS, LONGEST_EPOCH = 253_402_300_800, 13  # s since 1970 at the end of the year 9999; digits, one more


def head_of(case: Path, *, prepared_by: str = "", prepared_for: str = "", whole: bool = False) -> Head:
    """The head of a report on a case file, made today; `whole`: with every figure.

    Where the environment has SOURCE_DATE_EPOCH, the day is that one, so that the same study gives the same bytes.
    """
    return Head(
        case=case.name, program=f"{PROGRAM} {VERSION}", made=require_day(), prepared_by=prepared_by,
        prepared_for=prepared_for, whole=whole,
    )  # fmt: skip


def require_day() -> date:
    """The day that a report is made. Raises RequestError for a SOURCE_DATE_EPOCH that is no day."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH")
    if epoch is None:
        return date.today()
    if not (epoch.isascii() and epoch.isdigit() and int(epoch[:LONGEST_EPOCH]) < END_OF_YEARS):
        raise RequestError(
            f"SOURCE_DATE_EPOCH in the environment: given {shown(epoch)}; allowed: whole seconds since 1970, up to "
            "the year 9999; try: unset it"
        )
    return datetime.fromtimestamp(int(epoch), UTC).date()
