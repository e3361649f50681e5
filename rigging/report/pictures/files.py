"""A picture as a file: SVG or PNG, drawn whole in memory and then put in its place at once."""

from __future__ import annotations

import io
import logging
import os
import tempfile
import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from rigging.errors import BadFile, UsageError
from rigging.report.pictures.panel import Axis, Panel

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ENDINGS: Final = (".svg", ".png")
WIDTH_IN, HEIGHT_IN = 8.0, 5.0
DOTS_PER_IN: Final = 150
# Okabe and Ito's colours for every kind of colour vision; the dashes tell the lines apart in grey
COLOURS: Final = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00")
DASHES: Final = ("solid", (0, (7, 2)), (0, (3, 1.5)), (0, (7, 2, 1.5, 2)), (0, (1.5, 1.5)), (0, (7, 2, 1.5, 2, 1.5, 2)))
GREY, BAND, SLACK = "#555555", "#E3E3E3", "#BBBBBB"


def check_ending(path: Path) -> None:
    """Raises UsageError for a file name that ends in neither ``.svg`` nor ``.png``."""
    if path.suffix.lower() not in ENDINGS:
        raise UsageError(f"'{path}': a picture is written as {' or '.join(ENDINGS)}: end the file name in one of them")


def save(path: Path, panels: Sequence[Panel], footer: str) -> None:
    """Draw panels one below the other, with a line at the bottom, and write them to a file; the same input, the same bytes.

    Raises UsageError for another ending than ``.svg`` or ``.png``, BadFile where the file cannot be written.
    """
    check_ending(path)
    write_whole(path, picture(panels, footer, path.suffix.lower().removeprefix(".")))


def picture(panels: Sequence[Panel], footer: str, kind: str) -> bytes:
    """The picture as the bytes of a file, ``svg`` or ``png``."""
    # where its folder for fonts cannot be written, matplotlib says so on stderr, which is not the user's matter
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    import matplotlib
    from matplotlib.figure import Figure

    # a fixed salt names the parts of an SVG alike every time; a name with dollar signs is no formula
    plain: Any = {"svg.hashsalt": "rigging", "svg.fonttype": "none", "text.parse_math": False, "font.size": 10.0}
    with matplotlib.rc_context(plain), warnings.catch_warnings():
        # a letter the font lacks is shown as a box, and that is enough
        warnings.simplefilter("ignore")
        figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN * len(panels)), layout="constrained")
        for i, panel in enumerate(panels):
            _panel(figure.add_subplot(len(panels), 1, i + 1), panel)
        figure.supxlabel(footer, fontsize=7.5, color=GREY, x=0.01, ha="left")
        out = io.BytesIO()
        metadata: dict[str, Any] = {"Date": None} if kind == "svg" else {"Software": None}
        figure.savefig(out, format=kind, dpi=DOTS_PER_IN, metadata=metadata)
    return out.getvalue()


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all. Raises BadFile where it cannot be written."""
    made = ""
    try:
        handle, made = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        umask = os.umask(0)
        os.umask(umask)
        os.chmod(made, 0o666 & ~umask)  # noqa: PTH101
        os.replace(made, path)  # noqa: PTH105
    except BaseException as error:
        if made:
            Path(made).unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise BadFile.one(path, f"cannot be written ({error.strerror}): nothing was written") from None
        raise


def _panel(axes: Axes, panel: Panel) -> None:
    left, right = panel.lines[0].x[0], panel.lines[0].x[-1]
    top = panel.top * 1.08
    for span in panel.shades:
        axes.axvspan(span.start, span.end, facecolor="none", edgecolor=SLACK, hatch="///", linewidth=0.0)
        axes.text(
            (span.start + span.end) / 2, top * 0.5, span.label, rotation=90, ha="center", va="center", fontsize=11,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 2.0},
        )  # fmt: skip
    for limit in panel.limits:
        label: str | None = limit.label
        own = limit.line if len(panel.lines) > 1 else None
        edge = (
            {"color": GREY}
            if own is None
            else {"color": COLOURS[own % len(COLOURS)], "linestyle": DASHES[own % len(DASHES)]}
        )
        for x, low, high in limit.pieces():
            axes.fill_between(x, low, high, facecolor=BAND, linewidth=0.0, label=label if own is None else None)
            axes.plot(x, low, linewidth=1.0, label=None if own is None else label, **edge)
            axes.plot(x, high, linewidth=1.0, **edge)
            label = None
    for i, line in enumerate(panel.lines):
        colour = COLOURS[i % len(COLOURS)]
        if line.low:
            axes.fill_between(line.x, line.low, line.high, color=colour, alpha=0.22, linewidth=0.0,
                              label="uncertainty, 95 %" if len(panel.lines) == 1 else f"{line.label}: uncertainty, 95 %")  # fmt: skip
        axes.plot(line.x, line.y, color=colour, linestyle=DASHES[i % len(DASHES)], linewidth=2.2, label=line.label)
    for some in panel.dots:
        axes.plot(some.x, some.y, linestyle="none", marker="o", markersize=6, color="black", label=some.label)
    for mark in panel.marks:
        axes.axvline(mark.x, color="black", linewidth=1.2, linestyle=(0, (1, 2)), label=mark.label)
    axes.set_xlim(left, right)
    axes.set_ylim(0.0, top)
    axes.set_title(panel.title, fontsize=13, fontweight="bold", loc="left")
    axes.set_xlabel(panel.x.label)
    axes.set_ylabel(panel.y.label)
    axes.grid(color="#DDDDDD", linewidth=0.6)
    axes.set_axisbelow(True)
    _second(axes, panel.x, "x")
    _second(axes, panel.y, "y")
    handles, labels = axes.get_legend_handles_labels()
    # what is drawn first lies below, and is named last
    axes.legend(handles[::-1], labels[::-1], loc="best", fontsize=9, framealpha=0.95)


def _second(axes: Axes, axis: Axis, which: str) -> None:
    if not axis.second_label:
        return

    def there(values: Any) -> Any:
        return values * axis.scale + axis.offset

    def back(values: Any) -> Any:
        return (values - axis.offset) / axis.scale

    if which == "x":
        axes.secondary_xaxis("top", functions=(there, back)).set_xlabel(axis.second_label)
    else:
        axes.secondary_yaxis("right", functions=(there, back)).set_ylabel(axis.second_label)
