"""Lateness in words: colour alone says nothing in print."""

import datetime as dt

from django import template

register = template.Library()


@register.filter
def late(due: dt.date | None, today: dt.date) -> str:
    """``3 days overdue``, ``due today``, or nothing when there is time."""
    if due is None or due > today:
        return ""
    days = (today - due).days
    if days == 0:
        return "due today"
    return f"{days} day{'' if days == 1 else 's'} overdue"
