"""`loopplan shaft`: what a channel airlift takes, without a scenario."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from loopplan.cli.budget import output_console
from loopplan.cli.ending import FINE, finish, progress, reader_may_stop, say, usage
from loopplan.cli.options import CsvFolder, Debug, Json

if TYPE_CHECKING:
    from loopplan.studies.shaft_results import ShaftCase

LIFTS = ("0.2 m", "0.3 m", "0.5 m", "0.7 m")
OUTLET_HALVES = ("0.5 m2", "1 m2", "2 m2", "4 m2", "6 m2")


def shaft_command(
    flow: Annotated[str, typer.Option(metavar="FLOW", help="Water flow.")] = "1000 m3/h",
    lift: Annotated[
        list[str] | None,
        typer.Option(
            metavar="LENGTH",
            help="Lift from level to level; may be given again, the first is worked in full. "
            f"[default: {', '.join(LIFTS)}]",
        ),
    ] = None,
    outlet_half: Annotated[
        list[str] | None,
        typer.Option(
            metavar="AREA",
            help="Plan area of the outlet half; may be given again, the first is worked in full. "
            f"[default: {', '.join(OUTLET_HALVES)}]",
        ),
    ] = None,
    inlet_half: Annotated[
        str | None,
        typer.Option(
            metavar="AREA",
            help="Plan area of the inlet half. [default: as the outlet half]",
        ),
    ] = None,
    depth: Annotated[
        str, typer.Option(metavar="LENGTH", help="Depth of the shaft, floor to wall top.")
    ] = "3.5 m",
    dry_reserve: Annotated[
        str, typer.Option(metavar="LENGTH", help="Wall above the running water.")
    ] = "0.5 m",
    diffusers: Annotated[
        str, typer.Option(metavar="LENGTH", help="Diffusers above the floor.")
    ] = "0.5 m",
    gap: Annotated[
        str, typer.Option(metavar="LENGTH", help="Opening under the partition.")
    ] = "0.5 m",
    coverage: Annotated[
        str,
        typer.Option(metavar="SHARE", help="Share of the outlet half that diffusers cover."),
    ] = "100 %",
    temperature: Annotated[
        str, typer.Option(metavar="TEMPERATURE", help="Water temperature.")
    ] = "15 degC",
    salinity: Annotated[str, typer.Option(metavar="SALINITY", help="Salinity.")] = "0 g/kg",
    altitude: Annotated[str, typer.Option(metavar="LENGTH", help="Height above the sea.")] = "0 m",
    json: Json = False,
    csv: CsvFolder = None,
    svg: Annotated[
        Path | None,
        typer.Option("--svg", metavar="FILE", help="Also draw air against outlet half into FILE."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Write into DIR or FILE even if there is something.")
    ] = False,
    debug: Debug = False,
) -> None:
    """Work out what a channel airlift takes, by lift and area; needs no scenario.

    Without options it is the shaft of common practice. Exit codes: 0 fine, 2 wrong use or a value
    that cannot be read, 3 a shaft that cannot be built or cannot work.

    Example: loopplan shaft --flow "600 m3/h" --lift "0.25 m" --outlet-half "1.5 m2"
    """

    def work() -> int:
        case = _case(
            {
                "flow": [flow],
                "lift": lift or list(LIFTS),
                "outlet-half": outlet_half or list(OUTLET_HALVES),
                "inlet-half": [] if inlet_half is None else [inlet_half],
                "depth": [depth],
                "dry-reserve": [dry_reserve],
                "diffusers": [diffusers],
                "gap": [gap],
                "coverage": [coverage],
                "temperature": [temperature],
                "salinity": [salinity],
                "altitude": [altitude],
            }
        )
        if svg is not None:
            _may_write(svg, force)
        with progress("working on the shaft"):
            from loopplan.studies.shaft import shaft_study

            study = shaft_study(case)
        if csv is not None:
            from loopplan.output import write_folder
            from loopplan.report.shaft_json import shaft_csv

            files = shaft_csv(study)
            write_folder(csv, dict(files), force)
            say(f"wrote {len(files)} files into {csv}")
        if svg is not None:
            from loopplan.output import write_text
            from loopplan.report.shaft_svg import shaft_svg

            write_text(svg, shaft_svg(study))
            say(f"wrote {svg}")
        with reader_may_stop():
            if json:
                from loopplan.report.shaft_json import shaft_json

                # As bytes: JSON is UTF-8, whatever the terminal's encoding.
                typer.echo(shaft_json(study).encode("utf-8"), nl=False)
            else:
                from loopplan.report.shaft_text import shaft_text, show_shaft

                console = output_console()
                if console.is_terminal:
                    show_shaft(study, console)
                else:
                    typer.echo(shaft_text(study, console.width), nl=False)
        return FINE

    finish(work, debug=debug)


_DIMENSIONS = {
    "flow": "flow",
    "lift": "length",
    "outlet-half": "area",
    "inlet-half": "area",
    "depth": "length",
    "dry-reserve": "length",
    "diffusers": "length",
    "gap": "length",
    "coverage": "share",
    "temperature": "temperature",
    "salinity": "salinity",
    "altitude": "level",
}


def _case(texts: dict[str, list[str]]) -> ShaftCase:
    """Read every option; all that cannot be read is told at once."""
    from loopplan.errors import UnitError
    from loopplan.studies.shaft_results import ShaftCase
    from loopplan.units import read_quantity

    values: dict[str, list[float]] = {}
    wrong = []
    for name, given in texts.items():
        for text in given:
            try:
                value = read_quantity(text, _DIMENSIONS[name]).value
            except UnitError as error:
                wrong.append(f"--{name}: {error}\n    what would do: {error.cure}")
            else:
                values.setdefault(name, []).append(value)
    if wrong:
        raise usage("\n".join(wrong))

    def one(name: str) -> float:
        return values[name][0]

    return ShaftCase(
        one("flow"),
        tuple(dict.fromkeys(values["lift"])),
        tuple(dict.fromkeys(values["outlet-half"])),
        one("inlet-half") if "inlet-half" in values else None,
        one("depth"),
        one("dry-reserve"),
        one("diffusers"),
        one("gap"),
        one("coverage"),
        one("temperature"),
        one("salinity"),
        one("altitude"),
    )


def _may_write(path: Path, force: bool) -> None:
    """Refuse before any work what would be refused after it."""
    from loopplan.output import CannotWrite

    if path.exists() and not force:
        cure = "give another name, or add --force"
        raise CannotWrite(path, "there is such a file already", cure)
