"""Refusals that people read."""


class Refused(ValueError):
    """A change that the rules do not allow; the message is one sentence that says what would be right."""
