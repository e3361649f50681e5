"""How long to make a cable, and whether its turnbuckle has thread enough on the coldest and hottest day and once it has bedded in."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.hardware.airframe import Airframe
from rigging.hardware.bedding_in import BeddingIn
from rigging.hardware.cable import Cable
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.cut import Assembly, cut_length_in, threads_showing
from rigging.physics.thermal import check_temperature
from rigging.source import acceptable
from rigging.told import degF, inches, lbf, told

MOST_THREADS_INSIDE: Final = 4.0  # beyond flush, at first assembly (AC 43.13-1B 7-166)
NEW_CABLE: Final = "new"
BEDDED_IN: Final = "bedded in"


class Order(msgspec.Struct, frozen=True):
    """What is to be made.

    pin_to_pin_in [in]: at neutral, measured to +-pin_to_pin_half_width_in at measured_degF +-half_width_degF.
    turnbuckle_in [in]: from its pin to the end of the cable, terminals flush with the barrel.
    threads_showing, most_inside [count]: at each end at first assembly; how far the terminals may go in.
    tension_lbf [lbf]: at rest, at reference_degF. coldest_degF, hottest_degF [degF]: None where not asked.
    """

    cable: Cable
    airframe: Airframe
    bedding_in: BeddingIn
    thread: str
    pin_to_pin_in: float
    pin_to_pin_half_width_in: float
    turnbuckle_in: float
    threads_showing: float
    tension_lbf: float
    measured_degF: float
    half_width_degF: float
    reference_degF: float
    coldest_degF: float | None = None
    hottest_degF: float | None = None
    most_inside: float = MOST_THREADS_INSIDE


class ThreadsOnDay(msgspec.Struct, frozen=True):
    """Threads showing at each end [count] when set to the same tension at one temperature.

    new: before bedding-in. least, most: bedded in by the most and by the least that is expected.
    uncertainty: U at 95 % [count].
    """

    day: str
    temperature_degF: float
    new: float
    least: float
    most: float
    uncertainty: float


class Cut(msgspec.Struct, frozen=True):
    """The cable to make, and the thread that is left.

    length_in [in]: finished and unloaded, at the measuring temperature. stretch_in [in]: elastic, by the
    tension at reference. bedding_in_low_in, bedding_in_high_in [in]: growth still to come.
    start_low, start_high [count]: threads to start with so that none runs out, None where no start does.
    findings: what runs out, in words; empty where nothing does.
    """

    order: Order
    length_in: float
    length: Combined
    stretch_in: float
    pitch_in: float
    days: tuple[ThreadsOnDay, ...]
    start_low: float | None
    start_high: float | None
    findings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def usable(self) -> bool:
        """Whether nothing in it rests on a figure that was only recalled."""
        order = self.order
        return acceptable(
            (
                order.cable.need_stiffness().source,
                order.cable.expansion.source,
                order.airframe.expansion.source,
                order.bedding_in.source,
                turnbuckle.pitch(order.thread).source,
            )
        )

    @property
    def finding(self) -> bool:
        """Whether a thread runs out or may, or the answer rests on a figure from memory."""
        return bool(self.findings) or not self.usable

    @property
    def uncertainty_in(self) -> float:
        """U of the length at 95 % [in]."""
        return self.length.expanded()

    @property
    def bedding_in_low_in(self) -> float:
        """The least growth expected [in]."""
        return self.order.bedding_in.low_share * self.length_in

    @property
    def bedding_in_high_in(self) -> float:
        """The most growth expected [in]."""
        return self.order.bedding_in.high_share * self.length_in

    def length_for_in(self, threads: float) -> float:
        """Finished length [in] that leaves this many threads showing at first assembly."""
        return self.length_in + 2 * self.pitch_in * (self.order.threads_showing - threads)


def cut(order: Order) -> Cut:
    """The finished length of a cable and its thread window.

    Raises Refusal: a temperature outside -65..160 F, coldest above hottest, a tension above the proof load,
    a cable without a stiffness in the tables, a thread that no table has, no room for a cable.
    """
    _check(order)
    pitch_in = turnbuckle.pitch(order.thread).value
    assembly = Assembly(
        order.pin_to_pin_in,
        order.turnbuckle_in,
        pitch_in,
        order.cable.need_stiffness().value,
        order.airframe.expansion.value,
        order.cable.expansion.value,
    )
    to_reference_degF = order.reference_degF - order.measured_degF
    length_in = cut_length_in(assembly, order.threads_showing, order.tension_lbf, to_reference_degF)
    days = tuple(_days(order, assembly, length_in))
    findings, start = _window(order, days, pitch_in)
    return Cut(
        order=order,
        length_in=length_in,
        length=_uncertainty(order, to_reference_degF),
        stretch_in=length_in * order.tension_lbf / assembly.stiffness_lbf,
        pitch_in=pitch_in,
        days=days,
        start_low=start[0] if start else None,
        start_high=start[1] if start else None,
        findings=findings,
        notes=tuple(_notes(order)),
    )


def _check(order: Order) -> None:
    check_temperature(order.measured_degF, "temperature while measuring")
    check_temperature(order.reference_degF, "reference temperature")
    if order.coldest_degF is not None:
        check_temperature(order.coldest_degF, "coldest temperature")
    if order.hottest_degF is not None:
        check_temperature(order.hottest_degF, "hottest temperature")
    if order.coldest_degF is not None and order.hottest_degF is not None and order.coldest_degF >= order.hottest_degF:
        raise Refusal(
            told(
                "coldest {} must lie below hottest {}: are they swapped?",
                degF(order.coldest_degF),
                degF(order.hottest_degF),
            )
        )
    proof = order.cable.proof_load
    if proof is not None and order.tension_lbf > proof.value:
        raise Refusal(
            told(
                "{} is above the proof load of this cable, {}: no rigging load",
                lbf(order.tension_lbf, ".0f"),
                lbf(proof.value, ".0f"),
            )
        )


def _days(order: Order, assembly: Assembly, length_in: float) -> list[ThreadsOnDay]:
    asked = [("coldest", order.coldest_degF), ("reference", order.reference_degF), ("hottest", order.hottest_degF)]
    days = []
    for day, temperature_degF in asked:
        if temperature_degF is None:
            continue
        change_degF = temperature_degF - order.measured_degF
        new, most, least = (
            threads_showing(assembly, length_in, order.tension_lbf, change_degF, share)
            for share in (0.0, order.bedding_in.low_share, order.bedding_in.high_share)
        )
        u_in = _uncertainty(order, change_degF).expanded()
        days.append(ThreadsOnDay(day, temperature_degF, new, least, most, u_in / (2 * assembly.pitch_in)))
    return days


def _uncertainty(order: Order, change_degF: float) -> Combined:
    """What a length or a take-up [in] may be off by: first order, every error once (JCGM 100, 5.1.2)."""
    stiffness, cable, frame = order.cable.need_stiffness(), order.cable.expansion, order.airframe.expansion
    stretch_in = order.pin_to_pin_in * order.tension_lbf / stiffness.value
    per_degF = order.pin_to_pin_in * abs(frame.value - cable.value)
    moved_in = order.pin_to_pin_in * abs(change_degF)
    return combine(
        (
            Component("pin to pin distance", rectangular(order.pin_to_pin_half_width_in)),
            Component("temperature reading", per_degF * rectangular(order.half_width_degF)),
            Component("cable stiffness", stretch_in * stiffness.standard_uncertainty / stiffness.value),
            Component("expansion of cable", moved_in * cable.standard_uncertainty),
            Component(f"expansion of {order.airframe.name}", moved_in * frame.standard_uncertainty),
        )
    )


def _window(
    order: Order, days: tuple[ThreadsOnDay, ...], pitch_in: float
) -> tuple[tuple[str, ...], tuple[float, float] | None]:
    """What runs out, in words, and the threads to start with so that nothing does."""
    most_showing = float(turnbuckle.MOST_THREADS_SHOWING)
    highest = max(days, key=lambda d: d.new + d.uncertainty)
    lowest = min(days, key=lambda d: d.least - d.uncertainty)
    low = order.threads_showing - order.most_inside - (lowest.least - lowest.uncertainty)
    high = order.threads_showing + most_showing - (highest.new + highest.uncertainty)
    start = (low, high) if low <= high else None
    if start is None:
        better = "no start fits both ends: proof-load the cable first, or take a longer turnbuckle"
    else:
        better = f"start with {start[0]:.1f} to {start[1]:.1f} threads showing"
    findings = []
    if highest.new > most_showing:
        short_in = 2 * pitch_in * (highest.new - most_showing)
        findings.append(
            told(
                "too short: {} threads would show on the {} day, at most {} may ({}): make it at least {} longer; {}",
                f"{highest.new:.1f}",
                highest.day,
                f"{most_showing:g}",
                turnbuckle.MOST_THREADS_SHOWING_SOURCE,
                inches(short_in, ".2f"),
                better,
            )
        )
    elif highest.new + highest.uncertainty > most_showing:
        findings.append(
            f"may be too short: {highest.new:.1f} +-{highest.uncertainty:.1f} threads show on the {highest.day} day, at most "
            f"{most_showing:g} may: measure pin to pin better; {better}"
        )
    if lowest.least < -order.most_inside:
        long_in = 2 * pitch_in * (-order.most_inside - lowest.least)
        findings.append(
            told(
                "too long: {} threads would be inside the barrel on the {} day once the cable has bedded in, at most {} may: the barrel runs out and nothing is left but to remake the cable; make it at least {} shorter; {}",
                f"{-lowest.least:.1f}",
                lowest.day,
                f"{order.most_inside:g}",
                inches(long_in, ".2f"),
                better,
            )
        )
    elif lowest.least - lowest.uncertainty < -order.most_inside:
        findings.append(
            f"may be too long: {lowest.least:.1f} +-{lowest.uncertainty:.1f} threads on the {lowest.day} day once the cable has "
            f"bedded in, no lower than {-order.most_inside:g}: measure pin to pin better; {better}"
        )
    return tuple(findings), start


def _notes(order: Order) -> list[str]:
    notes = []
    missing = [w for w, t in (("coldest", order.coldest_degF), ("hottest", order.hottest_degF)) if t is None]
    if missing:
        notes.append(
            f"no {' and no '.join(missing)} day was named (--coldest, --hottest): the window says nothing of it"
        )
    if order.bedding_in.history == "new":
        notes.append(
            "a cable that is proof-loaded after cutting grows by its bedding-in there: measure it again before the last end"
        )
    if order.airframe.caution:
        notes.append(order.airframe.caution)
    return notes
