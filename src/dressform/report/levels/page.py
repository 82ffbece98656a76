"""Levels of detail as one HTML file in the look of the report: it loads nothing, and runs no script."""

from collections.abc import Mapping

from markupsafe import Markup

from dressform.formats.results.levels_schema import StoredLevels
from dressform.report.html.templates import environment
from dressform.report.html.whole import policy, report_style
from dressform.report.levels.table import level_sentence, level_verdict, levels_line
from dressform.report.pictures.picture import png_bytes
from dressform.report.pictures.raster import Image
from dressform.report.triage.page import picture_uri


def levels_page(told: StoredLevels, pictures: Mapping[str, Image]) -> str:
    """The whole file.

    Args:
        told: The levels.
        pictures: Of each level beside the finer one, by the level's name; put into the file.
    """
    style = report_style()
    return (
        environment()
        .get_template("levels.html")
        .render(
            told=told,
            headline=levels_line(told),
            names=[one.name for one in sorted(told.levels, key=lambda one: one.level)],
            verdict=level_verdict,
            sentence=level_sentence,
            pictures={name: picture_uri(png_bytes(image)) for name, image in pictures.items()},
            sizes={name: (image.shape[1], image.shape[0]) for name, image in pictures.items()},
            style=Markup(style),
            policy=policy(style),
        )
    )
