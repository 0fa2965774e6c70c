"""The exception tree of the project and the one error that physics raises."""


class FilterrunError(Exception):
    """Root of every error raised on purpose.

    Subclasses take all their fields positionally and pass them to `super().__init__`, because the event
    engine rebuilds a failing process's exception as `type(e)(*e.args)`.
    """


class DomainError(FilterrunError, ValueError):
    """A quantity lies outside the range in which a law or a correlation means anything.

    >>> str(DomainError("water temperature", "60 degC", "0 to 50 degC"))
    'water temperature: given 60 degC, allowed 0 to 50 degC'
    """

    def __init__(self, quantity: str, given: str, allowed: str) -> None:
        super().__init__(quantity, given, allowed)
        self.quantity = quantity
        self.given = given
        self.allowed = allowed

    def __str__(self) -> str:
        return f"{self.quantity}: given {self.given}, allowed {self.allowed}"


class CompilerError(FilterrunError):
    """numba is there and cannot be loaded; the program neither does without it silently nor guesses.

    >>> str(CompilerError("No module named 'llvmlite'"))[:52]
    "numba cannot be loaded (No module named 'llvmlite');"
    """

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why

    def __str__(self) -> str:
        return (
            f"numba cannot be loaded ({self.why}); install it anew, or set FILTERRUN_PLAIN=1 in the environment to "
            "run without compiled code, some hundred times slower"
        )
