"""How long to make a cable, and whether its turnbuckle has thread enough cold, hot and bedded in, at the tension wanted there."""

from __future__ import annotations

from typing import Final

import msgspec

from rigging.errors import Refusal
from rigging.hardware import turnbuckle
from rigging.jobs.cut_parts import Order, ThreadsOnDay, notes_of, window
from rigging.judge.limits import run_pieces
from rigging.measure.uncertainty import Combined, Component, combine, rectangular
from rigging.physics.cut import Assembly, cut_length_in, threads_showing
from rigging.physics.thermal import check_temperature, fixed_ends, hold_above_zero, shift
from rigging.source import acceptable
from rigging.told import degF, inches, told

SHORTEST_DIAMETERS: Final = 40.0  # two end fittings grip about 8 each, and as much and more is left free (practice)


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
    a cable without a stiffness in the tables, a thread that no table has, no room for a cable or for one long enough.
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
    shortest_in = SHORTEST_DIAMETERS * order.cable.diameter_in
    if length_in < shortest_in:
        raise Refusal(
            told(
                "a cable of {} is too short to make: its two end fittings leave next to nothing between them below {}; check pin to pin and turnbuckle, or join the pins by a link",
                inches(length_in, ".2f"),
                inches(shortest_in, ".3g"),
            )
        )
    days = tuple(_days(order, assembly, length_in))
    findings, start = window(order, days, pitch_in)
    return Cut(
        order=order,
        length_in=length_in,
        length=_uncertainty(order, to_reference_degF, order.tension_lbf),
        stretch_in=length_in * order.tension_lbf / assembly.stiffness_lbf,
        pitch_in=pitch_in,
        days=days,
        start_low=start[0] if start else None,
        start_high=start[1] if start else None,
        findings=findings,
        notes=tuple(notes_of(order, days)),
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
    order.cable.check_rigging_load(order.tension_lbf, "a tension")


def _days(order: Order, assembly: Assembly, length_in: float) -> list[ThreadsOnDay]:
    asked = [("coldest", order.coldest_degF), ("reference", order.reference_degF), ("hottest", order.hottest_degF)]
    # as check moves limits: the target follows what temperature does to a cable that is left as it was set
    response = fixed_ends(run_pieces(order.cable, [(order.pin_to_pin_in, order.airframe)]))
    days = []
    for day, temperature_degF in asked:
        if temperature_degF is None:
            continue
        away_degF = temperature_degF - order.reference_degF
        moved = shift(response, away_degF, away_degF, rectangular(order.half_width_degF))
        tension_lbf, slack = hold_above_zero(order.tension_lbf + moved.change_lbf)
        change_degF = temperature_degF - order.measured_degF
        new, most, least = (
            threads_showing(assembly, length_in, tension_lbf, change_degF, share)
            for share in (0.0, order.bedding_in.low_share, order.bedding_in.high_share)
        )
        days.append(
            ThreadsOnDay(
                day=day,
                temperature_degF=temperature_degF,
                tension_lbf=tension_lbf,
                tension_uncertainty_lbf=combine(
                    Component(why, u) for why, u in moved.contributions_lbf.items()
                ).expanded(),
                slack=slack,
                new=new,
                least=least,
                most=most,
                uncertainty=_uncertainty(order, change_degF, tension_lbf).expanded() / (2 * assembly.pitch_in),
            )
        )
    return days


def _uncertainty(order: Order, change_degF: float, tension_lbf: float) -> Combined:
    """What a length or a take-up [in] at a tension may be off by: first order, every error once (JCGM 100, 5.1.2)."""
    stiffness, cable, frame = order.cable.need_stiffness(), order.cable.expansion, order.airframe.expansion
    stretch_in = order.pin_to_pin_in * tension_lbf / stiffness.value
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
