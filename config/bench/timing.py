"""Timing one thing several times: the median is what counts, the extremes say how quiet the machine was."""

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Timed:
    """Seconds of several runs of one thing that did ``amount`` units of work each."""

    name: str
    seconds: tuple[float, ...]
    amount: int = 1

    @property
    def median_s(self) -> float:
        return statistics.median(self.seconds)

    @property
    def per_second(self) -> float:
        return self.amount / self.median_s

    def line(self) -> str:
        low, high = min(self.seconds) * 1000, max(self.seconds) * 1000
        rate = f"  {self.per_second:>12,.0f} a second" if self.amount > 1 else ""
        return f"{self.name:<58} {self.median_s * 1000:>10.2f} ms  ({low:.2f} to {high:.2f}){rate}"


def timed(name: str, run: Callable[[], object], *, runs: int, amount: int = 1) -> Timed:
    """``run`` once to warm up, then ``runs`` times."""
    run()
    seconds = []
    for _ in range(runs):
        start = time.perf_counter()
        run()
        seconds.append(time.perf_counter() - start)
    return Timed(name, tuple(seconds), amount)
