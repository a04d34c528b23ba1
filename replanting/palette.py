"""Which taxa may stand in a place, and how good a choice each would be there.

A taxon is out when it fits the place poorly, when it is a host of a watched pest, or when the palette flags it invasive.
The others get a score, the sum of stated parts, each with its points and the most that could be had:

* place: each known fact of `fit`, 8 points when it fits, 4 when it is fair;
* mix: the share of its species, genus and family with this tree planted, living and promised trees together, against the
  guide of 10, 20 and 30 % (Santamour 1990): all points at a share of nothing, none at the guide or above. In the city 10, 6
  and 4 points, in the park half as many. A share above the guide is shown and gains nothing; it shuts nothing out;
* pests: 10 points, 2 less for each pest or disease that the palette lists;
* cautions: 5 points without a flag in the palette;
* size wanted, when one is: 10 points, 5 for a class beside it;
* shade wanted, when it is: 10 points at a mature spread of 40 ft (12.2 m), less in proportion;
* stock on hand, when it is told: 3 points for a taxon of which a tree that nobody waits for stands in the yard. Less than the
  step from a good to a fair fit, so that what happens to be there does not outdo the place.

The weights are this program's own; they order what may be planted, and the planner chooses. The palette has no figures
for wildlife, so they do not count.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inventory.units import M_PER_FT
from replanting.diversity import Mix, Taxon
from replanting.fit import DEFAULT_RULES, Fact, Grade, Length, Rules, Site, Traits, fit, metres
from replanting.pests import named

FIT_POINTS = {Grade.GOOD: 8.0, Grade.FAIR: 4.0}
CITY_POINTS = {"species": 10.0, "genus": 6.0, "family": 4.0}
PARK_POINTS = {"species": 5.0, "genus": 3.0, "family": 2.0}
PEST_POINTS, A_PEST = 10.0, 2.0
NO_FLAG_POINTS = 5.0
SIZE_POINTS = (10.0, 5.0, 0.0)
SHADE_POINTS, SHADE_M = 10.0, 40 * M_PER_FT
STOCK_POINTS = 3.0
SIZES = ("small", "medium", "large")


@dataclass(frozen=True)
class Wishes:
    """What the planner would like; ``size`` is a size class, empty for any."""

    size: str = ""
    shade: bool = False


@dataclass(frozen=True)
class Request:
    """A place with what is asked of its tree, and the stands that the choice is weighed against.

    ``watched`` holds codes of pests; ``park`` is None when only the city's stand is known. ``stock``: trees in the
    yard that nobody waits for, by botanical name; None when it is not told, and then it is no part of the score.
    """

    site: Site
    city: Mix
    park: Mix | None = None
    watched: frozenset[str] = frozenset()
    wishes: Wishes = Wishes()
    rules: Rules = DEFAULT_RULES
    length: Length = metres
    stock: Mapping[str, int] | None = None


@dataclass(frozen=True)
class Part:
    """A part of the score: the points it gave, the most it could give, and why."""

    what: str
    points: float
    most: float
    words: str

    def __str__(self) -> str:
        return f"{self.what} {self.points:g} of {self.most:g}: {self.words}"


@dataclass(frozen=True)
class Verdict:
    """A taxon beside a place: ``against`` says why it is out and is empty when it may stand there."""

    taxon: Traits
    facts: tuple[Fact, ...]
    against: tuple[str, ...]
    parts: tuple[Part, ...]

    @property
    def score(self) -> float:
        return round(sum(part.points for part in self.parts), 1)

    @property
    def most(self) -> float:
        return sum(part.most for part in self.parts)


@dataclass(frozen=True)
class Suggestion:
    """Every taxon once: those that may stand there by score, the best first; the others by name."""

    accepted: tuple[Verdict, ...]
    excluded: tuple[Verdict, ...]


def suggest(request: Request, taxa: Iterable[Traits]) -> Suggestion:
    judged = sorted((judge(request, taxon) for taxon in taxa), key=lambda verdict: verdict.taxon.botanical)
    accepted = [verdict for verdict in judged if not verdict.against]
    accepted.sort(key=lambda verdict: -verdict.score)
    return Suggestion(tuple(accepted), tuple(verdict for verdict in judged if verdict.against))


def judge(request: Request, taxon: Traits) -> Verdict:
    facts = fit(request.site, taxon, request.rules, request.length)
    parts = (*_place(facts), *_mix(request, taxon), *_health(taxon), *_wished(request, taxon), *_stock(request, taxon))
    return Verdict(taxon, facts, tuple(_against(request, taxon, facts)), parts)


def _against(request: Request, taxon: Traits, facts: Iterable[Fact]) -> Iterable[str]:
    for fact in facts:
        if fact.grade is Grade.POOR:
            yield f"{fact.what}: {fact.words}"
    if hosted := [pest for pest in taxon.pests if pest in request.watched]:
        yield f"watched pest: a host of {named(hosted)}"
    if "invasive" in taxon.flag:
        yield taxon.flag


def _place(facts: Iterable[Fact]) -> Iterable[Part]:
    for fact in facts:
        if fact.grade is not Grade.UNKNOWN:
            yield Part(fact.what, FIT_POINTS.get(fact.grade, 0.0), FIT_POINTS[Grade.GOOD], fact.words)


def _mix(request: Request, taxon: Traits) -> Iterable[Part]:
    yield from _shares(request.city, taxon, CITY_POINTS, "city")
    if request.park:
        yield from _shares(request.park, taxon, PARK_POINTS, "park")


def _shares(stand: Mix, taxon: Traits, points: dict[str, float], where: str) -> Iterable[Part]:
    for share in stand.effect(Taxon(taxon.botanical, taxon.genus, taxon.family)):
        gain = max(0.0, 1 - share.after_pct / share.guide_pct)
        most = points[share.rank]
        words = f"{share.name} would be {share.after_pct:.1f} % of its trees; guide {share.guide_pct} %"
        yield Part(f"{share.rank} in the {where}", round(most * gain, 1), most, words)


def _health(taxon: Traits) -> Iterable[Part]:
    points = max(0.0, PEST_POINTS - A_PEST * len(taxon.pests))
    yield Part("pests", points, PEST_POINTS, named(taxon.pests) or "none listed")
    yield Part("cautions", 0.0 if taxon.flag else NO_FLAG_POINTS, NO_FLAG_POINTS, taxon.flag or "none listed")


def _wished(request: Request, taxon: Traits) -> Iterable[Part]:
    wanted = request.wishes.size
    if wanted and taxon.size_class:
        away = abs(SIZES.index(wanted) - SIZES.index(taxon.size_class))
        yield Part(
            "size wanted", SIZE_POINTS[away], SIZE_POINTS[0], f"{taxon.size_class} at maturity; wanted: {wanted}"
        )
    if request.wishes.shade and taxon.spread_max_m is not None:
        points = round(SHADE_POINTS * min(1.0, taxon.spread_max_m / SHADE_M), 1)
        words = f"spreads to {request.length(taxon.spread_max_m)} at maturity"
        yield Part("shade", points, SHADE_POINTS, words)


def _stock(request: Request, taxon: Traits) -> Iterable[Part]:
    if request.stock is not None:
        count = request.stock.get(taxon.botanical, 0)
        words = f"{count} in the yard that nobody waits for" if count else "none in the yard"
        yield Part("stock on hand", STOCK_POINTS if count else 0.0, STOCK_POINTS, words)
