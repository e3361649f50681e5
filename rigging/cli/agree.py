"""``rigging agree``: one tension found in several ways."""

from __future__ import annotations

from typing import Annotated

import typer

from rigging.cli.options import AsCsv, AsJson, Si, only_one, put_csv, put_json


def agree(
    figures: Annotated[
        list[str], typer.Argument(help="A name and a figure each, like 'card 36 +-1.2 lbf'.", show_default=False)
    ],
    coverage: Annotated[
        float | None, typer.Option(help="The k behind the figures after +-; that of 95 % where left out.")
    ] = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
    si: Si = False,
) -> int:
    """Do several ways of finding one tension agree, and what do they make together?

    All on the same run, on the same day. Where they do not agree no combined figure is given.
    Exit code 0: they agree. 1: they do not.

    Example: rigging agree "card 36 +-1.2 lbf" "side pull 34 +-4 lbf" "pluck 37.1 +-3 lbf"
    """
    from rigging.errors import UsageError
    from rigging.measure.agree import agreement, parse_method

    only_one(as_json, as_csv)
    if coverage is not None and not 0 < coverage < 10:
        raise UsageError(f"a coverage factor of {coverage:g}: 2 for 95 %, 1 for a standard uncertainty")
    found = agreement([parse_method(text, coverage) for text in figures])
    if as_json or as_csv:
        from rigging.report import no_gauge_data as view

        if as_json:
            put_json(view.agree(found))
        else:
            put_csv(view.method_rows(found), view.METHOD_COLUMNS)
    else:
        from rigging.report.text.console import console
        from rigging.report.text.no_gauge import show_agree

        show_agree(console(), found, si)
    return 0 if found.agrees else 1
