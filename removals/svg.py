"""Drawings to scale as SVG: a list of plain shapes with CSS classes, and the text of the picture beside it.

Under a strict content security policy a drawing may carry no style attribute, so its look is in the site's stylesheet;
hatching is a pattern, told apart without colour. Positions in a drawing are metres, +y up; a `View` puts them on paper.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

Point = tuple[float, float]

TEXT_SIZE = 15
ARROW_LENGTH = 14.0
ARROW_HALF_WIDTH = 5.0


@dataclass(frozen=True, slots=True)
class Shape:
    """One element: its tag, its attributes in order, and the words inside it."""

    tag: str
    attributes: tuple[tuple[str, str], ...]
    words: str = ""

    def markup(self) -> str:
        attributes = "".join(f' {name}="{escape(value)}"' for name, value in self.attributes)
        return f"<{self.tag}{attributes}>{escape(self.words)}</{self.tag}>"


@dataclass(frozen=True, slots=True)
class Pattern:
    """Hatching by parallel lines, `turn_deg` from the vertical and `gap` apart."""

    name: str
    turn_deg: float
    gap: float

    def markup(self, key: str) -> str:
        gap, middle = f"{self.gap:g}", f"{self.gap / 2:g}"
        return (
            f'<pattern id="{escape(key)}-{self.name}" patternUnits="userSpaceOnUse" width="{gap}" height="{gap}"'
            f' patternTransform="rotate({self.turn_deg:g})">'
            f'<line class="hatch" x1="{middle}" y1="0" x2="{middle}" y2="{gap}"/></pattern>'
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """`key` makes the ids unique on a page; `units_per_m` is the scale of the paper; the description tells it all."""

    key: str
    title: str
    description: str
    width: float
    height: float
    units_per_m: float
    shapes: tuple[Shape, ...]
    patterns: tuple[Pattern, ...] = ()

    def markup(self) -> str:
        """The whole drawing as an `<svg>` element; every word in it is escaped."""
        key = escape(self.key)
        patterns = "".join(pattern.markup(self.key) for pattern in self.patterns)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" role="img" viewBox="0 0 {self.width:.2f} {self.height:.2f}"'
            f' data-units-per-m="{self.units_per_m:.6f}" aria-labelledby="{key}-title {key}-desc">'
            f'<title id="{key}-title">{escape(self.title)}</title><desc id="{key}-desc">{escape(self.description)}</desc>'
            f"<defs>{patterns}</defs>{''.join(shape.markup() for shape in self.shapes)}</svg>"
        )


@dataclass(frozen=True, slots=True)
class View:
    """Where the drawing's origin lies on the paper, and how many of the paper's units make a metre."""

    units_per_m: float
    left: float
    top: float

    def at(self, point: Point) -> Point:
        return self.left + point[0] * self.units_per_m, self.top - point[1] * self.units_per_m

    def line(self, css: str, start: Point, end: Point) -> Shape:
        (x1, y1), (x2, y2) = self.at(start), self.at(end)
        return Shape("line", (("class", css), *_numbers(x1=x1, y1=y1, x2=x2, y2=y2)))

    def polygon(self, css: str, corners: Iterable[Point]) -> Shape:
        return Shape("polygon", (("class", css), ("points", self._points(corners))))

    def polyline(self, css: str, corners: Iterable[Point]) -> Shape:
        return Shape("polyline", (("class", css), ("points", self._points(corners))))

    def hatched(self, key: str, pattern: Pattern, corners: Iterable[Point]) -> Shape:
        """The same polygon again, filled with a pattern over its class."""
        fill = f"url(#{key}-{pattern.name})"
        return Shape("polygon", (("class", "hatching"), ("fill", fill), ("points", self._points(corners))))

    def circle(self, css: str, centre: Point, radius_m: float) -> Shape:
        x, y = self.at(centre)
        return Shape("circle", (("class", css), *_numbers(cx=x, cy=y, r=radius_m * self.units_per_m)))

    def text(self, at: Point, words: str, *, anchor: str = "middle", css: str = "", shift: Point = (0.0, 0.0)) -> Shape:
        """Words at a point, moved by `shift` units of the paper."""
        x, y = self.at(at)
        place = _numbers(x=x + shift[0], y=y + shift[1])
        look = (("class", css),) if css else ()
        return Shape("text", (*look, *place, ("font-size", str(TEXT_SIZE)), ("text-anchor", anchor)), words)

    def arrow_head(self, css: str, tip: Point, start: Point) -> Shape:
        """A triangle at the tip of a line from `start`, the same size at any scale."""
        (x, y), (x0, y0) = self.at(tip), self.at(start)
        length = math.hypot(x - x0, y - y0) or 1.0
        u, v = (x - x0) / length, (y - y0) / length
        back_x, back_y = x - ARROW_LENGTH * u, y - ARROW_LENGTH * v
        half = ARROW_HALF_WIDTH
        corners = ((x, y), (back_x - half * v, back_y + half * u), (back_x + half * v, back_y - half * u))
        return Shape("polygon", (("class", css), ("points", _pairs(corners))))

    def dimension(
        self, start: Point, end: Point, words: str, *, shift: Point, anchor: str = "middle"
    ) -> Sequence[Shape]:
        """A dimension line with short strokes across its ends, and its words moved off it."""
        (x1, y1), (x2, y2) = self.at(start), self.at(end)
        length = math.hypot(x2 - x1, y2 - y1) or 1.0
        across_x, across_y = -(y2 - y1) / length * 5, (x2 - x1) / length * 5
        ends = (
            Shape(
                "line",
                (
                    ("class", "dimension"),
                    *_numbers(x1=x - across_x, y1=y - across_y, x2=x + across_x, y2=y + across_y),
                ),
            )
            for x, y in ((x1, y1), (x2, y2))
        )
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        return (self.line("dimension", start, end), *ends, self.text(middle, words, anchor=anchor, shift=shift))

    def _points(self, corners: Iterable[Point]) -> str:
        return _pairs(self.at(corner) for corner in corners)


def arc(centre: Point, radius_m: float, from_rad: float, to_rad: float, steps: int = 48) -> tuple[Point, ...]:
    """Points along an arc, angles counter-clockwise from +x; close enough to a circle for any paper."""
    angles = (from_rad + (to_rad - from_rad) * step / steps for step in range(steps + 1))
    return tuple((centre[0] + radius_m * math.cos(each), centre[1] + radius_m * math.sin(each)) for each in angles)


def _pairs(points: Iterable[Point]) -> str:
    return " ".join(f"{x:.3f},{y:.3f}" for x, y in points)


def _numbers(**values: float) -> tuple[tuple[str, str], ...]:
    return tuple((name, f"{value:.3f}") for name, value in values.items())
