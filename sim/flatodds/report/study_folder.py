"""The result folder of a study: summary, Dataset, tables and figures, whole or not at all."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flatodds.report.tables import guarded
from flatodds.report.writer import Content, slug, summary_json, write_folder

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from flatodds.report.figures import Shown

    Drawn = tuple[Figure, Shown]

SVG_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
NAMESPACE = '<svg xmlns="http://www.w3.org/2000/svg" font-family="sans-serif" '


def study_folder(title: str, study: str, base: Path) -> Path:
    """Name the folder that a study of this title goes to."""
    return base / f"{slug(title)}-{study}"


def write_study(
    folder: Path,
    summary: Mapping[str, Any],
    dataset: xr.Dataset,
    tables: Mapping[str, str],
    figures: Sequence[Drawn],
) -> None:
    """Write a study's folder.

    Parameters
    ----------
    folder : Path
        From `study_folder`.
    summary : mapping
        Becomes ``summary.json``.
    dataset : xarray.Dataset
        Becomes ``result.nc``.
    tables : mapping of str to str
        Name without ending, and text, of the CSV files in ``tables``.
    figures : sequence
        Become SVG and PNG files in ``figures``.

    Raises
    ------
    UsageError
        Something that is not an earlier result stands in the way, or nothing can be written.
    """
    from flatodds.outcomes.dataset import save_dataset

    contents: dict[str, Content] = {
        "summary.json": summary_json(summary),
        "result.nc": lambda path: save_dataset(dataset, path),
    }
    contents.update({f"tables/{name}.csv": text for name, text in tables.items()})
    for figure, shown in figures:
        contents[f"figures/{shown.name}.svg"] = lone_svg(shown.svg)
        contents[f"figures/{shown.name}.png"] = png_of(figure)
    write_folder(folder, contents)


def lone_svg(inline: str) -> str:
    """Turn an SVG that sits in a page into a file of its own."""
    return SVG_HEAD + inline.replace("<svg ", NAMESPACE, 1) + "\n"


def png_of(figure: Figure) -> bytes:
    """Draw a figure as PNG, at twice the page's size."""
    from flatodds.report.figures import drawing

    buffer = io.BytesIO()
    with drawing():
        figure.savefig(buffer, format="png", dpi=160, facecolor="white")
    return buffer.getvalue()


def csv_text(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Write a table as CSV with a header line; nothing known is an empty cell."""
    import csv

    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(head)
    writer.writerows([["" if cell is None else guarded(cell) for cell in row] for row in rows])
    return buffer.getvalue()
