"""The demo's pages on this machine alone: a web server, and beside it the worker for background imports."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from types import FrameType

from django.conf import settings

HOST = "127.0.0.1"
FIRST_PORT, LAST_PORT = 8000, 8099
START_SECONDS = 30.0


def free_port(first: int = FIRST_PORT, last: int = LAST_PORT) -> int:
    """The first port that nobody listens on; RuntimeError when there is none."""
    for port in range(first, last + 1):
        with socket.socket() as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((HOST, port))
            except OSError:
                continue
            return port
    raise RuntimeError(f"All ports from {first} to {last} of this machine are taken.")


def serve(say: Callable[[str], None]) -> int:
    """Serve until interrupted or until one of the two processes ends; the exit status."""
    port = free_port()
    web = [
        sys.executable,
        "-m",
        "gunicorn",
        "config.wsgi",
        "--bind",
        f"{HOST}:{port}",
        "--workers",
        "2",
        "--threads",
        "4",
    ]
    worker = [sys.executable, "manage.py", "db_worker"]
    # Plain HTTP is for this machine alone; a city's own service keeps HTTPS.
    environment = {**os.environ, "HINGEWOOD_HTTPS": "off"}
    processes = [
        subprocess.Popen(command, cwd=settings.BASE_DIR, env=environment)  # noqa: S603
        for command in ([*web, "--log-level", "warning"], worker)
    ]
    previous = signal.signal(signal.SIGTERM, _interrupt)
    try:
        wait_for(port, processes)
        say(f"Open http://{HOST}:{port}/ in a browser; Ctrl+C ends the demo.")
        return watch(processes)
    except KeyboardInterrupt:
        return 0
    finally:
        signal.signal(signal.SIGTERM, previous)
        end(processes)


def _interrupt(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def wait_for(port: int, processes: list[subprocess.Popen[bytes]]) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and all(process.poll() is None for process in processes):
        with socket.socket() as probe:
            if probe.connect_ex((HOST, port)) == 0:
                return
        time.sleep(0.1)
    raise RuntimeError("The web server did not start; what it says stands above.")


def watch(processes: list[subprocess.Popen[bytes]]) -> int:
    while True:
        for process in processes:
            if process.poll() is not None:
                return process.returncode or 1
        time.sleep(0.5)


def end(processes: list[subprocess.Popen[bytes]]) -> None:
    for process in processes:
        process.terminate()
    for process in processes:
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
