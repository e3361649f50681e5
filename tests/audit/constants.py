"""Every number that the package's code itself holds: a figure of the trade with its status, or a matter of arithmetic.

Found by reading the code: numbers that a module, a field or a class is given. Each must stand in ``KNOWN`` with what it
is; a figure that carries its ``Source`` in the code speaks for itself.
"""

from __future__ import annotations

import ast
import importlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from rigging.source import Basis, Source

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("bands", "units", "source", "tables", "hardware", "measure", "physics", "judge", "sheet", "jobs")
TRIVIAL = {0, 1, -1}


class Constant(NamedTuple):
    """A number in the code: its module and name, the line as written, and its status where the code carries a source."""

    name: str
    text: str
    source: Source | None


def constants() -> list[Constant]:
    """Every number that a module or a field of the rooms above ``log`` is given."""
    found = []
    for room in ROOMS:
        place = ROOT / "rigging" / room
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]:
            found += list(_of_file(path))
    return found


def _of_file(path: Path) -> Iterator[Constant]:
    module = path.relative_to(ROOT / "rigging").with_suffix("").as_posix()
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    for holder, prefix in [(tree, ""), *((n, f"{n.name}.") for n in tree.body if isinstance(n, ast.ClassDef))]:
        for node in holder.body:  # type: ignore[attr-defined]
            if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                name, value = node.targets[0].id, node.value
            elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and node.value is not None:
                name, value = node.target.id, node.value
            else:
                continue
            if any(_is_number(n) for n in ast.walk(value)):
                line = " ".join((ast.get_source_segment(text, node) or "").split())
                yield Constant(f"{module}:{prefix}{name}", line[:100], None if prefix else _source(module, name))


def _is_number(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and type(node.value) in (int, float) and node.value not in TRIVIAL


def _source(module: str, name: str) -> Source | None:
    value: Any = getattr(importlib.import_module(f"rigging.{module.replace('/', '.')}"), name)
    held = next(iter(value.values()), None) if isinstance(value, dict) else value
    source = getattr(held, "source", None)
    return source if isinstance(source, Source) else None


ARITHMETIC = "arithmetic"  # steps, tolerances of rounding, limits of the program: no figure of the trade
EXACT = "exact"  # true by definition

KNOWN: dict[str, dict[str, str]] = {
    EXACT: {
        "units:NEWTON_PER_LBF": "international pound and standard gravity",
        "units:MM_PER_IN": "international inch",
        "units:ABSOLUTE_ZERO_DEGF": "absolute zero",
        "units:_TEMPERATURE_SCALES": "scales of temperature",
        "units:_FORCE": "units",
        "units:_MASS": "units",
        "units:_LENGTH": "units",
        "units:_ANGLE": "units",
        "units:_TIME": "units",
        "units:_EXPANSION": "units",
        "units:_RATE": "units",
        "units:_SHARE": "units",
        "units:_FREQUENCY": "units",
        "units:_WEIGHT": "units",
        "hardware/cable:PSI_PER_GPA": "units",
        "measure/weigh:STANDARD_GRAVITY": "standard gravity",
        "physics/pluck:GRAVITY_IN_PER_S2": "standard gravity",
        "physics/steady:_NORMAL_95": "the normal distribution",
        "jobs/side_pull:_NORMAL_95": "the normal distribution",
        "judge/travel:COVERAGE": "U at 95 % of a normal distribution",
        "jobs/judged:COVERAGE": "U of an instrument stated at k=2",
        "jobs/load_days:STIFFNESS_COVERAGE": "a range given at k=2",
        "jobs/pluck_sound:_GOLDEN": "the golden section",
    },
    Basis.PUBLISHED: {
        "hardware/cable:PROOF_SHARE": "MIL-DTL-781J 4.6.1, with its source in the code",
        "hardware/cable:PROOF_TIME_MIN": "AC 43.13-1B 7-146, end",
        "hardware/turnbuckle:MOST_THREADS_SHOWING": "AC 43.13-1B 7-166, 7-179",
        "sheet/cable_entry:TurnbuckleEntry.most_inside": "AC 43.13-1B 7-166",
        "jobs/cut_parts:MOST_THREADS_INSIDE": "AC 43.13-1B 7-166",
        "judge/typical_chart:ANCHOR_DEGF": "TM 1-1500-204-23-9, fig. 7-7",
    },
    Basis.SECOND_HAND: {
        "hardware/cable:PROOF_RULES": "CAAIP 2-12 8.1, with its source in the code",
        "jobs/clamp:USUAL_ACCURACY": "FAA handbook, 2 % of the reading",
        "physics/clamp:NEAREST_IN": "TO 1-1A-8, how far from fittings, pulleys and fairleads to read",
        "jobs/settling_expected:BIAS_WITHOUT_CARD": "FAA handbook, 2 % of the reading; taken where no card stands behind a tension",
    },
    Basis.COMPUTED: {
        "hardware/cable:STIFFNESS_RELATIVE_UNCERTAINTY": "from the ranges of E, f and the low-load modulus",
        "hardware/cable:STIFFNESS_RELATIVE_UNCERTAINTY_7X7": "half of what reaches from the rope maker's figure past that of EN 1993-1-11",
        "physics/bending:WIRES": "geometry of the constructions",
        "physics/settling:LATER_SHARE": "tests/study/settling.py",
        "physics/settling_state:ALARM_ODDS": "tests/study/settling.py",
        "physics/settling_slip:MARGIN": "tests/study/slips.py, a factor for the size of a slip that is found in 95 %",
        "physics/side_pull:STEEPEST": "where what slopes leave out stays far below the reading's",
        "physics/side_pull:_LEFT_OUT": "tests/independent/test_side_pull.py",
        "physics/clamp:STEEPEST_CLAMP": "where what slopes leave out stays far below what bending does",
        "jobs/pluck_modes:MOST_SAG": "lambda squared of about 1, where the first order ends",
    },
    Basis.PRACTICE: {
        "hardware/cable:LEAST_7X19_IN": "what usually hangs in light aircraft where the sheet names no construction",
        "bands:MOST_ANGLE_DEG": "no surface turns further",
        "hardware/turnbuckle:MOST_HALF_TURNS": "more than any turnbuckle has",
        "measure/agree:AGREES_FROM": "usual level of a test",
        "measure/reading:HAND_DOF": "what the usual scatter of a hand counts as",
        "measure/weigh:FEWEST_LOADS": "three loads around the tension that matters",
        "measure/weigh:LARGEST_SHARE": "weights known no better check nothing",
        "measure/peaks:MAINS_Hz": "hum of the mains",
        "physics/loads:ULTIMATE_FACTOR": "limit to ultimate load",
        "physics/settling_state:PLAUSIBLE": "a law less probable has no say",
        "physics/settling_state:STEP_LBF": "how large a step may well be",
        "physics/settling_state:LARGE_STEP_LBF": "how large one may be that is far larger; names what an alarm was, gives none",
        "physics/thermal:LOWEST_DEGF": "the range of the typical chart",
        "physics/thermal:HIGHEST_DEGF": "the range of the typical chart",
        "judge/temperatures:TEMPERATURE_HALF_WIDTH_DEGF": "a thermometer where nobody says",
        "judge/limits:NEARLY_NEUTRAL_PER_DEGF": "a difference no tensiometer shows",
        "judge/limits:NOTICEABLE_LBF": "from which it is told",
        "judge/limits:UNCHANGED_LBF": "from which it is shown",
        "judge/travel:PROTRACTOR_U_DEG": "a protractor where nobody says",
        "judge/travel:SPRING_SCALE_U_LBF": "a spring scale where nobody says",
        "judge/turn_order:CHANGE_COSTS": "what changing the turnbuckle is worth",
        "sheet/load:PATH_TOLERANCE": "a rounding, not a forgotten piece",
        "sheet/cable_entry:BeddingInEntry.slowest_h": "weeks of work",
        "sheet/circuit_entry:SectorEntry.neutral_tolerance_deg": "half a degree where the sheet gives none",
        "sheet/schema:SheetFile.thermometer_half_width_degF": "a thermometer where nobody says",
        "jobs/best_pull:HIGHEST_RISE": "a pull must not strain what it measures",
        "jobs/best_pull:SPANS_IN": "spans that are offered",
        "jobs/best_pull:PULLS": "three readings",
        "jobs/clamp:DEFLECTION_WITHIN_IN": "a rule's division",
        "jobs/clamp:ANVILS_WITHIN_IN": "a rule's division",
        "jobs/cut:SHORTEST_DIAMETERS": "two end fittings and something between them",
        "jobs/compare:SPRING_SHARE": "how far a spring's pull may be off",
        "jobs/judged_surfaces:NEUTRAL_TOLERANCE_DEG": "half a degree where the sheet gives none",
        "jobs/plan_start:CONTRADICTION": "what friction between stations may hide",
        "jobs/plan_start:UNWINDOWED": "half turns where the sheet gives no threads",
        "hardware/cable:STEEL_GPA": "a bar of steel: a measured stiffness above it is a slip of the pen",
        "hardware/cable:SOFTEST_SHARE": "a measured stiffness below it is a slip of the pen",
        "jobs/pluck_modes:SHORT_SPAN_IN": "where bending counts as much as tension",
        "jobs/pluck_modes:SHORTEST_SPAN_IN": "where bending counts for more",
        "jobs/pluck_modes:TABLE_WEIGHT_SHARE": "how far a table's weight may be off",
        "jobs/pluck_modes:OWN_WEIGHT_SHARE": "how far a weighed weight may be off",
        "jobs/pluck:ODD_FROM": "level of a test",
        "jobs/pluck_sound:USUAL_LBF": "tensions of control cables",
        "jobs/session_steps:CYCLES": "controls moved before reading",
        "jobs/session_readings:AWAY_IN": "how far from fittings a tension is read",
        "jobs/session_log:CONDITIONS_HOLD": "how long a temperature is taken to hold",
        "jobs/envelope_parts:DESIGNER": "tensions seen on light aircraft: told as a reason to ask, nothing is held to them",
        "jobs/settle:SURE": "95 %",
        "jobs/settling_story:HORIZON": "the next annual inspection",
        "jobs/settling_expected:CYCLES": "in which a cable beds in",
        "jobs/settling_expected:LEAST_SHARE": "what any cable may still bed in",
        "jobs/no_gauge:LOOSEST": "an uncertainty that decides nothing",
        "jobs/side_pull:ODD_FROM": "level of a test",
        "jobs/side_pull:Tools.scale_share": "a spring scale where nobody says",
        "jobs/side_pull:Tools.scale_step_lbf": "a spring scale where nobody says",
        "jobs/side_pull:Tools.ruler_in": "a rule's division",
        "jobs/side_pull:Tools.span_within_in": "a tape where nobody says",
    },
    # these make an uncertainty wider or a warning sooner; no figure that is accepted comes of one
    Basis.MEMORY: {
        "hardware/pulley:FAIRLEAD_LOW": "friction of a fairlead; explains no difference of readings by itself",
        "hardware/pulley:FAIRLEAD_HIGH": "friction of a fairlead; explains no difference of readings by itself",
        "measure/weigh:GRAVITY_SHARE": "gravity from equator to pole, into the uncertainty of hanging weights",
        "measure/weigh:BUOYANCY_SHARE": "densities of air and steel, into the uncertainty of hanging weights",
        "physics/bending:STEEL_PSI": "modulus of steel wire, upper end of a bending stiffness that is left open",
        "physics/steady:LARGEST_BIOT": "usual bound of the lumped model, for advice how long to wait",
    },
    ARITHMETIC: dict.fromkeys(
        (
            "units:LONGEST_TEXT", "measure/peaks:LONGEST_LOOK_S", "measure/peaks:STANDS_OUT", "measure/peaks:MOST_PEAKS",
            "measure/peaks:_PADDING", "measure/series:HIGHEST_SEARCHED", "measure/series:FEWEST_MODES",
            "measure/series:CLEAR_BY", "measure/series:MORE_CLEAR_BY", "measure/series:SAME_WITHIN",
            "measure/series:_STIFFENINGS", "measure/series:_MISSING", "measure/series:_NEAR",
            "measure/student_t:NORMAL_FROM_DOF", "measure/student_t:_LONGEST_SUM", "measure/timed:LAST_HOUR",
            "measure/wav:LARGEST_BYTES", "measure/wav:LONGEST_S", "measure/wav:LOWEST_RATE_Hz", "measure/wav:HIGHEST_RATE_Hz",
            "measure/wav:MOST_CHANNELS", "physics/bending:SLICES", "physics/circuit_newton:BALANCED",
            "physics/circuit_newton:BALANCED_LBF", "physics/circuit_newton:ROUNDED", "physics/circuit_newton:ROUNDING",
            "physics/circuit_newton:MOST_STEPS", "physics/circuit_lines:SINGULAR", "physics/circuit_search:MOST_KEPT",
            "physics/circuit_search:LARGEST", "physics/circuit_search:ROUNDS",
            "physics/pluck:_STEPS", "physics/settling_history:LARGEST", "physics/settling_slip:HALVINGS", "physics/settling_drops:DROPS", "physics/settling_drops:WINDOW", "physics/settling_drops:NEGLIGIBLE",
            "physics/settling_drops:EDGE", "physics/settling_line:WIDE_LBF", "physics/settling_forecast:BINS", "physics/settling_shapes:TIMES",
            "physics/settling_shapes:FINER", "physics/settling_shapes:MIXTURES", "physics/settling_shapes:REACH",
            "physics/bending:_STEP", "physics/clamp:_LONGEST", "physics/clamp:_PLACES", "physics/clamp:_SPAN_STEP",
            "physics/friction:_MOST", "physics/side_pull:_LOOSEST", "jobs/clamp:_HALVINGS", "jobs/clamp:_SHARE",
            "physics/side_pull:_STEPS", "physics/side_pull:_SLOPE_STEP", "physics/spans:HALVINGS", "judge/half_turns:NEARNESS",
            "judge/half_turns:INSIDE", "judge/turn_order:MOST_NODES", "judge/turn_order:DETOURS", "sheet/circuit:PUSHES",
            "sheet/circuit:FELT", "jobs/best_pull:_SLOPES", "jobs/drift:DECIDED", "jobs/envelope:STEP_DEGF",
            "jobs/envelope:BESIDE_DEGF", "jobs/envelope:SMALL_DEGF", "jobs/envelope:SLACK_LBF", "jobs/limit_line:AT_REFERENCE_DEGF",
            "jobs/load_days:HALVINGS",
            "jobs/load_parts:ALIKE_TO", "jobs/loads:STILL_ALIKE_LBF", "jobs/pluck_modes:HIGHEST_MODE", "jobs/pluck_bending:_SLICES",
            "jobs/pluck_bending:_NARROWINGS", "jobs/pluck_bending:_FAR", "jobs/pluck_sound:HIGHEST_HEARD_Hz", "jobs/pluck_sound:_MARGIN",
            "jobs/pluck_sound:_COARSE", "jobs/pluck_sound:_FINE", "jobs/pluck_sound:_ODD", "jobs/record:EVERY",
            "jobs/recorded_check:CLOSE", "jobs/rigged:SHOWN_LBF", "jobs/rigged:DRIFT_LBF_PER_DEGF", "jobs/settling_expected:JOINED",
            "jobs/settling_expected:LEAST_BIAS", "jobs/snapshot:_DEEP", "jobs/window:HALVINGS", "jobs/window:STRONGEST_LBF",
            "jobs/window:TIGHT_LBF", "jobs/window:SLACKEST_LBF",
            "tables:MOST_ROWS", "tables:MOST_CELLS", "measure/card:FINEST_DIVISION", "measure/wav:MOST_SAMPLES", "physics/pluck:_XI_STEP", "sheet/history:MOST_ROWS", "sheet/load:MOST_LINKS",
        ),
        "",
    ),
}  # fmt: skip


def status(constant: Constant) -> tuple[str, str] | None:
    """What a constant is and where it comes from; None for one that nobody has said."""
    if constant.source is not None:
        return constant.source.basis.value, str(constant.source)
    return next(((str(kind), names[constant.name]) for kind, names in KNOWN.items() if constant.name in names), None)
