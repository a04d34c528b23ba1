"""A tablet without a browser: its ids, its records, its requests."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from PIL import Image
from uuid_utils.compat import uuid7

from hazards.models import Target
from inventory.models import Tree

DEVICE = "0197a0c0-0000-7000-8000-000000000001"


def at(hours: float = 0) -> str:
    """So many hours ago, as a tablet writes it."""
    return (timezone.now() - dt.timedelta(hours=hours)).isoformat()


def record(kind: str, payload: dict[str, Any], **changed: Any) -> dict[str, Any]:
    return {"id": str(uuid7()), "kind": kind, "recorded_at": at(), "payload": payload, **changed}


def assessment(target: Target | str, **changed: Any) -> dict[str, Any]:
    """High: a union that is probable to split onto a place in constant use."""
    return {
        "part": "union",
        "failure_mode": "splitting at the included bark",
        "failure": "probable",
        "target": target if isinstance(target, str) else target.pk,
        "exposure": "fully exposed",
        "impact": "high",
        "consequences": "severe",
        **changed,
    }


def inspection(tree: Tree | str, /, *assessments: dict[str, Any], **changed: Any) -> dict[str, Any]:
    named = tree if isinstance(tree, str) else tree.pk
    payload = {"tree": named, "observed_at": at(), "level": 2, "condition": "fair", "assessments": list(assessments)}
    return record("inspection", {**payload, **changed})


def body(*records: dict[str, Any], **changed: Any) -> str:
    return json.dumps({"schema": 1, "device": DEVICE, "clock_offset_ms": 0, "records": list(records), **changed})


def post(client: Client, *records: dict[str, Any], **changed: Any) -> Any:
    return client.post("/field/records", body(*records, **changed), content_type="application/json")


def send(client: Client, *records: dict[str, Any], **changed: Any) -> list[dict[str, Any]]:
    answer = post(client, *records, **changed)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def statuses(results: list[dict[str, Any]]) -> list[str]:
    return [result["status"] for result in results]


def picture(shade: int = 0) -> bytes:
    """Small, and another for each shade."""
    out = io.BytesIO()
    image = Image.new("RGB", (16, 16), (shade % 256, shade // 256 % 256, 90))
    image.putpixel((0, 0), (255, 255, 255))
    image.save(out, "PNG")
    return out.getvalue()


def photo(client: Client, about: str, content: bytes, **changed: Any) -> Any:
    told = {
        "id": str(uuid7()),
        "record": about,
        "sha256": hashlib.sha256(content).hexdigest(),
        "taken_at": at(),
        "caption": "",
        "file": SimpleUploadedFile("photo.png", content),
        **changed,
    }
    return client.post("/field/photos", told)
