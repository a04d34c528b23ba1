"""The way from a browser to a server over loopback, which fails when the test says so."""

import socket
import struct
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

CHUNK = 65_536
# Closed without a farewell, as a line that breaks is.
ABRUPTLY = struct.pack("ii", 1, 0)


def break_off(end: socket.socket) -> None:
    try:
        end.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, ABRUPTLY)
        end.shutdown(socket.SHUT_RDWR)
    except OSError:
        pass
    end.close()


@dataclass
class BadLine:
    """Hands on what comes to ``port``, until the next request of a path is to be cut half-way or its answer lost."""

    server_port: int
    listener: socket.socket = field(default_factory=lambda: socket.create_server(("127.0.0.1", 0)))
    armed: dict[bytes, str] = field(default_factory=dict)
    fired: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.listener.getsockname()[1]}"

    def cut_half_way(self, path: str) -> None:
        self.armed[f"POST {path} ".encode()] = "cut"

    def lose_answer(self, path: str) -> None:
        self.armed[f"POST {path} ".encode()] = "answer lost"

    def close(self) -> None:
        self.listener.close()

    def _accept(self) -> None:
        while True:
            try:
                browser, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self._connect, args=(browser,), daemon=True).start()

    def _connect(self, browser: socket.socket) -> None:
        try:
            server = socket.create_connection(("127.0.0.1", self.server_port))
        except OSError:
            return break_off(browser)
        losing = threading.Event()
        threading.Thread(target=self._back, args=(server, browser, losing), daemon=True).start()
        return self._forth(browser, server, losing)

    def _fault(self, chunk: bytes) -> str | None:
        start = next((start for start in self.armed if chunk.startswith(start)), None)
        return self.armed.pop(start) if start else None

    def _forth(self, browser: socket.socket, server: socket.socket, losing: threading.Event) -> None:
        def hand_on(chunk: bytes) -> bytes:
            fault = self._fault(chunk)
            if fault == "answer lost":
                losing.set()
            if fault == "cut":
                self.fired.append("cut")
                return chunk[: len(chunk) // 2]
            return chunk

        self._pump(browser, server, hand_on)

    def _back(self, server: socket.socket, browser: socket.socket, losing: threading.Event) -> None:
        def hand_on(chunk: bytes) -> bytes:
            if losing.is_set():
                self.fired.append("answer lost")
                return b""
            return chunk

        self._pump(server, browser, hand_on)

    def _pump(self, source: socket.socket, sink: socket.socket, hand_on: Callable[[bytes], bytes]) -> None:
        """Until one side ends, or less is handed on than came: then both break off."""
        try:
            while chunk := source.recv(CHUNK):
                handed = hand_on(chunk)
                sink.sendall(handed)
                if len(handed) < len(chunk):
                    break_off(source)
                    break_off(sink)
                    return
            sink.shutdown(socket.SHUT_WR)
        except OSError:
            break_off(source)
            break_off(sink)
