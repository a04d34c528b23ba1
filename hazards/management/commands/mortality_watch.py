"""Where trees die more often than elsewhere: ``manage.py mortality_watch --days 365 --json``.

The JSON is one object:

* ``from``, ``to``: the first and the last day that are counted; ``trees`` at risk and ``deaths`` among them;
* ``left_out``: trees ``dead_since_unknown`` (nobody knows whether they died in these days) and of ``species_unknown``;
* ``rule``: what a comparison must reach to be flagged;
* ``parks`` and ``species``: how many ``comparisons`` were made, and those with a death as ``rows``, the most improbable
  first. A row: ``park`` (its code; null for the whole city), ``species``, ``young`` (planted within five years), ``trees``,
  ``deaths``, ``elsewhere_trees``, ``elsewhere_deaths``, ``expected`` deaths, ``ratio`` with ``ratio_low`` and ``ratio_high``
  (null where nothing died elsewhere), ``test``, ``p``, ``q``, ``flagged``, ``sentence``.
"""

import json
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Sequence
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from hazards.mortality import LEAST_DEATHS, Q_LINE, RATIO_LINE, Compared
from hazards.watch import DEFAULT_DAYS, MOST_DAYS, Watch, watch
from hazards.watch_words import COUNTED


def day_count(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= MOST_DAYS:
        raise ArgumentTypeError(f"“{text}” is not a number of days; write 1 to {MOST_DAYS}")
    return int(text)


def as_json(found: Watch) -> dict[str, Any]:
    return {
        "from": found.first_day.isoformat(),
        "to": found.end.isoformat(),
        "trees": found.trees,
        "deaths": found.deaths,
        "left_out": {"dead_since_unknown": found.undated, "species_unknown": found.unnamed},
        "rule": {"q_at_most": Q_LINE, "deaths_at_least": LEAST_DEATHS, "ratio_at_least": RATIO_LINE},
        "parks": _chapter(found, found.parks),
        "species": _chapter(found, found.species),
    }


def _chapter(found: Watch, compared: Sequence[Compared]) -> dict[str, Any]:
    return {
        "comparisons": len(compared),
        "rows": [_row(found, each) for each in compared if each.count.deaths],
    }


def _row(found: Watch, each: Compared) -> dict[str, Any]:
    count, rest = each.count, each.rest
    return {
        "park": count.park or None,
        "species": count.species,
        "young": count.young,
        "trees": count.trees,
        "deaths": count.deaths,
        "elsewhere_trees": rest.trees,
        "elsewhere_deaths": rest.deaths,
        "expected": each.expected,
        "ratio": each.ratio,
        "ratio_low": each.ratio_low,
        "ratio_high": each.ratio_high,
        "test": each.test.value,
        "p": each.p,
        "q": each.q,
        "flagged": each.flagged,
        "sentence": found.sentence_of(each),
    }


class Command(BaseCommand):
    help = "Compare the deaths of each species in each park with the rest of the city, and say where they stand out."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--days", metavar="N", type=day_count, default=DEFAULT_DAYS, help="look back N days (365)")
        parser.add_argument("--json", action="store_true", help="print one JSON object with every comparison")

    def handle(self, *args: Any, **options: Any) -> None:
        found = watch(end=timezone.localdate(), days=options["days"])
        if options["json"]:
            self.stdout.write(json.dumps(as_json(found), ensure_ascii=False, indent=1))
            return
        for line in (*_findings(found), "", *COUNTED):
            self.stdout.write(line)


def _findings(found: Watch) -> Sequence[str]:
    if said := [found.sentence_of(each) for each in found.flagged]:
        return said
    return (
        f"Nothing stands out: {found.deaths:,} of {found.trees:,} trees died in {found.days:,} days, "
        f"{len(found.parks):,} comparisons by park and {len(found.species):,} by species.",
    )
