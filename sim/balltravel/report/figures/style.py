"""What all figures share: line styles that read in grey, a sheet, tidy axes, and a file written whole."""

import argparse
import io
import textwrap
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from balltravel.files.read_write import write_whole
from balltravel.report.care import CARE_IN_FIGURES
from balltravel.units import in_figures
from balltravel.units.display import scale
from balltravel.units.systems import unit_in_use

INLET: dict[str, Any] = {"color": "#0b4f8a", "linestyle": "-", "linewidth": 1.5}
PISTON: dict[str, Any] = {"color": "#c8641e", "linestyle": "--", "linewidth": 1.5}
THIRD: dict[str, Any] = {"color": "#3a3a3a", "linestyle": ":", "linewidth": 1.6}
FOURTH: dict[str, Any] = {"color": "#7a7a7a", "linestyle": "-.", "linewidth": 1.2}
VOID: dict[str, Any] = {"facecolor": "#cccccc", "edgecolor": "#555555", "hatch": "////", "linewidth": 0.8}
LIMIT: dict[str, Any] = {"color": "#7a7a7a", "linestyle": (0, (6, 3)), "linewidth": 0.8}


def save(figure: Figure, path: str | Path) -> None:
    """Draw a figure into a file, whole or not at all; the ending says the form. Raises OSError."""
    write_whole(as_bytes(figure, path), Path(path))


def as_bytes(figure: Figure, path: str | Path) -> bytes:
    """A figure as the file of that name would have it; the ending says the form."""
    buffer = io.BytesIO()
    figure.savefig(buffer, format=Path(path).suffix.lstrip(".").lower(), dpi=110)
    return buffer.getvalue()


def draw_from_command_line(main: Callable[[Path], list[Path]], about: str | None, folder: Path) -> None:
    """What a script that draws does when it is run: draw into a folder, ``folder`` unless another is given,
    and print the files; ``--help`` says ``about``, which names them."""
    parser = argparse.ArgumentParser(
        description=about, formatter_class=argparse.RawDescriptionHelpFormatter, allow_abbrev=False
    )
    parser.add_argument("folder", nargs="?", type=Path, default=folder, help=f"where they go ({folder})")
    print(*main(parser.parse_args().folder), sep="\n")


def mm() -> float:
    """By what travels [m] are multiplied for an axis in millimetres, or in inches where those are in use."""
    return scale("length", "mm")


def shown_travel(travel: float) -> str:
    """A travel [m] on a figure: ``5 mm``, ``0.197 in`` or ``3/16 in``."""
    unit = unit_in_use("mm")
    return f"{in_figures(mm() * travel, unit=unit)} {unit}"


def plain_tick(value: float, _: object) -> str:
    """A number at an axis as it is written elsewhere, 10000 and not 1e+04."""
    return in_figures(value, 4)


def new_figure(width: float, height: float) -> Figure:
    """An empty sheet [in]."""
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    return figure


def careful(figure: Figure) -> None:
    """The cautions at the foot of a figure by which somebody may set a lower."""
    figure.supxlabel(CARE_IN_FIGURES, fontsize=7, color="#3a3a3a", x=0.99, ha="right")


def tidy(axes: Axes, label: str) -> None:
    """Label of the ordinate, a pale grid behind, no frame above and right."""
    axes.set_ylabel(label)
    axes.grid(color="#dddddd", linewidth=0.6)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


def heading(lines: Sequence[str], width: int) -> str:
    """Lines broken so that none is wider than the figure; a dollar sign is one, not mathematics."""
    broken = "\n".join(part for line in lines for part in textwrap.wrap(line, width))
    return broken.replace("$", r"\$")


CUT = 0.01
"""Share of an axis by which a figure must need more of it, to be told that it is cut."""


def on_axes_of(figure: Figure, other: Figure | None) -> Figure:
    """A figure on the axes of another of its kind, so that both can be laid side by side; a panel that would
    need more says so. ``other`` None: as it is."""
    for axes, like in zip(figure.axes, other.axes if other else (), strict=other is not None):
        if _cut(axes.get_xlim(), like.get_xlim()) or _cut(axes.get_ylim(), like.get_ylim()):
            axes.text(1.0, 1.01, "goes beyond these axes", fontsize=8, transform=axes.transAxes, ha="right")
        axes.set_xlim(like.get_xlim())
        axes.set_ylim(like.get_ylim())
    return figure


def _cut(wanted: tuple[float, float], shown: tuple[float, float]) -> bool:
    """Whether a range lacks a part of the one that is wanted."""
    spare = CUT * (shown[1] - shown[0])
    return wanted[0] < shown[0] - spare or wanted[1] > shown[1] + spare


def marked_line(
    axes: Axes, x: Sequence[float], y: Sequence[float], name: str, mark: str, style: dict[str, Any]
) -> None:
    """A line with a mark at each of its points, which are few."""
    axes.plot(x, y, marker=mark, markersize=5, label=name, clip_on=False, **style)
