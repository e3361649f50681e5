"""``rigging tables``: the handbook tables, and a chart of the user's own."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from rigging.cli import completion
from rigging.cli.exits import Group
from rigging.cli.options import AsCsv, AsJson, only_one, put_csv, put_json, talk

app = typer.Typer(
    cls=Group, rich_markup_mode=None, help="Handbook tables with their sources; check a chart of your own."
)


@app.command("list")
def list_(as_json: AsJson = False, as_csv: AsCsv = False) -> int:
    """All tables with status and source.

    Example: rigging tables list
    """
    from rigging import tables

    only_one(as_json, as_csv)
    ids = tables.table_ids()
    if as_json or as_csv:
        files = [(name, tables.load(name).file) for name in ids]
        rows = [
            {"id": n, "title": f.title, "basis": f.source.basis.value, "source": str(f.source), "rows": len(f.rows)}
            for n, f in files
        ]
        if as_json:
            put_json({"tables": rows})
        else:
            put_csv(rows, ["id", "title", "basis", "source", "rows"])
        return 0
    from rigging.report.text.console import console
    from rigging.report.text.facts import show_table_list

    show_table_list(console(), ids)
    return 0


@app.command()
def show(
    name: Annotated[
        str,
        typer.Argument(
            help="A table's name, or a file of your own.", show_default=False, autocompletion=completion.table_names
        ),
    ],
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> int:
    """One table, every row, with its status and source.

    Example: rigging tables show turnbuckle-threads
    """
    from rigging import tables

    only_one(as_json, as_csv)
    path = Path(name)
    found = tables.load_file(path) if path.suffix in (".yaml", ".yml") else tables.load(name)
    if as_json or as_csv:
        from rigging.report import as_json as view

        if as_json:
            put_json(view.table(found))
        else:
            put_csv(view.table_rows(found), list(view.table_keys(found).values()))
    else:
        from rigging.report.text.console import console
        from rigging.report.text.facts import show_table

        show_table(console(), found)
    return 0


@app.command()
def check(
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Charts or tables of your own; all shipped tables where left out.", readable=False),
    ] = None,
    as_json: AsJson = False,
) -> int:
    """Read tables or charts and name everything that is wrong in them.

    Example: rigging tables check examples/harbour/rudder-chart.yaml
    """
    from rigging import tables
    from rigging.errors import BadFile
    from rigging.judge.chart import check_chart

    shipped = not files
    paths = files or [tables.folder() / f"{name}.yaml" for name in tables.table_ids()]
    problems = []
    good: list[str] = []
    for path in paths:
        try:
            table = tables.load_file(path)
            if table.file.kind == "chart":
                check_chart(table)
            good.append(table.id)
        except BadFile as error:
            problems += error.problems
    if problems:
        raise BadFile(problems)
    if as_json:
        put_json({"tables": good, "problems": []})
    else:
        what = "shipped table" if shipped else "file"
        talk(f"{len(good)} {what}{'' if len(good) == 1 else 's'} read, nothing wrong")
    return 0
