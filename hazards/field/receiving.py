"""Records of a tablet taken in: each whole or not at all, in a transaction of its own, and each once.

A transaction takes the record's lock, then that of one tree: tablets that send batches touching the same trees wait for
each other, never in a circle. What was taken before a server stopped in mid-batch stays; the rest comes again.
"""

from __future__ import annotations

import datetime as dt
import logging
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any
from uuid import UUID

from django.db import connection, transaction

from hazards.models import FieldRecord
from inventory.access import allowed
from inventory.errors import Refused
from inventory.record import Actor
from inventory.sent import KEY_MAX, Faulty, Kind, NotYet, Sent, Stored, digest, is_storable

logger = logging.getLogger(__name__)

# Of the language between tablet and server; a tablet that comes back after weeks still speaks the oldest.
SCHEMA = 1
SCHEMA_MIN = 1
RECORDS_MAX = 50
BYTES_MAX = 1_000_000

FOREIGN = "This record was made by somebody else on this tablet; it is sent when that person has signed in."
CONFLICT = "The server holds another record under this id; send this one under a new id."
TROUBLE = "The server could not take this record just now; it is tried again."


class BadRequest(Exception):
    """The request as a whole cannot be read; nothing of it was taken. The message is one sentence."""


@dataclass(frozen=True)
class Line:
    """What holds for all records of one request; ``user``: whose outbox it is, None when the tablet does not say."""

    schema: int
    device: str
    clock_offset_ms: int | None
    user: int | None


@dataclass(frozen=True)
class Result:
    """``status``: stored, known, refused, conflict, forbidden; waiting and trouble are tried again."""

    id: Any
    status: str
    number: str = ""
    url: str = ""
    flags: tuple[str, ...] = ()
    errors: tuple[dict[str, str], ...] = ()

    def row(self) -> dict[str, Any]:
        return asdict(self)


def said(status: str, id: Any, errors: Mapping[str, str]) -> Result:
    return Result(id, status, errors=tuple({"field": name, "message": words} for name, words in errors.items()))


# ---- The envelope ----------------------------------------------------------------------------------------------------


def opened(body: Any) -> tuple[Line, list[Any]]:
    """The request's own fields and its records, not yet looked at. Raises BadRequest."""
    if not isinstance(body, dict) or not isinstance(body.get("records"), list):
        raise BadRequest("Send an object with the list “records”.")
    if len(body["records"]) > RECORDS_MAX:
        raise BadRequest(f"{len(body['records'])} records are too many at once; send at most {RECORDS_MAX}.")
    device, offset, user = body.get("device"), body.get("clock_offset_ms"), body.get("user")
    if not isinstance(device, str) or not 0 < len(device) <= 64 or not is_storable(device):
        raise BadRequest("Say which tablet this is: “device” is a text of at most 64 characters.")
    if not (offset is None or _is_whole(offset)) or not (user is None or _is_whole(user)):
        raise BadRequest("“clock_offset_ms” and “user” are whole numbers, or are left out.")
    return Line(_schema(body.get("schema")), device, offset, user), body["records"]


def _schema(told: Any) -> int:
    if not _is_whole(told) or not SCHEMA_MIN <= told <= SCHEMA:
        raise BadRequest(
            f"This server takes schema {SCHEMA_MIN} to {SCHEMA}, not {told!s:.20}: open the page with signal, "
            f"so that it brings itself up to date; what is unsent stays on the tablet."
        )
    return int(told)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) <= KEY_MAX


def _sent(record: Any, line: Line) -> Sent:
    """Raises Faulty for what is no record."""
    if not isinstance(record, dict):
        raise Faulty({"": "A record is an object with id, kind, recorded_at and payload."})
    try:
        id = UUID(record["id"])
    except (KeyError, ValueError, TypeError, AttributeError):
        raise Faulty({"id": "The id of a record is a UUID, version 7, made on the tablet."}) from None
    if id.version != 7:
        raise Faulty({"id": "The id of a record is a UUID of version 7, made on the tablet."})
    if not isinstance(record.get("kind"), str):
        raise Faulty({"kind": "A record says its kind."})
    return Sent(
        id,
        record["kind"],
        _moment(record.get("recorded_at")),
        line.device,
        line.clock_offset_ms,
        record.get("payload", {}),
    )


def _moment(told: Any) -> dt.datetime:
    try:
        moment = dt.datetime.fromisoformat(told)
    except (ValueError, TypeError):
        moment = None
    if moment is None or moment.tzinfo is None:
        raise Faulty({"recorded_at": "Say when it was recorded, with the time zone: 2026-05-04T09:00:00+02:00."})
    return moment


# ---- The records -----------------------------------------------------------------------------------------------------


def receive(*, by: Actor, kinds: Mapping[str, Kind], line: Line, records: Iterable[Any]) -> list[Result]:
    """One result a record, in the order sent. They are taken in the order of their ids, which is that of the work:
    a tree first, then its inspection, whatever order they came in."""
    numbered = sorted(enumerate(records), key=lambda each: (str(_id(each[1])), each[0]))
    results = {place: _receive(by, kinds, line, record) for place, record in numbered}
    return [results[place] for place in sorted(results)]


def _id(record: Any) -> Any:
    return record.get("id") if isinstance(record, dict) else None


def _receive(by: Actor, kinds: Mapping[str, Kind], line: Line, record: Any) -> Result:
    id = _id(record)
    if line.user is not None and line.user != by.user.pk:
        return said("forbidden", id, {"": FOREIGN})
    try:
        sent = _sent(record, line)
        kind = _kind(kinds, sent)
        return _once(by, kind, sent, line)
    except Faulty as faulty:
        return said("refused", id, faulty.errors)
    except Refused as refused:
        return said("refused", id, {"": str(refused)})
    except NotYet as wait:
        return said("waiting", id, {"": str(wait)})
    except Exception:
        logger.exception("A record of a tablet could not be taken.")
        return said("trouble", id, {"": TROUBLE})


def _kind(kinds: Mapping[str, Kind], sent: Sent) -> Kind:
    if sent.kind not in kinds:
        raise Faulty(
            {"kind": f"This server knows no record of the kind “{sent.kind[:40]}”; bring the page up to date."}
        )
    return kinds[sent.kind]


@transaction.atomic
def _once(by: Actor, kind: Kind, sent: Sent, line: Line) -> Result:
    if not is_storable(sent.payload):
        raise Faulty(kind.errors(sent.payload))
    content = digest(sent.kind, sent.recorded_at.isoformat(), sent.payload)
    _lock(sent.id)
    if known := FieldRecord.objects.filter(pk=sent.id).first():
        return _known(known, content)
    if not allowed(by.user, kind.permission):
        return said("forbidden", str(sent.id), {"": f"Your role may not {kind.permission.value}."})
    if errors := kind.errors(sent.payload):
        raise Faulty(errors)
    stored = kind.store(by, sent)
    _keep(by, sent, line, content, stored)
    return Result(str(sent.id), "stored", stored.number, stored.url, stored.flags)


def _lock(id: UUID) -> None:
    """The same record sent twice at once: the second waits for the first and then finds it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [id.int & KEY_MAX])


def _known(known: FieldRecord, content: str) -> Result:
    if known.sha256 != content:
        return said("conflict", str(known.pk), {"": CONFLICT})
    return Result(str(known.pk), "known", known.number, known.url, tuple(known.flags))


def _keep(by: Actor, sent: Sent, line: Line, content: str, stored: Stored) -> None:
    FieldRecord(
        id=sent.id,
        kind=sent.kind,
        user=by.user,
        device=sent.device,
        recorded_at=sent.recorded_at,
        clock_offset_ms=sent.clock_offset_ms,
        schema=line.schema,
        sha256=content,
        payload=sent.payload,
        number=stored.number,
        url=stored.url,
        flags=list(stored.flags),
        **stored.made,
    ).save(force_insert=True)
