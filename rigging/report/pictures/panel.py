"""What a picture shows, before anyone draws it: lines, bands, marks and shaded spans over two axes."""

from __future__ import annotations

import msgspec


class Axis(msgspec.Struct, frozen=True):
    """An axis with its unit in the label; the same in other units beside it: ``second = scale * value + offset``."""

    label: str
    second_label: str = ""
    scale: float = 1.0
    offset: float = 0.0


class Line(msgspec.Struct, frozen=True):
    """A line through points; its band reaches from ``low`` to ``high`` around it, empty where it has none."""

    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    low: tuple[float, ...] = ()
    high: tuple[float, ...] = ()


class Limit(msgspec.Struct, frozen=True):
    """An allowed band; None where it is left open. line: the place of the line it holds for, None where for all."""

    label: str
    x: tuple[float, ...]
    low: tuple[float | None, ...]
    high: tuple[float | None, ...]
    line: int | None = None

    def pieces(self) -> list[tuple[list[float], list[float], list[float]]]:
        """x, low and high of every stretch without a gap."""
        found: list[tuple[list[float], list[float], list[float]]] = []
        gap = True
        for x, low, high in zip(self.x, self.low, self.high, strict=True):
            if low is None or high is None:
                gap = True
                continue
            if gap:
                found.append(([], [], []))
                gap = False
            for values, value in zip(found[-1], (x, low, high), strict=True):
                values.append(value)
        return found


class Mark(msgspec.Struct, frozen=True):
    """An upright line with its words."""

    x: float
    label: str


class Shade(msgspec.Struct, frozen=True):
    """A span along x that is set apart, with its words."""

    start: float
    end: float
    label: str


class Dots(msgspec.Struct, frozen=True):
    """Single points, as measured."""

    label: str
    x: tuple[float, ...]
    y: tuple[float, ...]


class Panel(msgspec.Struct, frozen=True):
    """One diagram: y starts at zero."""

    title: str
    x: Axis
    y: Axis
    lines: tuple[Line, ...]
    limits: tuple[Limit, ...] = ()
    marks: tuple[Mark, ...] = ()
    shades: tuple[Shade, ...] = ()
    dots: tuple[Dots, ...] = ()

    @property
    def top(self) -> float:
        """The highest value drawn."""
        lines = [v for line in self.lines for v in (line.high or line.y)]
        limits = [v for limit in self.limits for v in limit.high if v is not None]
        dots = [v for some in self.dots for v in some.y]
        return max([*lines, *limits, *dots], default=1.0)
