"""What `new` asks, by the keys of its answers."""

from plots.words import Label, Name, Sentence, label, say


def in_words(key: str) -> Label:
    """What is asked."""
    return label(f"asked.{key}")


def why(key: str) -> Sentence:
    """Why, and how to answer."""
    return say(f"asked.why.{key}")


def without(key: str, *, needed: bool) -> Sentence:
    """What becomes of no answer."""
    return say("asked.needed") if needed else say(f"asked.without.{key}")


def example(si: str, us: str) -> Label:
    """An answer in each system of units, or one where they are the same."""
    if si == us:
        return label("questionnaire.example", si=Name(si))
    return label("questionnaire.examples", si=Name(si), us=Name(us))
