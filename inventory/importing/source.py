"""What every reader of files hands out."""

from dataclasses import dataclass


class FileProblem(ValueError):
    """The file as a whole cannot be read; the message is one sentence for the person who sent it."""


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One row as text. ``problem`` says in words why it cannot be used, when it cannot."""

    number: int
    values: tuple[str, ...]
    problem: str = ""
