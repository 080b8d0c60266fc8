"""A chart as SVG for print: values in, a picture out. Pages draw by `bars.py`."""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from maintenance.core.units import show_number

INK, SOFT, LINE, BAND, PAPER = "#20241f", "#5d645b", "#17495c", "#9fc0cb", "#fcfcfa"


@dataclass(frozen=True, slots=True)
class BandChart:
    """Known points by day, and what is expected after them as low, middle and high."""

    title: str
    unit: str
    known: Sequence[tuple[date, float]]
    expected: Sequence[tuple[date, float, float, float]]
    today: date
    known_label: str
    expected_label: str

    def since(self, day: date) -> "BandChart":
        """From that day on, with what was known before it at its left end."""
        before = [(day, value) for on, value in self.known if on < day][-1:]
        after = [(on, value) for on, value in self.known if on >= day]
        return replace(self, known=[*before, *after])


def draw_band(chart: BandChart) -> bytes:
    """SVG bytes; the same input gives the same bytes."""
    # 0.6 s and 40 MB: only the process that draws pays for them.
    import matplotlib as mpl  # noqa: PLC0415
    from matplotlib.figure import Figure  # noqa: PLC0415

    style: dict[Any, Any] = {
        "font.size": 9,
        "svg.fonttype": "none",
        "svg.hashsalt": "rigsite",
        "axes.edgecolor": SOFT,
        "text.color": INK,
        "axes.labelcolor": INK,
        "xtick.color": SOFT,
        "ytick.color": SOFT,
    }
    with mpl.rc_context(style):
        figure = Figure(figsize=(6.4, 2.8), layout="constrained", facecolor=PAPER)
        _plot(figure.add_subplot(facecolor=PAPER), chart)
        out = io.BytesIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue()


def _plot(axes: Any, chart: BandChart) -> None:
    from matplotlib.dates import AutoDateLocator, ConciseDateFormatter  # noqa: PLC0415

    if chart.expected:
        days, low, middle, high = zip(*chart.expected, strict=True)
        axes.fill_between(days, low, high, color=BAND, label=chart.expected_label)
        axes.plot(days, middle, color=LINE, linestyle=(0, (4, 2)), linewidth=1.2)
    if chart.known:
        days, values = zip(*chart.known, strict=True)
        axes.plot(
            days,
            values,
            color=LINE,
            marker="o",
            markersize=2.5,
            linewidth=1.2,
            label=chart.known_label,
        )
    axes.axvline(chart.today, color=SOFT, linewidth=0.8)
    axes.set_ylabel(chart.unit)
    axes.yaxis.set_major_formatter(lambda x, _at: show_number(round(x)))
    axes.xaxis.set_major_locator(locator := AutoDateLocator(minticks=3, maxticks=7))
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator, show_offset=False))
    axes.margins(x=0.01)
    axes.grid(visible=True, axis="y", color=SOFT, alpha=0.25, linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(loc="upper left", frameon=False)
