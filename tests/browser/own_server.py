"""The program as it is served, in processes of its own: hashed files, several workers; it can be killed in mid-request."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.db import connection, transaction

from config.hashed_files import HashedStaticFiles

WAIT_SECONDS = 30.0


def until(what: str, happened: Callable[[], bool]) -> None:
    """Raises TimeoutError when it does not happen."""
    deadline = time.monotonic() + WAIT_SECONDS
    pause = threading.Event()
    while not happened():
        if time.monotonic() > deadline:
            raise TimeoutError(what)
        pause.wait(0.02)


def database_url() -> str:
    """Of the tests' own database, for another process."""
    told = connection.settings_dict
    host = told["OPTIONS"].get("host") or told["HOST"]
    who = f"{quote(told['USER'])}:{quote(told['PASSWORD'])}"
    return f"postgresql://{who}@/{quote(told['NAME'])}?host={quote(host)}&port={told['PORT'] or 5432}"


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as probe:
        return probe.getsockname()[1]


@dataclass
class OwnServer:
    """``folder`` takes its uploads and static files."""

    folder: Path
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    def _environment(self) -> dict[str, str]:
        own = {
            "DATABASE_URL": database_url(),
            "HINGEWOOD_DATA_DIR": str(self.folder),
            "HINGEWOOD_HTTPS": "off",
            "HINGEWOOD_SECRET_KEY": settings.SECRET_KEY,
        }
        return {**os.environ, **own}

    def collect(self) -> None:
        command = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
        subprocess.run(command, cwd=settings.BASE_DIR, env=self._environment(), check=True)

    def url_of(self, name: str) -> str:
        """The address of a static file with the hash in its name."""
        return HashedStaticFiles(location=self.folder / "static", base_url="/static/").url(name)

    def start(self) -> None:
        command = [sys.executable, "-m", "gunicorn", "config.wsgi", "--bind", f"127.0.0.1:{self.port}"]
        quiet = ["--workers", "2", "--log-level", "critical"]
        self.process = subprocess.Popen(
            [*command, *quiet], cwd=settings.BASE_DIR, env=self._environment(), start_new_session=True
        )
        until("the server starts", self._answers)

    def _answers(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        """All its processes at once, whatever they are doing."""
        if self.process:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None


def _somebody_waits(table: str) -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted AND relation = %s::regclass", [table])
        return cursor.fetchone()[0] > 0


@contextmanager
def held_at(table: str) -> Iterator[None]:
    """Whoever writes a row of the table meanwhile waits, in mid-request, until the block ends."""
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {table} IN SHARE MODE")
        yield


def caught(table: str) -> None:
    until("a request writes its first row", lambda: _somebody_waits(table))
