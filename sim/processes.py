"""How processes of this program begin and end: nothing of the current folder runs, an interrupt is one line.

A process that Python starts afresh has the current folder first on its import path, and a terminal sends an interrupt
to every process of a group, whatever it is doing. `safely` is therefore the one way to start a process. The program
itself takes no interrupt as an exception, which would come out of any line, an import of a compiled module included:
a thread waits for it, says its line, and ends the program between two steps of what is `undivided`.
"""

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator

INTERRUPTED = 130
NOTHING_WRITTEN = "interrupted: nothing written"
WRITTEN = "interrupted: what had been written is whole and stays"
MOST_PATIENCE = 3.0  # s that an interrupt waits for what is undivided
LOOKS_EVERY = 0.05  # s
NO_WORD_OF_LEFTOVERS = "ignore:resource_tracker:UserWarning"  # it clears away what an interrupted program leaves

_step = threading.RLock()
_words: list[Callable[[], str]] = []
_has_written = threading.Event()


def end_on_interrupt() -> None:
    """From now on an interrupt ends this program with one line; on a system without signal masks, as an exception."""
    if not hasattr(signal, "pthread_sigmask") or signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        return
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # in this thread, and in all that it starts
    threading.Thread(target=_wait_for_interrupt, daemon=True).start()


def _wait_for_interrupt() -> None:
    signal.sigwait({signal.SIGINT})
    _step.acquire(timeout=MOST_PATIENCE)
    if "multiprocessing" in sys.modules:
        import multiprocessing

        for process in multiprocessing.active_children():
            process.kill()
    with contextlib.suppress(OSError):
        plain = "" if not os.isatty(2) else "\r\x1b[K\x1b[?25h"  # the end of a line of progress
        os.write(2, f"{plain}{_last_words()}\n".encode(errors="replace"))
    os._exit(INTERRUPTED)


def _last_words() -> str:
    if _words:
        return _words[0]()
    return WRITTEN if _has_written.is_set() else NOTHING_WRITTEN


@contextlib.contextmanager
def interrupted_with(words: Callable[[], str]) -> Iterator[None]:
    """What an interrupt says while this is under way; what is wider speaks for what is within it."""
    _words.append(words)
    try:
        yield
    finally:
        _words.remove(words)


def has_written() -> None:
    """Files of this program are there now: an interrupt says so."""
    _has_written.set()


@contextlib.contextmanager
def undivided() -> Iterator[None]:
    """A step that is done whole or not at all: an interrupt waits for its end."""
    with _step:
        yield


@contextlib.contextmanager
def safely() -> Iterator[None]:
    """Processes that begin within this run no module of the current folder and are deaf to interrupts."""
    quiet = ",".join(filter(None, (os.environ.get("PYTHONWARNINGS"), NO_WORD_OF_LEFTOVERS)))
    with _step, _environment(PYTHONSAFEPATH="1", PYTHONWARNINGS=quiet), _deaf():
        yield


@contextlib.contextmanager
def _environment(**values: str) -> Iterator[None]:
    before = {name: os.environ.get(name) for name in values}
    os.environ.update(values)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextlib.contextmanager
def _deaf() -> Iterator[None]:
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    from multiprocessing import resource_tracker

    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        resource_tracker.ensure_running()  # before the others, since it leaves interrupts unblocked
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def serve_parent() -> None:
    """In a worker: an interrupt is for the parent to handle, and nobody outlives the parent."""
    from multiprocessing import connection, parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    assert parent is not None

    def leave() -> None:
        connection.wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=leave, daemon=True).start()


@contextlib.contextmanager
def tied_to_parent() -> Iterator[None]:
    """Meanwhile this process ends soon after the one that started it, with no thread left when it is over."""
    parent, over = os.getppid(), threading.Event()

    def look() -> None:
        while not over.wait(LOOKS_EVERY):
            if os.getppid() != parent:
                os._exit(1)

    watch = threading.Thread(target=look, daemon=True)
    watch.start()
    try:
        yield
    finally:
        over.set()
        watch.join()
