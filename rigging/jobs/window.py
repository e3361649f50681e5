"""Where the plans give no figure: which rigging tensions at reference never hang slack and never exceed a limit."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

import msgspec

from rigging.errors import Refusal
from rigging.hardware.pulley import pulley_rating
from rigging.jobs.drift import balanced_lbf, components, tensions_at
from rigging.measure.uncertainty import Combined, Component
from rigging.physics.thermal import check_temperature
from rigging.sheet.circuit import CircuitModel, circuit_model
from rigging.sheet.rig import Rig, Run
from rigging.told import force, temperature, told

if TYPE_CHECKING:
    from rigging.physics.circuit import Array

HALVINGS: Final = 50
STRONGEST_LBF: Final = 20_000.0  # beyond the proof load of every cable in the tables
TIGHT_LBF: Final = 1e-6
SLACKEST_LBF: Final = 1e-3  # where halving towards zero ends


class Ceiling(NamedTuple):
    """The most tension a cable may have [lbf], and whose limit that is."""

    limit_lbf: float
    whose: str


class Edge(msgspec.Struct, frozen=True):
    """One edge of the window: tensions at reference [lbf] by cable, U at 95 % [lbf], and what makes it.

    cables: which go slack or reach their limit first, temperature_degF [degF]: on which day. limit_lbf
    [lbf]: None at the low edge.
    """

    tensions_lbf: dict[str, float]
    uncertainty_lbf: float
    cables: tuple[str, ...]
    temperature_degF: float
    pilot: str
    pilot_force_lbf: float
    limit_lbf: float | None = None
    whose: str = ""

    @property
    def words(self) -> str:
        """``left goes slack at 110 F under 40.0 lbf at the hand``."""
        at = temperature(self.temperature_degF)
        does = "goes slack" if self.limit_lbf is None else told("reaches {} {}", self.whose, force(self.limit_lbf))
        load = told("under {} {}", force(self.pilot_force_lbf), self.pilot) if self.pilot_force_lbf else "at rest"
        return told("{} {} at {} {}", " or ".join(self.cables), does, at, load)


class Window(msgspec.Struct, frozen=True):
    """The window of one circuit. low: None where no tension keeps every cable tight; high: None where nothing is given
    that a tension must not exceed. without: what was not looked at."""

    low: Edge | None
    high: Edge | None
    without: tuple[str, ...]

    @property
    def exceeded(self) -> bool:
        """Whether a limit is passed however slack the cables are rigged: the high edge then lies at zero."""
        return self.high is not None and max(self.high.tensions_lbf.values()) < SLACKEST_LBF

    @property
    def empty(self) -> bool:
        """Whether no tension fits."""
        if self.low is None or self.exceeded:
            return True
        return self.high is not None and any(
            self.high.tensions_lbf[name] < low for name, low in self.low.tensions_lbf.items()
        )


def window(
    rig: Rig,
    model: CircuitModel,
    temperatures_degF: Sequence[float],
    pilot_force_lbf: float | None,
    limit_lbf: float | None,
) -> Window:
    """The window of rigging tension of a circuit over temperatures [degF].

    pilot_force_lbf [lbf]: at the hand where the sheet has a ``pilot:`` block, and then as a moment on its
    sector with the surfaces held where they rest; otherwise in the cable, T + F/2 and T - F/2. None: at rest.
    limit_lbf [lbf]: for every cable, beside those of its brackets and pulleys.
    Raises Refusal where no temperature is given or a figure is no number.
    """
    if not temperatures_degF:
        raise Refusal(f"{model.name}: no temperature is given to look at")
    for what, value in (("pilot force", pilot_force_lbf), ("limit", limit_lbf)):
        if value is not None and not math.isfinite(value):
            raise Refusal(f"{model.name}: {value} is no {what}")
    for temperature_degF in temperatures_degF:
        check_temperature(temperature_degF)
    unrated: list[str] = []
    ceilings = [_ceilings(run, limit_lbf, unrated) for run in model.runs]
    force_lbf = pilot_force_lbf or 0.0
    sums = _Sums(rig, model, temperatures_degF, force_lbf)
    without = (
        unrated
        if force_lbf
        else [*unrated, "a pilot force (--pilot-force): the low edge holds for controls at rest only"]
    )
    low = sums.edge(lambda least, most: bool((least > TIGHT_LBF).all()))
    limits = [min((c.limit_lbf for c in own), default=math.inf) for own in ceilings]
    high = None
    if all(math.isinf(x) for x in limits):
        without.append("a bracket limit, a pulley's part or --limit: nothing here bounds the tension from above")
    else:
        without += [f"what {run.name} may carry" for run, x in zip(model.runs, limits, strict=True) if math.isinf(x)]
        high = sums.edge(lambda least, most: not bool((most <= limits).all()))
    return Window(
        low=None if low is None else sums.low_edge(low),
        high=None if high is None else sums.high_edge(high, ceilings),
        without=tuple(without),
    )


def _ceilings(run: Run, limit_lbf: float | None, unrated: list[str]) -> list[Ceiling]:
    """What bounds the tension of a run; pulleys without a rating go to ``unrated``."""
    found = []
    if limit_lbf is not None:
        found.append(Ceiling(limit_lbf, "the limit"))
    if run.entry.bracket_limit_lbf is not None:
        found.append(Ceiling(run.entry.bracket_limit_lbf, "its bracket limit"))
    for pulley in run.entry.pulleys:
        if not pulley.part or not pulley.wrap_deg > 0:
            continue
        try:
            rating = pulley_rating(pulley.part)
        except Refusal as error:
            unrated.append(told("pulley {} of {} ({})", pulley.part, run.name, str(error)))
            continue
        # two strands pull on the pin, and their angle makes it 2 T sin(wrap/2)
        share = 2 * math.sin(math.radians(min(pulley.wrap_deg, 180.0)) / 2)
        found.append(Ceiling(rating.value / share, f"the tension its pulley {pulley.part} ({rating.source}) allows,"))
    return found


class _Sums:
    """Least and most tension of every cable for a rigging tension of the lead cable."""

    def __init__(self, rig: Rig, model: CircuitModel, temperatures_degF: Sequence[float], force_lbf: float) -> None:
        self.rig, self.model = rig, model
        self.temperatures_degF = tuple(temperatures_degF)
        self.change_degF = [t - rig.file.reference_degF for t in temperatures_degF]
        self.force_lbf = force_lbf
        self.names = [run.name for run in model.runs]
        self.loaded = self._loaded_model() if force_lbf else None
        self.place = "in the cable" if model.entry.pilot is None else "at the hand"

    def _loaded_model(self) -> CircuitModel | None:
        pilot = self.model.entry.pilot
        if pilot is None:
            return None
        held = dict.fromkeys([*pilot.surfaces, *(name for name in self.model.entry.hold if name != pilot.sector)])
        return circuit_model(self.rig, self.model.name, tuple(held))

    def rigged(self, lead_lbf: float) -> list[float]:
        """Tensions [lbf] of all cables with the first at ``lead_lbf``; all alike where that does not decide them."""
        found = balanced_lbf(self.model, {self.names[0]: lead_lbf})
        return [found.get(name, lead_lbf) for name in self.names]

    def extremes(self, lead_lbf: float) -> tuple[Array, Array]:
        """Least and most tension [lbf], each of shape (temperatures, cables)."""
        import numpy as np

        rigged = self.rigged(lead_lbf)
        n = self.model.cable_count
        rest = tensions_at(self.model, rigged, self.change_degF)[:, :n]
        pilot = self.model.entry.pilot
        if not self.force_lbf:
            return rest, rest
        if self.loaded is None or pilot is None:
            half = self.force_lbf / 2
            return rest - half, np.where(rest > half, rest + half, self.force_lbf)
        stretch = self.model.stretch_in(rigged) + np.multiply.outer(self.change_degF, self.model.stretch_in_per_degF)
        angle = self.model.circuit.solve(stretch).angle_rad
        moment = np.zeros((2, 1, len(self.model.circuit.sectors)))
        moment[:, 0, self.model.sector(pilot.sector)] = np.array([1.0, -1.0]) * self.force_lbf * pilot.lever_in
        tension = self.loaded.circuit.solve(stretch, moment, angle).tension_lbf[..., :n]
        return tension.min(axis=0), tension.max(axis=0)

    def edge(self, above: Callable[[Array, Array], bool]) -> float | None:
        """The lead tension [lbf] from which on ``above`` holds, by halving; None where it holds nowhere."""
        low, high = 0.0, STRONGEST_LBF
        if not above(*self.extremes(high)):
            return None
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if above(*self.extremes(middle)):
                high = middle
            else:
                low = middle
        return high

    def low_edge(self, lead_lbf: float) -> Edge:
        """The edge below which a cable goes slack."""
        least, _ = self.extremes(lead_lbf)
        return self._edge(lead_lbf, least)

    def high_edge(self, lead_lbf: float, ceilings: Sequence[Sequence[Ceiling]]) -> Edge:
        """The edge above which a cable exceeds what it may carry."""
        import numpy as np

        _, most = self.extremes(lead_lbf)
        none = Ceiling(math.inf, "")
        lowest = [min(own, key=lambda c: c.limit_lbf, default=none) for own in ceilings]
        margin = np.array([c.limit_lbf for c in lowest]) - most
        edge = self._edge(lead_lbf, margin)
        binding = lowest[self.names.index(edge.cables[0])]
        return msgspec.structs.replace(edge, limit_lbf=binding.limit_lbf, whose=binding.whose)

    def _edge(self, lead_lbf: float, margin: Array) -> Edge:
        """The edge where a margin, shape (temperatures, cables), is used up."""
        import numpy as np

        rigged = self.rigged(lead_lbf)
        row, column = divmod(int(np.argmin(margin)), margin.shape[1])
        parts = components(self.model, rigged, [self.change_degF[row]], self.rig.file.thermometer_half_width_degF)
        spread = Combined(tuple(Component(why, float(u[0, column])) for why, u in parts.items()))
        alike = [i for i in range(margin.shape[1]) if margin[row, i] <= margin[row, column] + 1e-4]
        at_reference = tensions_at(self.model, rigged, 0.0)
        return Edge(
            tensions_lbf={name: float(t) for name, t in zip(self.names, at_reference, strict=False)},
            uncertainty_lbf=spread.expanded(),
            cables=tuple(self.names[i] for i in alike),
            temperature_degF=self.temperatures_degF[row],
            pilot=self.place,
            pilot_force_lbf=self.force_lbf,
        )
