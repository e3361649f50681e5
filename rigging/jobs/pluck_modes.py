"""The modes of a plucked span before a tension is made of them: whether they may be, how sure each is, and the weight."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import msgspec

from rigging.errors import Refusal, UsageError
from rigging.hardware.cable import Cable
from rigging.measure.uncertainty import rectangular
from rigging.physics.pluck import Mode, mass_lbf_s2_per_in2, sag_share, string_tension_lbf
from rigging.source import Basis, Figure, Source
from rigging.told import inches, lbf, told

SHORT_SPAN_IN: Final = 60.0  # below, bending and ends count as much as tension (practice)
SHORTEST_SPAN_IN: Final = 24.0
HIGHEST_MODE: Final = 40
MOST_SAG: Final = 0.08  # of the tension, lambda^2 about 1: beyond, the first order no longer holds
TABLE_WEIGHT_SHARE: Final = 0.06  # rectangular half-width, of a weight from the table (practice; diameter and grease)
OWN_WEIGHT_SHARE: Final = 0.02  # the same, of a weight the user found on a scale (practice)


def weight_of(cable: Cable, own_lb_per_100ft: float | None = None) -> Figure:
    """The cable's weight [lb per 100 ft] with its uncertainty: the user's own, else the table's. Raises Refusal."""
    if own_lb_per_100ft is not None:
        source = Source(Basis.MEASURED, "", "", "weight as typed")
        return Figure(own_lb_per_100ft, "lb/100ft", source, rectangular(OWN_WEIGHT_SHARE * own_lb_per_100ft))
    if cable.weight is None:
        raise Refusal(f"{cable.missing['weight_lb_per_100ft']}: weigh a piece and give --weight, like 2.9 lb/100ft")
    return msgspec.structs.replace(
        cable.weight, standard_uncertainty=rectangular(TABLE_WEIGHT_SHARE * cable.weight.value)
    )


def check_modes(modes: Sequence[Mode], span_in: float) -> None:
    """Raises UsageError or Refusal for modes and a span of which no tension can be made (see ``pluck``)."""
    if not modes:
        raise UsageError("give the frequency of at least one mode, like --mode 1=21.3Hz")
    numbers = [m.number for m in modes]
    if twice := next((n for n in numbers if numbers.count(n) > 1), None):
        raise UsageError(f"mode {twice} stands there twice: give each mode once")
    for m in modes:
        if not 1 <= m.number <= HIGHEST_MODE:
            raise UsageError(f"mode {m.number}: modes count from 1 (half a wave in the span) to {HIGHEST_MODE}")
        if not 0 < m.frequency_Hz < math.inf or not 0 < m.standard_uncertainty_Hz < math.inf:
            raise UsageError(f"mode {m.number}: its frequency and how far it may be off must be above zero")
    if not SHORTEST_SPAN_IN <= span_in < math.inf:
        raise Refusal(
            told(
                "a span of {} is too short to pluck (at least {}): its bending stiffness, unknown by a factor of hundreds, sounds instead of its tension",
                inches(span_in),
                inches(SHORTEST_SPAN_IN),
            )
        )
    if len(modes) == 1 and span_in < SHORT_SPAN_IN:
        raise Refusal(
            told(
                "one mode on a span of {} tells nothing of the cable's bending stiffness: below {} give two modes or more, or take a longer span",
                inches(span_in),
                inches(SHORT_SPAN_IN),
            )
        )


def with_sag(modes: Sequence[Mode], span_in: float, cable: Cable, weight: Figure) -> tuple[Mode, ...]:
    """The modes, each less sure by what sag may add to it: nothing sideways, its whole effect up and down.

    Even modes do not feel it, and of the odd ones the first most. Raises Refusal where every mode feels too much.
    """
    if cable.stiffness is None:
        return tuple(modes)
    mass = mass_lbf_s2_per_in2(weight.value)
    # the highest mode is least touched; what bending adds to it makes this a little too tight and sag a little too small
    tension_lbf = min(string_tension_lbf(m.number, m.frequency_Hz, span_in, mass) for m in modes)
    first = sag_share(tension_lbf, span_in, weight.value / 1200, cable.stiffness.value / span_in)
    shares = [first / m.number**4 if m.number % 2 else 0.0 for m in modes]
    if min(shares) > MOST_SAG:
        raise Refusal(
            told(
                "a span of {} at about {} sags too much for mode {}: give mode 2 or higher, or take a shorter span",
                inches(span_in),
                lbf(tension_lbf, ".0f"),
                modes[0].number,
            )
        )
    return tuple(
        # half of it on the frequency, which goes with the root of the tension
        m._replace(
            standard_uncertainty_Hz=math.hypot(m.standard_uncertainty_Hz, rectangular(share / 2) * m.frequency_Hz)
        )
        for m, share in zip(modes, shares, strict=True)
    )


def notes_on(modes: Sequence[Mode], span_in: float, weight: Figure) -> list[str]:
    """What the person must know of these modes and this weight."""
    found = []
    if span_in < SHORT_SPAN_IN:
        found.append(
            told(
                "span below {}: what the modes tell of bending stiffness is not believed there, so all of it is "
                "carried as uncertainty; take a longer span",
                inches(SHORT_SPAN_IN),
            )
        )
    if len(modes) == 1:
        found.append("one mode only: a second one tells the bending stiffness and whether the mode was the right one")
    if not weight.source.acceptable:
        found.append(
            f"weight of the cable is from {weight.source.basis.value}: figure shown, not for sign-off (--weight)"
        )
    return found
