"""A case that is not in order, as a person reads it."""

from sim.errors import CaseError, Problem


def told(error: CaseError) -> str:
    """Every problem of the file: where, what was given, what is allowed, what to try."""
    first = f" The first {len(error.problems)}:" if error.more else ""
    head = f"{error.count} in the case; nothing was run or written.{first}"
    return "\n".join([head, *(_told(problem) for problem in error.problems)])


def _told(problem: Problem) -> str:
    where = problem.file if problem.line is None else f"{problem.file}, line {problem.line}"
    head = f"{where}: {problem.key}" if problem.key else where
    return f"{head}\n  given:   {problem.given}\n  allowed: {problem.allowed}\n  try:     {problem.try_}"
