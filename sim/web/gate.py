"""The word that a browser must tell once where the page is open to a network."""

import hmac
import secrets
import time
from collections import deque
from collections.abc import Callable, Mapping

from plots.words import say
from sim.web.errors import Refused
from sim.web.pages import own_text

COOKIE = "filterrun_browser"
WITHIN = 60.0  # s in which so many wrong words may be told
TRIES, TRIES_OF_ALL = 20, 300  # from one address, which a class may share, and from all together
MOST_BROWSERS = 500


class WordNeeded(Refused):
    """A browser that has not told the word yet."""

    def __init__(self) -> None:
        super().__init__(401, say("page.word.asks"))


class Gate:
    """One word for this start of the page; every browser that tells it gets a token of its own."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        # Short plain words that sound unlike each other; three of them are one of two million.
        words = own_text("static", "words.txt").split()
        self.word = "-".join(secrets.choice(words) for _ in range(3))
        self._tokens: deque[str] = deque(maxlen=MOST_BROWSERS)
        self._wrong: deque[tuple[float, str]] = deque()
        self._clock = clock

    def require(self, cookies: Mapping[str, str]) -> None:
        """WordNeeded unless a browser brings a token that it was given."""
        token = cookies.get(COOKIE, "").encode("utf-8", "replace")
        if not any(hmac.compare_digest(token, each.encode("ascii")) for each in self._tokens):
            raise WordNeeded

    def open(self, word: str, network: str) -> str:
        """The token for a browser that tells the word; Refused for another word, or after too many from there."""
        now = self._clock()
        while self._wrong and now - self._wrong[0][0] >= WITHIN:
            self._wrong.popleft()
        from_there = sum(each == network for _, each in self._wrong)
        if from_there >= TRIES or len(self._wrong) >= TRIES_OF_ALL:
            raise Refused(429, "Too many wrong words were tried; wait a minute.")
        told = "-".join(word.lower().replace("-", " ").split())
        if not hmac.compare_digest(told.encode("utf-8", "replace"), self.word.encode("ascii")):
            self._wrong.append((now, network))
            raise Refused(403, "That is not the word; it stands in the terminal where the page was started.")
        token = secrets.token_urlsafe(24)
        self._tokens.append(token)
        return token
