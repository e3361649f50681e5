"""A picture as SVG that stands inside a page: no header, no links, every id its own, and words for those who cannot see it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final
from xml.sax.saxutils import escape

from rigging.report.pictures.files import picture
from rigging.report.pictures.panel import Panel

# an id, and the three ways in which a picture names one
_ID: Final = re.compile(r'(?P<before>\bid="|(?:xlink:)?href="#|url\(#)(?P<id>[^")]+)')
_BEFORE_ROOT: Final = re.compile(r"^.*?(?=<svg\b)", re.DOTALL)
_METADATA: Final = re.compile(r"<metadata>.*?</metadata>\s*", re.DOTALL)
_STYLE: Final = re.compile(r"<defs>\s*<style type=\"text/css\">.*?</style>\s*</defs>\s*", re.DOTALL)
_ROOT: Final = re.compile(r"<svg\b(?P<own>[^>]*)>", re.DOTALL)
_VIEW: Final = re.compile(r'viewBox="(?P<box>[-0-9. ]+)"')
# what the sheet of styles says of every line in a picture, which inside a page would hold for the whole page
_LINES: Final = "stroke-linejoin:round;stroke-linecap:butt"


def inline_svg(panels: Sequence[Panel], footer: str, prefix: str, title: str, description: str) -> str:
    """The picture as text to stand in an HTML page.

    prefix: stands before every id, and must be another one for each picture of a page; letters, digits and dashes.
    title, description: read out where the picture cannot be seen. The same input, the same text.
    """
    text = picture(panels, footer, "svg").decode()
    text = _STYLE.sub("", _METADATA.sub("", _BEFORE_ROOT.sub("", text)))
    text = _ID.sub(lambda m: f"{m['before']}{prefix}-{m['id']}", text)
    root = _ROOT.search(text)
    view = _VIEW.search(text)
    assert root is not None and view is not None
    words = f'<title id="{prefix}-title">{escape(title)}</title><desc id="{prefix}-desc">{escape(description)}</desc>'
    # without a width of its own it fills the place the page gives it
    opened = (
        f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="{view["box"]}" '
        f'style="{_LINES}" role="img" aria-labelledby="{prefix}-title {prefix}-desc">'
    )
    return f"{opened}{words}{text[root.end() :]}".rstrip()
