"""Whatever is handed to a public function of physics, no NaN comes out of it quietly.

Every public function and method stands below with a call that is right. Each number of that call, also inside sequences,
tuples and arrays, is made NaN, infinite and infinite below zero in turn, and each sequence empty: what comes is a Refusal
in one line, or an answer without a NaN in it. A new function must be added to ``CALLS``.
"""

import functools
import importlib
import inspect
import math
import pkgutil
import re
import warnings

import numpy as np
import pytest

import rigging.physics
from rigging.errors import Refusal
from rigging.physics import bounds, clamp, cut, friction, loads, pluck, side_pull, spans, steady, thermal
from rigging.physics.bending import BendingRange, bending_range, longer_way
from rigging.physics.circuit import Circuit, Joint, Link, named
from rigging.physics.settling import Fit, fit_many
from rigging.physics.settling_forecast import Forecast
from rigging.physics.settling_history import History, Prior, check
from rigging.physics.settling_shapes import law_share, log_centre, log_grid, log_normal, shapes
from rigging.physics.settling_state import anomaly, laws, least_step_lbf, next_check, set_now, settled_probability

pytestmark = pytest.mark.slow

# others' modules: what they are entered by stands below; their inner parts are handed what the entries have let in
OTHERS = ("circuit", "settling")
# names values by their links and works nothing out: what goes in comes out
PASSES_ON = {"named"}

RANGE = BendingRange(0.9, 348.0)
ASSEMBLY = cut.Assembly(171.0, 8.0, 1 / 28, 104123.0, 2.5e-6, 6.5e-6)
BENDS = [friction.Bend(0.2, 90.0), friction.Bend(0.1, 3.0)]
MODES = [pluck.Mode(1, 16.5, 0.1), pluck.Mode(2, 33.2, 0.1), pluck.Mode(3, 50.3, 0.1)]
MASS = 6.26e-6
PIECE = thermal.Piece(168.0, 104123.0, 2.5e-6, 6.5e-6, "spruce", "carbon", 0.075, 5e-7, 3e-7)
RESPONSE = thermal.Response(1.0, -1.4, (("cable stiffness", 0.1, -0.1),), (("spruce", 0.2),), (("carbon", -0.1),))
LINKS = [
    Link("left", 500.0, Joint("stick", 1, 2.0), Joint("aileron", -1, 2.0)),
    Link("right", 500.0, Joint("stick", -1, 2.0), Joint("aileron", 1, 2.0)),
]
LOOP = Circuit(["stick", "aileron"], LINKS, ["stick"])
HISTORY = History(
    np.array([0.0, 20.0, 90.0, 300.0]),
    np.array([60.0, 52.0, 45.0, 41.0]),
    np.array([1.0, 1.0, 1.0, 1.0]),
    np.array([0.0, 5.0, -5.0, 0.0]),
    np.array([0.0, 0.0, 0.0, 0.0]),
    np.array([0, 0, 0, 0]),
)
PRIOR = Prior(10.0, 100.0, 1.0, 504.0, 8766.0, 300.0, 0.075, 0.62, 0.05, 0.0115)
FORECAST = Forecast(np.array([0.4, 0.6]), np.array([30.0, 35.0]), 2.0)


@functools.cache
def fit():
    return Fit(HISTORY, PRIOR)


def of_fit(what):
    """A function of a fit, which is itself held to this as ``Fit``."""
    return lambda *args: what(fit(), *args)


CALLS = {
    "finite": (bounds.finite, ["a tension", 3.0]),
    "all_finite": (bounds.all_finite, ["a tension", [3.0, 4.0]]),
    "above_zero": (bounds.above_zero, ["a tension", 3.0]),
    "not_below_zero": (bounds.not_below_zero, ["a tension", 3.0]),
    "BendingRange.slices": (BendingRange.slices, [RANGE, 3]),
    "bending_range": (bending_range, [0.125, "7x19"]),
    "longer_way": (lambda tension: longer_way(lambda t: t / (t + 10.0), tension), [35.0]),
    "gauge_share": (clamp.gauge_share, [20.0, 3.0, 30.0, 348.0, "pinned"]),
    "gauge_way_in": (clamp.gauge_way_in, [0.06, 3.0, 20.0, 30.0, 348.0, "clamped"]),
    "gauge_rise": (clamp.gauge_rise, [0.06, 3.0, 500.0, 40.0, RANGE, 30.0]),
    "clamped": (clamp.clamped, [0.06, 3.0, 500.0, 40.0, RANGE, 30.0, 0.01, 0.04, 40.0]),
    "cut_length_in": (cut.cut_length_in, [ASSEMBLY, 3.0, 35.0, 10.0]),
    "threads_showing": (cut.threads_showing, [ASSEMBLY, 162.7, 35.0, 10.0, 1e-3]),
    "bend_ratio": (friction.bend_ratio, [0.2, 1.0]),
    "tension_ratio": (friction.tension_ratio, [BENDS]),
    "spread_lbf": (friction.spread_lbf, [40.0, BENDS]),
    "circuit_friction": (friction.circuit_friction, [5.0, 2.0, "other side"]),
    "circuit_friction_lbf": (friction.circuit_friction_lbf, [5.0, 2.0]),
    "loop_under_force": (loads.loop_under_force, [35.0, 30.0]),
    "slack_force_lbf": (loads.slack_force_lbf, [35.0]),
    "strength_margin": (loads.strength_margin, [2000.0, 1000.0, 1.5]),
    "pulley_load_lbf": (loads.pulley_load_lbf, [100.0, 90.0]),
    "mass_lbf_s2_per_in2": (pluck.mass_lbf_s2_per_in2, [2.9]),
    "stiff_factor": (pluck.stiff_factor, [2, 40.0, "clamped"]),
    "tension_share": (pluck.tension_share, [2, 40.0, "one clamped"]),
    "mode_frequency_Hz": (pluck.mode_frequency_Hz, [2, 35.0, 72.0, MASS, 100.0, "pinned"]),
    "string_tension_lbf": (pluck.string_tension_lbf, [2, 33.2, 72.0, MASS]),
    "pinned_line": (pluck.pinned_line, [MODES, 72.0, MASS]),
    "fitted_tension": (pluck.fitted_tension, [MODES, 72.0, MASS, 100.0, "clamped"]),
    "sag_share": (pluck.sag_share, [35.0, 72.0, 2.9 / 1200, 1384.0]),
    "string_share": (side_pull.string_share, [35.0, 60.0, 30.0, 348.0, "clamped"]),
    "path_growth_in": (side_pull.path_growth_in, [60.0, 30.0, 0.6]),
    "pulled_way_in": (side_pull.pulled_way_in, [0.6, 60.0, 30.0, 35.0, 348.0, "clamped"]),
    "check_pull": (side_pull.check_pull, [1.4, 0.6, 60.0, 30.0]),
    "left_out_share": (side_pull.left_out_share, [0.6, 60.0, 30.0, 0.9]),
    "pulled_tension_lbf": (side_pull.pulled_tension_lbf, [1.4, 0.6, 60.0, 30.0, 348.0, "pinned"]),
    "pull_force_lbf": (side_pull.pull_force_lbf, [35.0, 0.6, 60.0, 30.0, 500.0, 348.0, "clamped"]),
    "below_zero": (spans.below_zero, [[0.0, 10.0, 20.0], [-5.0, 5.0, -1.0]]),
    "last_alike": (lambda near, far: spans.last_alike(near, far, lambda t: t < 33.0), [20.0, 60.0]),
    "time_constant_s": (steady.time_constant_s, [0.02 / 6, 7800.0, 500.0, 1000.0, 50.0]),
    "difference_left_degF": (steady.difference_left_degF, [16.0, 0.2, 0.2]),
    "wait_h": (steady.wait_h, [16.0, 2.0, 0.2]),
    "fit_time_constant": (steady.fit_time_constant, [[0.0, 0.5, 1.0], [16.0, 8.0, 4.5], 1.0]),
    "check_temperature": (thermal.check_temperature, [70.0]),
    "compliance_in_per_lbf": (thermal.compliance_in_per_lbf, [[PIECE, PIECE], 1e-4]),
    "slope_lbf_per_degF": (thermal.slope_lbf_per_degF, [[PIECE, PIECE], 1e-4]),
    "tension_change_lbf": (thermal.tension_change_lbf, [[PIECE, PIECE], [5.0, 6.0], 3.0, 1e-4]),
    "responses": (thermal.responses, [[[PIECE], [PIECE, PIECE]], [[500.0, -80.0], [-80.0, 300.0]]]),
    "fixed_ends": (thermal.fixed_ends, [[PIECE], 1e-4]),
    "shift": (thermal.shift, [RESPONSE, 10.0, 8.0, 1.0, 2.0, True]),
    "hold_above_zero": (thermal.hold_above_zero, [3.0]),
    "Circuit": (Circuit, [["stick", "aileron"], LINKS, ["stick"]]),
    "Circuit.solve": (LOOP.solve, [np.array([0.05, 0.07]), np.array([0.0, 10.0]), np.array([0.1, 0.0])]),
    "Circuit.pretension": (LOOP.pretension, []),
    "Circuit.takeup_effect": (LOOP.takeup_effect, []),
    "named": (named, [LOOP, np.array([35.0, 35.0])]),
    "check": (check, [HISTORY, PRIOR]),
    "Fit": (lambda *known: Fit(*known).law_probability(), [HISTORY, PRIOR]),
    "fit_many": (lambda *known: [one.law_probability() for one in fit_many(*known)], [[HISTORY], [PRIOR]]),
    "Fit.law_probability": (of_fit(Fit.law_probability), []),
    "Fit.forecast": (of_fit(Fit.forecast), [500.0, 0.01]),
    "Fit.drop_between": (of_fit(Fit.drop_between), [300.0, 500.0]),
    "Fit.step_evidence": (of_fit(Fit.step_evidence), [10.0]),
    "Forecast.below": (FORECAST.below, [33.0]),
    "Forecast.quantile": (FORECAST.quantile, [0.5]),
    "Forecast.interval": (FORECAST.interval, [0.95]),
    "settled_probability": (of_fit(settled_probability), [2.0]),
    "laws": (of_fit(laws), [2.0]),
    "next_check": (of_fit(next_check), [2.0]),
    "set_now": (of_fit(set_now), [35.0, 60.0, 1.0]),
    "anomaly": (of_fit(anomaly), []),
    "least_step_lbf": (of_fit(least_step_lbf), [2]),
    "law_share": (law_share, ["exponential", np.array([1.0, 2.0]), np.array([10.0]), 100.0]),
    "shapes": (shapes, [1.0, 504.0, 8766.0]),
    "log_grid": (log_grid, [1.0, 504.0, 5]),
    "log_centre": (log_centre, [1.0, 504.0]),
    "log_normal": (log_normal, [np.array([2.0, 20.0]), 1.0, 504.0]),
}


# figures that may be infinite, or that a call does not ask for: the call, and where in it
MAY_BE_INFINITE = (
    r"(gauge_share \[2\]|gauge_way_in \[3\]|stiff_factor \[1\]|tension_share \[1\]|time_constant_s \[4\])inf",
    r"compliance_in_per_lbf \[0\]\[.\]\[[23678]\]-?inf",
    r"(slope_lbf_per_degF|tension_change_lbf) \[0\]\[.\]\[[678]\]-?inf",
    r"Circuit.solve (\[1\]\[0\]|\[2\]\[1\]) -?inf",
    r"named \[1\].*",
    r"Forecast.below \[0\]-?inf",
)


def public():
    """Names of all public functions, methods and classes with a constructor of their own, by whether the module is another's."""
    found = {False: set(), True: set()}
    for module in pkgutil.iter_modules(rigging.physics.__path__):
        names = found[module.name.startswith(OTHERS)]
        loaded = importlib.import_module(f"rigging.physics.{module.name}")
        for name, what in vars(loaded).items():
            if name.startswith("_") or getattr(what, "__module__", None) != loaded.__name__:
                continue
            if inspect.isclass(what):
                methods = {n for n, m in vars(what).items() if not n.startswith("_") and inspect.isfunction(m)}
                names |= {f"{name}.{method}" for method in methods}
                if not issubclass(what, tuple) and "__init__" in vars(what):
                    names.add(name)
            elif callable(what):
                names.add(name)
    return found


def spoilt(value):
    """Every way to spoil a value in one place, with the words for it."""
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float | np.number):
        for bad in (math.nan, math.inf, -math.inf):
            yield f"{bad}", bad
    elif isinstance(value, np.ndarray):
        for i in range(value.size):
            for words, bad in spoilt(float(value.flat[i])):
                array = value.astype(float)
                array.flat[i] = bad
                yield f"[{i}] {words}", array
        yield "empty", value[:0]
    elif isinstance(value, list | tuple):
        again = value._make if hasattr(value, "_make") else type(value)
        for i, one in enumerate(value):
            for words, bad in spoilt(one):
                yield f"[{i}]{words}", again([*value[:i], bad, *value[i + 1 :]])
        # a plain tuple that begins with a name is a record of its own
        if not hasattr(value, "_make") and not (value and isinstance(value[0], str) and isinstance(value, tuple)):
            yield "empty", type(value)()


def leaves(value):
    """Every number in an answer."""
    if isinstance(value, float | int | np.number):
        yield float(value)
    elif isinstance(value, np.ndarray):
        yield from (float(x) for x in value.flat)
    elif isinstance(value, dict):
        for one in value.values():
            yield from leaves(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from leaves(one)


def test_every_public_function_is_held_to_this():
    found = public()
    assert found[False] - set(CALLS) == set(), "not in CALLS"
    assert set(CALLS) - found[False] - found[True] == set(), "no such function"


@pytest.mark.parametrize("name", CALLS)
def test_the_call_that_is_spoilt_is_right(name):
    call, args = CALLS[name]
    assert all(math.isfinite(x) for x in leaves(call(*args)))


@pytest.mark.parametrize("name", sorted(set(CALLS) - PASSES_ON))
def test_nothing_that_is_no_number_comes_out_quietly(name):
    call, args = CALLS[name]
    for words, bad in spoilt(list(args)):
        if words == "empty":
            continue
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                answer = call(*bad)
            except Refusal as refused:
                assert str(refused) and "\n" not in str(refused), words
                continue
            except Exception as crash:
                pytest.fail(f"{name} {words}: {type(crash).__name__}: {crash}")
        assert not any(math.isnan(x) for x in leaves(answer)), f"{name} {words}: {answer}"


@pytest.mark.parametrize("name", CALLS)
def test_an_infinite_figure_is_refused(name):
    call, args = CALLS[name]
    for words, bad in spoilt(list(args)):
        if words.endswith("inf") and not any(re.fullmatch(may, f"{name} {words}") for may in MAY_BE_INFINITE):
            with pytest.raises(Refusal):
                pytest.fail(f"{name} {words}: {call(*bad)}")
