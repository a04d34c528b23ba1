"""A tablet in tests: the modules of its page called from Python, and a server played by the test."""

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from email.parser import BytesParser
from email.policy import HTTP
from typing import Any

from django.templatetags.static import static
from playwright.sync_api import BrowserContext, Page, Route

CALL = "([path, name, given]) => import(path).then((module) => module[name](...given))"


@dataclass
class Tablet:
    """``tablet.call("outbox", "add", {...})``: a function of a module of the page, awaited."""

    page: Page
    url_of: Callable[[str], str] = static

    def call(self, module: str, name: str, *given: Any) -> Any:
        return self.page.evaluate(CALL, [self.url_of(f"field/{module}.js"), name, list(given)])

    def run(self, script: str, given: Any = None) -> Any:
        """A function of JavaScript over ``(modules, given)``; ``modules("outbox")`` is a promise of the module."""
        addresses = {
            name: self.url_of(f"field/{name}.js")
            for name in ("db", "drafts", "me", "outbox", "packs", "photos", "room", "sync", "tables", "update", "uuid7")
        }
        body = f"([addresses, given]) => ({script})((name) => import(addresses[name]), given)"
        return self.page.evaluate(body, [addresses, given])

    def add(self, **record: Any) -> str:
        """A record into the outbox, with or without signal; its id."""
        return self.call("outbox", "add", {"kind": "note", "title": "Oak 12", "payload": {"text": "seen"}} | record)

    def photo(self, picture: bytes, draft: str, caption: str = "") -> dict[str, Any]:
        """A file of the camera, taken into the draft."""
        script = """async (modules, [bytes, draft, caption]) => {
            const file = new File([Uint8Array.from(bytes)], "camera.jpg", { type: "image/jpeg" });
            return (await modules("photos")).take(file, { draft, caption });
        }"""
        return self.run(script, [list(picture), draft, caption])

    def send(self) -> dict[str, Any]:
        return self.call("sync", "send")

    def states(self) -> dict[str, str]:
        return {row["id"]: row["state"] for row in self.call("outbox", "list")}


def parts_of(request: Any) -> dict[str, bytes]:
    """The fields of a multipart request."""
    head = f"Content-Type: {request.headers['content-type']}\r\n\r\n".encode()
    message = BytesParser(policy=HTTP).parsebytes(head + request.post_data_buffer)
    return {
        part.get_param("name", header="content-disposition"): part.get_payload(decode=True)
        for part in message.iter_parts()
    }


@dataclass
class PlayedServer:
    """Answers as the contract says, from memory; a test says what goes wrong."""

    user: dict[str, Any] = field(default_factory=lambda: {"id": 1, "name": "Wren Hale"})
    may: list[str] = field(default_factory=lambda: ["read", "record an inspection"])
    signed_in: bool = True
    signal: bool = True
    schema_min: int = 1
    ahead: dt.timedelta = dt.timedelta()
    records: dict[str, dict[str, Any]] = field(default_factory=dict)
    photos: dict[str, bytes] = field(default_factory=dict)
    requests: list[list[str]] = field(default_factory=list)
    packs: dict[str, Any] = field(default_factory=dict)
    context: BrowserContext = field(init=False)
    # What becomes of a record, or of a whole request, by a function of the test's.
    judge: Callable[[dict[str, Any]], dict[str, Any]] | None = None
    fault: Callable[[Route, list[dict[str, Any]]], bool] | None = None
    photo_fault: Callable[[Route, dict[str, bytes]], bool] | None = None

    def attend(self, context: BrowserContext) -> None:
        for path, answer in {
            "hello": self.hello,
            "records": self.take_records,
            "photos": self.take_photo,
            "tables": self.tables,
            "parks": self.parks,
            "pack/*": self.pack,
        }.items():
            context.route(f"**/field/{path}", self.reached(answer))
            context.route(f"**/field/{path}?*", self.reached(answer))
        self.context = context

    def reached(self, answer: Callable[[Route], None]) -> Callable[[Route], None]:
        return lambda route: answer(route) if self.signal else route.abort("internetdisconnected")

    def set_signal(self, there: bool) -> None:
        """The browser knows, and hears of it; a played answer would come through its flight mode."""
        self.signal = there
        self.context.set_offline(not there)

    def hello(self, route: Route) -> None:
        if not self.signed_in:
            return route.fulfill(status=401, json={"errors": [{"field": "", "message": "Sign in first."}]})
        now = dt.datetime.now(dt.UTC) + self.ahead
        about = {"build": "1", "schema": 1, "schema_min": self.schema_min, "limits": {"records": 50}}
        return route.fulfill(
            json={"user": self.user, "may": self.may, "csrf": "t", "server_time": now.isoformat(), **about}
        )

    def take_records(self, route: Route) -> None:
        records = json.loads(route.request.post_data_buffer)["records"]
        self.requests.append([record["id"] for record in records])
        if self.fault and self.fault(route, records):
            return None
        return route.fulfill(json={"results": [self.result(record) for record in records]})

    def result(self, record: dict[str, Any]) -> dict[str, Any]:
        verdict = self.judge(record) if self.judge else {}
        if verdict:
            return {"id": record["id"], "errors": [], "flags": []} | verdict
        known = record["id"] in self.records
        self.records.setdefault(record["id"], record)
        number = f"R-{len(self.records)}"
        return {"id": record["id"], "status": "known" if known else "stored", "number": number, "url": "/", "flags": []}

    def take_photo(self, route: Route) -> None:
        fields = parts_of(route.request)
        if self.photo_fault and self.photo_fault(route, fields):
            return None
        if fields["record"].decode() not in self.records:
            return route.fulfill(status=409, json={"id": fields["id"].decode(), "status": "waiting", "errors": []})
        self.photos[fields["id"].decode()] = fields["file"]
        return route.fulfill(json={"id": fields["id"].decode(), "status": "stored", "errors": []})

    def tables(self, route: Route) -> None:
        route.fulfill(json={"words": {}}, headers={"ETag": '"1"'})

    def parks(self, route: Route) -> None:
        route.fulfill(json={"parks": [{"code": code, "name": name, "trees": 3} for code, name in PARKS.items()]})

    def pack(self, route: Route) -> None:
        path, _, query = route.request.url.partition("?")
        pack = self.packs.get(f"{path.rsplit('/', 1)[1]}?{query}" if query else path.rsplit("/", 1)[1])
        route.fulfill(json=pack) if pack else route.fulfill(status=404, json={"errors": []})


PARKS = {"LG": "Lantern Green", "QM": "Quarry Meadow"}
