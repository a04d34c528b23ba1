"""Several acts at the same moment."""

import threading
from collections.abc import Callable

from django.db import connection


def at_once(*acts: Callable[[], object]) -> list[BaseException]:
    """Run each in a thread of its own with a connection of its own, all let go together; what they raised."""
    start = threading.Barrier(len(acts))
    raised: list[BaseException] = []

    def run(act: Callable[[], object]) -> None:
        start.wait(timeout=10)
        try:
            act()
        except Exception as error:
            raised.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=30)
    return raised
