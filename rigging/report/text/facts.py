"""One-shot answers on a terminal: cable, limits, pounds, dial, tables."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.text import Text

from rigging.hardware import turnbuckle
from rigging.hardware.cable import Cable
from rigging.judge.limits import Limits, expansion_words
from rigging.measure.card import Card, CardColumn
from rigging.measure.reading import Tension
from rigging.report.text.cable_rules import show_rules
from rigging.report.text.check import direction_words
from rigging.report.text.console import listing, table
from rigging.source import Figure
from rigging.tables import SOURCE_COLUMNS, Table, load
from rigging.told import lb_per_100ft, shown, told
from rigging.units import in_to_mm, show_force, show_temperature, show_tension


def show_cable(out: Console, cable: Cable, si: bool = False) -> None:
    """Facts of one cable, each with its status and source."""
    size = f"{in_to_mm(cable.diameter_in):.2f} mm" if si else f"{cable.size} in"
    out.print(Text(f"{size} {cable.construction} {cable.material}", style="bold"))
    rows = table("what", "figure", "status and source")

    def force(figure: Figure) -> str:
        return show_force(figure.value, si) if si else f"{figure.value:,.0f} lbf"

    for what, key, figure in (
        ("breaking strength", "breaking_strength_lbf", cable.breaking_strength),
        ("proof load", "proof_load_lbf", cable.proof_load),
        ("stiffness EA", "stiffness_lbf", cable.stiffness),
    ):
        if figure is None:
            rows.add_row(what, "none", cable.missing[key])
            continue
        spread = (
            f"\n+-{100 * figure.standard_uncertainty / figure.value:.1f} % (k=1)" if figure.standard_uncertainty else ""
        )
        rows.add_row(what, force(figure) + spread, _source(figure))
    rows.add_row("expansion", expansion_words(cable.expansion), _source(cable.expansion))
    if cable.weight is not None:
        rows.add_row("weight", shown(told("{}", lb_per_100ft(cable.weight.value)), si), _source(cable.weight))
    for row in turnbuckle.locking_wire(cable.size):
        minimum = " min" if row.values.get("wire_is_minimum") else ""
        wire = shown(told("{}, {}{}", row.values["wrap"], turnbuckle.wire_size(row.values["wire"]), minimum), si)
        also = f"; {turnbuckle.NOTE_1}" if row.values["note_1"] else ""
        rows.add_row("locking wire", wire, f"{row.values['material']}{also}; {row.source('wire')}")
    out.print(rows)
    show_rules(out, cable, si)


def _source(figure: Figure) -> str:
    return f"{figure.source}; {figure.source.note}" if figure.source.note else str(figure.source)


def show_limits(
    out: Console, limits: Limits, airframes: list[str], tension_lbf: float | None, si: bool = False
) -> None:
    """Limits today and at reference, the reason, the source."""
    band = f"{show_force(limits.low_lbf, si, unit=False)}..{show_force(limits.high_lbf, si)}"
    out.print(Text(f"{band} at {show_temperature(limits.temperature_degF, si)}", style="bold"))
    out.print(f"target {show_force(limits.target_lbf, si)}")
    reference = f"{show_force(limits.reference_low_lbf, si, unit=False)}..{show_force(limits.reference_high_lbf, si)}"
    out.print(f"at reference {show_temperature(limits.reference_degF, si)}: {reference}")
    if tension_lbf is not None:
        out.print(_brought(limits, tension_lbf, si))
    out.print(direction_words(limits, airframes, si))
    out.print(f"limits: {limits.source}" + (f"; {shown(limits.source.note, si)}" if limits.source.note else ""))
    if gaps := limits.sign_off_gaps:
        out.print(Text(f"not usable for sign-off: {'; '.join(shown(gap, si) for gap in gaps)}", style="bold yellow"))
    listing(out, "Rests on", limits.assumptions, si=si)
    listing(out, "Cautions", (*limits.cautions, "The aircraft's own data and local rules come first."), si=si)


def _brought(limits: Limits, tension_lbf: float, si: bool) -> str:
    """A reading at the reference temperature, in words."""
    read, there = show_force(tension_lbf, si), show_temperature(limits.reference_degF, si)
    brought = limits.at_reference_lbf(tension_lbf)
    if brought is None:
        return f"reading {read} today is slack, and by how much no reading tells: take it up until it reads, then read again"
    return f"reading {read} today is {show_tension(brought, si)} at {there}"


def show_pounds(out: Console, tension: Tension, si: bool = False) -> None:
    """Dial readings as one tension with its uncertainty and what makes it."""
    combined = tension.combined
    out.print(Text(f"{show_force(tension.tension_lbf, si)} +-{show_force(tension.uncertainty_lbf, si)}", style="bold"))
    dof = combined.degrees_of_freedom
    freedom = "" if dof > 1e6 else f", {dof:.0f} effective degrees of freedom"
    out.print(f"U at 95 %, k {combined.coverage_factor():.2f}{freedom}; spread {show_force(tension.spread_lbf, si)}")
    each = ", ".join(
        f"{d:g} = {show_force(t, si, unit=False)}" for d, t in zip(tension.dials, tension.readings_lbf, strict=True)
    )
    out.print(f"dial: {each}")
    card = tension.card
    out.print(f"card of tensiometer {card.serial}, {tension.column.label}, due {card.due}: {card.source}")
    listing(
        out,
        "Uncertainty (k=1)",
        [f"{show_force(c.standard_uncertainty, si)}  {c.why}" for c in combined.components],
        si=si,
    )
    listing(out, "Note", tension.notes, si=si)


def show_dial(
    out: Console, card: Card, column: CardColumn, aim: float | None, window: tuple[float, float] | None,
    tension_lbf: float | None, notes: list[str], si: bool = False,
) -> None:  # fmt: skip
    """What the dial must show."""
    if aim is not None and tension_lbf is not None:
        step = round(aim / card.division) * card.division
        out.print(Text(f"dial {step:g} for {show_force(tension_lbf, si)}", style="bold"))
        if abs(aim - step) > 0.05 * card.division:
            out.print(f"exactly {aim:.1f}; the dial is read to {card.division:g}")
    if window is not None:
        out.print(Text(f"dial window {window[0]:g} to {window[1]:g}", style="bold"))
    out.print(f"card of tensiometer {card.serial}, {column.label}, due {card.due}: {card.source}")
    listing(out, "Note", notes, si=si)


def show_table_list(out: Console, ids: list[str]) -> None:
    """All handbook tables with status and source."""
    rows = table("table", "what", "status and source", fixed=("table",))
    for name in ids:
        file = load(name).file
        rows.add_row(name, file.title, str(file.source))
    out.print(rows)


def show_table(out: Console, found: Table) -> None:
    """One handbook table."""
    file = found.file
    out.print(Text(file.title, style="bold"))
    out.print(f"{file.source}" + (f"; {file.source.note}" if file.source.note else ""))
    names = [
        name
        for name in file.columns
        if name not in SOURCE_COLUMNS and any(row.values[name] not in (None, "") for row in found.rows)
    ]
    units = {
        name: "" if file.columns[name].unit in ("text", "size", "1", "count") else f" {file.columns[name].unit}"
        for name in names
    }
    rows = table(*(f"{name.replace('_', ' ')}{units[name]}" for name in names))
    for row in found.rows:
        rows.add_row(*("-" if row.values[name] is None else str(row.values[name]) for name in names))
    out.print(rows)
    # beside the figures these words would leave no room for either
    listing(out, "Rows", _row_sources(found))
    listing(out, "Decisions", file.decisions)
    listing(out, "Cells of another status", [f"row {c.row}, {c.column}: {c.basis.value} {c.note}" for c in file.cells])
    out.print(f"read {file.read}; SHA-256 {found.sha256[:16]}")


def _row_sources(found: Table) -> Iterator[str]:
    if not any(name in found.file.columns for name in SOURCE_COLUMNS):
        return
    for row in found.rows:
        source = row.source(next(iter(found.file.columns)))
        words = "; ".join(part for part in (str(source), source.note) if part)
        yield f"{row.label}: {words}"
