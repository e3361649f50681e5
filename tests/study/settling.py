"""``python tests/study/settling.py``: how well a bedding-in cable is forecast, on simulated histories; prints Markdown tables.

The population. It is not the prior of the fit, and no figure in it was chosen by looking at what the fit makes of it.

- A cable 1/8 in 7x19 of 10 to 46 ft; EA off the table by 7.5 % (k=1), the structure aluminium, spruce, carbon or
  steel, each expansion off by up to 1e-6/C (wood, carbon) or 0.4e-6/C, the cable's by up to 0.5e-6/C.
- Three in four cables new (bedding-in strain over a year log-uniform, 0.01 to 0.1 %), one in four proof-loaded
  (0.001 to 0.01 %). Every time constant log-uniform from one hour to three weeks.
- Strain is not taken from a formula in time: small parts creep one step after the other. A viscous part closes a
  share of its gap (this gives the exponential law), a part held by friction gives way with a rate that falls
  exponentially with what it has given (the logarithmic law). One part: a pure law. A viscous part and a second of
  either kind, shares 20 to 80 %: mixed. A third of the histories each.
- Foreign shapes, reported apart: eight viscous parts of uneven size ("spectrum"); a stretched exponential of
  power 0.4 to 0.8 ("stretched"); two viscous parts driven by the tension that is left, so that
  every turn of a turnbuckle starts them anew ("driven").
- 3 to 12 readings over a span of one day to four weeks (log-uniform), the first at the start, the others
  log-uniform from one hour on. Each is the mean of three dial readings (scatter 1 lbf, rounded to 1 lbf) of one of one to
  three tensiometers, each wrong by up to 2 % of tension for good. Structure up to 40 F below the reference, two in three histories
  ("swing"), or within 5 F of it; each thermometer reading off by up to 2 F.
- The mechanic brings a reading to the reference with the table's slope. Below 70 % of the tension he set, he turns up
  by whole half turns of 1/32 in until the table says it is back.
- A history in which the cable hangs at less than 8 lbf when read is drawn again (a slack cable is no reading).

Truth: tension at the reference temperature one year after the first reading, nothing turned after the last.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from itertools import chain
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from rigging.physics.settling import Fit
from rigging.physics.settling_history import History, Prior
from rigging.physics.settling_state import anomaly, least_step_lbf, settled_probability

YEAR_H = 8760.0
SHORTEST_H, LONGEST_H = 1.0, 504.0
EA_LBF = 99_673.0  # as the recorded figures were made with: a metallic share of 0.56
HALF_TURN_IN = 1 / 32
CABLE_PER_DEGF = 11.7e-6 / 1.8
# expansion per degree C and the half-width of its error
STRUCTURES = {
    "aluminium": (22.9e-6, 0.4e-6),
    "steel": (11.7e-6, 0.4e-6),
    "spruce": (4.45e-6, 1e-6),
    "carbon": (2.5e-6, 1e-6),
}
CABLE_HALF_WIDTH = 0.5e-6
STRAIN = {"new": (1e-4, 1e-3), "proof-loaded": (1e-5, 1e-4)}
FAMILY = ("exponential", "logarithmic", "mixed")
FOREIGN = ("spectrum", "stretched", "driven")
READINGS = tuple(range(3, 13))
SLIPS_LBF = (4.0, 6.0, 8.0, 12.0)
SEED = 20261125
SETTLED_AT = 0.95  # probability from which the program says settled


class Simulated(NamedTuple):
    """A history, what the fit may know, and the truth [lbf] at the reference temperature."""

    history: History
    prior: Prior
    shape: str
    swing: bool
    final_lbf: float
    now_lbf: float
    stiffness_lbf_per_in: float
    slip_at: int | None
    slip_lbf: float


class Viscous:
    """Closes its gap at a rate in proportion to it."""

    def __init__(self, whole: float, hours: float) -> None:
        self.whole, self.hours, self.done = whole, hours, 0.0

    def advance(self, hours: float, drive: float) -> float:
        self.done += (self.whole * drive - self.done) * -math.expm1(-hours / self.hours)
        return self.done


class Frictional:
    """Gives way at a rate that falls by e with every ``scale`` it has given."""

    def __init__(self, whole: float, hours: float) -> None:
        self.scale, self.hours, self.done = whole / math.log1p(YEAR_H / hours), hours, 0.0

    def advance(self, hours: float, drive: float) -> float:
        rate = self.scale / self.hours * math.exp(-self.done / self.scale)
        self.done += self.scale * math.log1p(rate * hours / self.scale)
        return self.done


class Stretched:
    """Closes its gap at a rate that also falls with age."""

    def __init__(self, whole: float, hours: float, power: float) -> None:
        self.whole, self.hours, self.power, self.age = whole, hours, power, 0.0

    def advance(self, hours: float, drive: float) -> float:
        self.age += hours
        return self.whole * -math.expm1(-((self.age / self.hours) ** self.power))


Part = Viscous | Frictional | Stretched


def log_uniform(draw: np.random.Generator, low: float, high: float) -> float:
    return float(math.exp(draw.uniform(math.log(low), math.log(high))))


def parts(draw: np.random.Generator, shape: str, strain: float) -> list[Part]:
    """The parts of one cable that creep."""

    def hours() -> float:
        return log_uniform(draw, SHORTEST_H, LONGEST_H)

    if shape == "exponential":
        return [Viscous(strain, hours())]
    if shape == "logarithmic":
        return [Frictional(strain, hours())]
    if shape == "stretched":
        return [Stretched(strain, hours(), draw.uniform(0.4, 0.8))]
    if shape == "spectrum":
        return [Viscous(strain * float(share), hours()) for share in draw.dirichlet(np.ones(8))]
    share = draw.uniform(0.2, 0.8)
    second = Viscous if shape == "driven" or draw.random() < 0.5 else Frictional
    return [Viscous(strain * share, hours()), second(strain * (1 - share), hours())]


def simulate(
    draw: np.random.Generator,
    readings: int,
    shape: str | None = None,
    swing: bool | None = None,
    slip_lbf: float = 0.0,
    slip_at: int | None = None,
) -> Simulated:
    """One history; slip_lbf [lbf] is lost between two readings, before number ``slip_at`` or at random."""
    while True:
        made = attempt(draw, readings, shape, swing, slip_lbf, slip_at)
        if made is not None:
            return made


def attempt(
    draw: np.random.Generator,
    n: int,
    shape: str | None,
    swing: bool | None,
    slip_lbf: float,
    slip_at: int | None,
    reader: np.random.Generator | None = None,
) -> Simulated | None:
    """The same, None where the cable hangs slack. reader: draws what thermometer and dial show, else ``draw`` does."""
    reader = reader or draw
    shape = shape or str(draw.choice(FAMILY))
    swing = bool(draw.random() < 2 / 3) if swing is None else swing
    kind = "proof-loaded" if draw.random() < 0.25 else "new"
    strain = log_uniform(draw, *STRAIN[kind])
    length_in = draw.uniform(120, 552)
    ea_lbf = EA_LBF * draw.normal(1, 0.075)
    k, k_table = ea_lbf / length_in, EA_LBF / length_in
    grows, half = STRUCTURES[str(draw.choice(list(STRUCTURES)))]
    table_slope = EA_LBF * (grows / 1.8 - CABLE_PER_DEGF)
    error = draw.uniform(-half, half) - draw.uniform(-CABLE_HALF_WIDTH, CABLE_HALF_WIDTH)
    slope = ea_lbf * (grows / 1.8 - CABLE_PER_DEGF + error / 1.8)
    slope_u = math.hypot(0.075 * table_slope, EA_LBF / 1.8 * math.hypot(half, CABLE_HALF_WIDTH) / math.sqrt(3))

    span = log_uniform(draw, 24, 672)
    between = np.sort(np.exp(draw.uniform(0, math.log(span), n - 2)))
    hours = np.concatenate([[0.0], between, [span]])
    away = draw.uniform(-40, 0, n) if swing else draw.uniform(-5, 5, n)
    thermometer = away + reader.uniform(-2, 2, n)
    instrument = draw.integers(0, draw.integers(1, 4), n)
    wrong = draw.uniform(-0.02, 0.02, 3)
    slip_from = n if slip_lbf == 0 else (int(draw.integers(2, n)) if slip_at is None else slip_at)

    set_lbf = log_uniform(draw, 60, 150)
    creeping = parts(draw, shape, strain)
    takeup = np.zeros(n)
    read = np.zeros(n)
    lost = now = turned = 0.0
    for i in range(n):
        slipped = slip_lbf if i >= slip_from else 0.0
        if i:
            held = set_lbf + k * turned - slipped
            lost = _creep(creeping, hours[i] - hours[i - 1], lost, held, ea_lbf, set_lbf, shape)
        now = set_lbf + k * turned - ea_lbf * lost - slipped
        tension = now + slope * away[i]
        if tension < 8:
            return None
        takeup[i] = turned
        dial = tension * (1 + wrong[instrument[i]]) + reader.normal(0, 1, 3)
        read[i] = np.round(dial).mean()
        low = set_lbf - (read[i] - table_slope * thermometer[i])
        if low > 0.3 * set_lbf and i < n - 1:
            turned += math.ceil(low / (k_table * HALF_TURN_IN)) * HALF_TURN_IN
    u = math.sqrt((1 + 1 / 12) / 3 + (table_slope * 2 / math.sqrt(3)) ** 2)
    history = History(hours, read, np.full(n, u), thermometer, takeup, instrument)
    low_share, high_share = STRAIN[kind]
    prior = Prior(
        drop_low_lbf=EA_LBF * low_share,
        drop_high_lbf=EA_LBF * high_share,
        elapsed_low=SHORTEST_H,
        elapsed_high=LONGEST_H,
        horizon=YEAR_H,
        stiffness_lbf_per_in=k_table,
        stiffness_relative_uncertainty=0.075,
        slope_lbf_per_degF=table_slope,
        slope_uncertainty_lbf_per_degF=slope_u,
        bias_share=0.02 / math.sqrt(3),
    )
    slipped = slip_lbf if slip_from < n else 0.0
    held = set_lbf + k * float(takeup[-1]) - slipped
    final = held - ea_lbf * _creep(creeping, YEAR_H - span, lost, held, ea_lbf, set_lbf, shape)
    return Simulated(history, prior, shape, swing, final, now, k, slip_from if slip_from < n else None, slip_lbf)


def _creep(
    creeping: list[Part], hours: float, lost: float, held_lbf: float, ea_lbf: float, set_lbf: float, shape: str
) -> float:
    """Let every part creep; returns the strain [1]. The driven ones follow the tension that is left, in small steps."""
    if shape != "driven":
        return sum(part.advance(hours, 1.0) for part in creeping)
    steps = 20 if hours < 40 else int(min(hours / 2, 400))
    for _ in range(steps):
        drive = max(0.0, held_lbf - ea_lbf * lost) / set_lbf
        lost = sum(part.advance(hours / steps, drive) for part in creeping)
    return lost


class Scored(NamedTuple):
    """One history after the fit; tensions and errors in lbf."""

    readings: int
    shape: str
    swing: bool
    inside: bool
    width: float
    error: float  # of the forecast, its middle value
    error_last: float  # of the last reading as it was read
    error_corrected: float  # of the last reading brought to the reference temperature
    error_line: float  # of a straight line on log time
    settled: bool
    wrongly: bool  # called settled with more to come than can be seen
    truly: bool
    kind: str
    least: float  # the smallest slip that would have been found, where one was made


def score(made: Simulated) -> Scored:
    """Fit one history and hold it against the truth and the plain ways.

    The plain line is drawn through the readings, the turns taken off by the table's stiffness, against log10(1 + hours).
    What can be seen is twice the uncertainty of the difference of two readings.
    """
    h, p, truth = made.history, made.prior, made.final_lbf
    fit = Fit(h, p)
    forecast = fit.forecast(p.horizon)
    low, high = forecast.interval()
    level = h.tension_lbf + p.stiffness_lbf_per_in * (h.takeup_in[-1] - h.takeup_in)
    slope, offset = np.polyfit(np.log10(h.elapsed + 1), level, 1)
    last = float(h.tension_lbf[-1])
    visible = 2 * math.sqrt(2) * float(h.standard_uncertainty_lbf[-1])
    truly = made.now_lbf - truth < visible
    settled = settled_probability(fit, visible) >= SETTLED_AT
    return Scored(
        readings=len(h.elapsed),
        shape=made.shape,
        swing=made.swing,
        inside=low <= truth <= high,
        width=high - low,
        error=forecast.quantile(0.5) - truth,
        error_last=last - truth,
        error_corrected=last - p.slope_lbf_per_degF * float(h.away_degF[-1]) - truth,
        error_line=float(offset + slope * math.log10(p.horizon + 1)) - truth,
        settled=settled,
        wrongly=settled and not truly,
        truly=truly,
        kind=anomaly(fit).kind,
        least=math.inf if made.slip_at is None else least_step_lbf(fit, made.slip_at) or math.inf,
    )


class Group(NamedTuple):
    """Histories of one kind; the same group with the same seed is always the same."""

    readings: int
    histories: int
    shape: str | None = None
    slip_lbf: float = 0.0
    seed: int = SEED


def scored(group: Group) -> list[Scored]:
    """Draw a group and fit it."""
    kind = 0 if group.shape is None else 1 + (*FAMILY, *FOREIGN).index(group.shape)
    draw = np.random.default_rng([group.seed, group.readings, kind, round(10 * group.slip_lbf)])
    return [score(simulate(draw, group.readings, group.shape, slip_lbf=group.slip_lbf)) for _ in range(group.histories)]


def share(values: Iterable[bool]) -> str:
    """Percent, or a dash where there is nothing to count."""
    found = list(values)
    return f"{100 * sum(found) / len(found):.1f}" if found else "-"


def middle(values: Iterable[float]) -> float:
    """Median of the sizes."""
    return float(np.median(np.abs(list(values))))


def rms(values: Iterable[float]) -> float:
    """Root of the mean square."""
    return math.sqrt(float(np.mean(np.square(list(values)))))


def table(head: list[str], rows: list[list[str]]) -> None:
    """One Markdown table."""
    for row in (head, ["---"] * len(head), *rows):
        print("| " + " | ".join(row) + " |")
    print(flush=True)


def family_row(name: str, rows: list[Scored]) -> list[str]:
    swinging = [one for one in rows if one.swing]
    error = middle(one.error for one in swinging)
    last, line = (middle(getattr(one, f"error_{way}") for one in swinging) for way in ("last", "line"))
    square = rms(one.error for one in swinging)
    calls = [one for one in rows if one.settled]
    return [
        name,
        share(one.inside for one in rows),
        f"{middle(one.width for one in rows):.1f}",
        f"{sum(one.wrongly for one in calls)} of {len(calls)}",
        share(one.kind != "none" for one in rows),
        f"{error:.1f}",
        f"{last:.1f} ({last / error:.1f} x)",
        f"{line:.1f} ({line / error:.1f} x)",
        f"{middle(one.error_corrected for one in swinging):.1f}",
        f"{square:.1f}",
        f"{rms(one.error_last for one in swinging) / square:.1f} x",
        f"{rms(one.error_line for one in swinging) / square:.1f} x",
    ]


HEAD = [
    "readings", "95 % interval holds [%]", "its width [lbf]", "settled wrongly", "false alarms [%]", "error [lbf]",
    "last reading", "straight line", "last, at reference", "rms error", "last, rms", "line, rms",
]  # fmt: skip


def main() -> None:
    """Print the tables."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--histories", type=int, default=500, help="in each group")
    ask.add_argument("--seed", type=int, default=SEED)
    ask.add_argument("--processes", type=int, default=2)
    count, seed, processes = (getattr(ask.parse_args(), name) for name in ("histories", "seed", "processes"))
    start = time.perf_counter()
    with ProcessPoolExecutor(processes) as pool:

        def run(**how: Any) -> list[list[Scored]]:
            return list(pool.map(scored, [Group(n, count, seed=seed, **how) for n in READINGS]))

        def together(groups: list[list[Scored]]) -> list[Scored]:
            return list(chain.from_iterable(groups))

        own = run()
        whole = together(own)
        print("Both laws and their mixtures; errors are medians of the histories with temperature swings.\n")
        table(HEAD, [*(family_row(str(n), g) for n, g in zip(READINGS, own, strict=True)), family_row("all", whole)])
        print("By law and for foreign shapes, all readings together.\n")
        by_law = [family_row(law, [one for one in whole if one.shape == law]) for law in FAMILY]
        foreign = [family_row(shape, together(run(shape=shape))) for shape in FOREIGN]
        table(["shape", *HEAD[1:]], [*by_law, *foreign])
        print("Slips caught [%], and of those that this history lets one tell (least_step_lbf is below the slip).\n")
        rows = []
        for lbf in SLIPS_LBF:
            groups = run(slip_lbf=lbf)
            told = [one for one in together(groups) if one.least <= lbf]
            caught = [share(one.kind == "drop" for one in group) for group in (together(groups), *groups, told)]
            rows.append([f"{lbf:g} lbf", *caught[:-1], share(one.least <= lbf for one in together(groups)), caught[-1]])
        table(["slip", "all", *map(str, READINGS), "can be told", "of these caught"], rows)
    print(f"{time.perf_counter() - start:.0f} s", file=sys.stderr)


if __name__ == "__main__":
    main()
