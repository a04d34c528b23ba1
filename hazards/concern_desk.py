"""What the city has set about concerns: whether the public page and Open311 are open, the emergency number, plain answers.

Both doors stay shut unless whoever runs the server lets the program face the public (`settings.PUBLIC_REPORTS`) and the city
opens them.
"""

from __future__ import annotations

from django.conf import settings
from django.db import transaction
from django.utils.text import slugify

from hazards.models import ConcernDesk, PlainAnswer
from hazards.models.concerns import CONTACT_DAYS_MAX
from hazards.plain_answers import Answer, merged
from inventory import record
from inventory.access import Permission
from inventory.errors import Refused
from inventory.record import Actor
from inventory.steps import permit, said

DESK_FIELDS = ("page_open", "open311_open", "emergency_number", "contact_days")


def desk() -> ConcernDesk:
    """What holds today; the program's defaults while the city has set nothing."""
    return ConcernDesk.objects.first() or ConcernDesk()


def page_is_open() -> bool:
    return bool(settings.PUBLIC_REPORTS) and desk().page_open


def open311_is_open() -> bool:
    return bool(settings.PUBLIC_REPORTS) and desk().open311_open


@transaction.atomic
def set_desk(
    *, by: Actor, seen: int, page_open: bool, open311_open: bool, emergency_number: str, contact_days: int
) -> ConcernDesk:
    """Set all four. ``seen`` is the version that the person looked at: Refused when somebody changed it since."""
    permit(by, Permission.SET_POLICY)
    ConcernDesk.objects.get_or_create(id=1)
    row = ConcernDesk.objects.select_for_update().get(id=1)
    if row.version != seen:
        raise Refused("The settings were changed while this page was open; look at them again and repeat your change.")
    if not 1 <= contact_days <= CONTACT_DAYS_MAX:
        raise Refused(f"A contact kept {contact_days} days is out of bounds; it is 1 to {CONTACT_DAYS_MAX} days.")
    if page_open and not emergency_number.strip():
        raise Refused("Give the emergency number that people are to call before you open the public page.")
    after = dict(zip(DESK_FIELDS, (page_open, open311_open, emergency_number.strip(), contact_days), strict=True))
    changes = {name: [getattr(row, name), value] for name, value in after.items() if getattr(row, name) != value}
    if not changes:
        return row
    for name, value in after.items():
        setattr(row, name, value)
    row.version += 1
    row.save()
    words = "; ".join(
        f"{name.replace('_', ' ')}: {old or 'none'} → {new or 'none'}" for name, (old, new) in changes.items()
    )
    record.write(by=by, verb="set concerns", subject=row, summary=f"Set {words}."[:300], changes=changes)
    return row


def answers() -> list[Answer]:
    """All plain answers, the city's wording where it has one; those no longer offered too."""
    rows = PlainAnswer.objects.all()
    return list(merged({row.slug: Answer(row.slug, row.title, row.text, row.used, own=True) for row in rows}))


def offered() -> list[Answer]:
    return [answer for answer in answers() if answer.used]


@transaction.atomic
def keep_answer(*, by: Actor, title: str, text: str, used: bool = True, slug: str = "") -> PlainAnswer:
    """The city's wording of an answer (``slug`` of one there is) or a new one, whose slug is made from its title."""
    permit(by, Permission.SET_POLICY)
    title = said(title, "Give the answer a title that names what was seen.", 80)
    text = said(text, "Write the answer.", 2000)
    if not slug:
        slug = slugify(title)[:40]
        if not slug or any(answer.slug == slug for answer in answers()):
            raise Refused(f"There is an answer “{title}” already, or the title has no letters; give it another title.")
    row = PlainAnswer.objects.select_for_update().filter(slug=slug).first() or PlainAnswer(slug=slug)
    row.title, row.text, row.used = title, text, used
    row.save()
    offered = "offered" if used else "no longer offered"
    record.write(by=by, verb="plain answer", subject=row, summary=f"Kept the plain answer “{title}”, {offered}.")
    return row
