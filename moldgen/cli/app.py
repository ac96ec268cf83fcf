"""The commands and their options; each hands over to a module of its own when it is called."""

# Annotations are not postponed here: the command line's library would compile each of their texts at every start.

from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    name="moldgen",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="From caliper readings on bare metal to a printed mold and a weighed pour, for rubber parts of old machines.",
)

Specs = Annotated[list[Path], typer.Argument(help="Part specs (YAML), one part each.", show_default=False)]
Json = Annotated[bool, typer.Option("--json", help="One JSON document on standard output instead of tables.")]
Strict = Annotated[bool, typer.Option("--strict", help="Count a warning as a failure (exit status 1).")]


@app.command()
def new(
    family: Annotated[str, typer.Argument(help="Part family, for example idler_tyre.", show_default=False)],
    to: Annotated[Path | None, typer.Option("--to", help="File to write; left out, standard output.")] = None,
    sheet: Annotated[
        Path | None, typer.Option("--sheet", help="Measuring sheet to write (PDF): what to measure, drawn, with boxes.")
    ] = None,
    json: Json = False,
) -> None:
    """Write a starter spec that explains every field and builds as it is, or a sheet to measure by."""
    from moldgen.cli.new import run

    raise typer.Exit(run(family, to, sheet, as_json=json))


@app.command()
def size(specs: Specs, strict: Strict = False, json: Json = False) -> None:
    """Fitted, free and mold dimensions, what the part will do, and the warnings."""
    from moldgen.cli.size import run

    raise typer.Exit(run(specs, strict=strict, as_json=json))


@app.command()
def build(
    specs: Specs,
    out: Annotated[Path, typer.Option("--out", help="Folder that gets a folder for each part.")] = Path("out"),
    pdf: Annotated[bool, typer.Option("--pdf", help="The job sheet as PDF too, its drawings true to scale.")] = False,
    jobs: Annotated[int, typer.Option("--jobs", min=1, max=256, help="Parts built at the same time.")] = 1,
    again: Annotated[bool, typer.Option("--again", help="Build those too whose build is still current.")] = False,
    strict: Strict = False,
    json: Json = False,
) -> None:
    """The whole job: part, mold, proofs, weigh-out, files."""
    from moldgen.cli.build import run

    raise typer.Exit(run(specs, out, strict=strict, pdf=pdf, jobs=jobs, again=again, as_json=json))


@app.command()
def inspect(
    folders: Annotated[
        list[Path], typer.Argument(help="Folders of earlier builds, such as out/NAME.", show_default=False)
    ],
    json: Json = False,
) -> None:
    """Read the files of an earlier build back from disk and prove them again."""
    from moldgen.cli.inspect import run

    raise typer.Exit(run(folders, as_json=json))


@app.command()
def mix(
    specs: Specs,
    spare: Annotated[
        float | None, typer.Option("--spare", min=0.0, max=200.0, help="Per cent mixed beyond what the molds hold.")
    ] = None,
    scale_step: Annotated[
        float | None, typer.Option("--scale-step", min=0.001, max=10.0, help="The scale's step in grams.")
    ] = None,
    out: Annotated[Path, typer.Option("--out", help="Folder of the builds; what is not current is built.")] = Path(
        "out"
    ),
    no_build: Annotated[
        bool, typer.Option("--no-build", help="Build nothing: take the planned volume where no build is current.")
    ] = False,
    json: Json = False,
) -> None:
    """One weigh-out table for a kit of parts, grouped by elastomer."""
    from moldgen.cli.mix import run

    raise typer.Exit(
        run(specs, out, may_build=not no_build, spare_percent=spare, scale_step_g=scale_step, as_json=json)
    )


@app.command()
def refine(
    spec: Annotated[Path, typer.Argument(help="Spec of the part that was cast.", show_default=False)],
    castings: Annotated[
        Path, typer.Option("--castings", help="Readings (CSV or YAML): of, dimension, reading.", show_default=False)
    ],
    write: Annotated[bool, typer.Option("--write", help="Put the result into the spec, comments kept.")] = False,
    out: Annotated[Path, typer.Option("--out", help="Folder that holds the build it was cast from.")] = Path("out"),
    json: Json = False,
) -> None:
    """From measured castings to corrected shrinkage and print offset."""
    from moldgen.cli.refine import run

    raise typer.Exit(run(spec, castings, out, write=write, as_json=json))


@app.command("run-test")
def run_test(
    length: Annotated[str | None, typer.Option("--length", help="Length that a mark on the medium ran.")] = None,
    turns: Annotated[str | None, typer.Option("--turns", help="Turns counted.")] = None,
    time: Annotated[list[str] | None, typer.Option("--time", help="Time it took; give it again for each run.")] = None,
    nominal: Annotated[
        str | None, typer.Option("--nominal", help="What it ought to be: `3 3/4 in/s`, `45 rpm`.")
    ] = None,
    runs: Annotated[int, typer.Option("--runs", min=1, max=1000, help="Runs that the time is the mean of.")] = 1,
    reaction: Annotated[str | None, typer.Option("--reaction", help="How well each end is caught (one sigma).")] = None,
    bars: Annotated[int | None, typer.Option("--bars", help="Stroboscope bars round the wheel.")] = None,
    mains: Annotated[str, typer.Option("--mains", help="Frequency of the lamp's mains.")] = "50 Hz",
    passing: Annotated[float, typer.Option("--passing", help="Bars that pass in --time; backward is negative.")] = 0.0,
    tone: Annotated[Path | None, typer.Option("--tone", help="Recording (WAV) of a test tone.")] = None,
    tone_frequency: Annotated[str | None, typer.Option("--tone-frequency", help="Of that tone: `3150 Hz`.")] = None,
    machine: Annotated[
        Path | None, typer.Option("--machine", help="Machine file: the drive, to say what to change.")
    ] = None,
    spec: Annotated[Path | None, typer.Option("--spec", help="Spec of the part that is checked on the bench.")] = None,
    footprint: Annotated[str | None, typer.Option("--footprint", help="Mark of the nip on a strip of paper.")] = None,
    pull: Annotated[str | None, typer.Option("--pull", help="Spring balance: pull at which it slips.")] = None,
    arm: Annotated[str | None, typer.Option("--arm", help="Radius that it pulls at.")] = None,
    at: Annotated[str | None, typer.Option("--at", help="Pulley that it pulls at, by name.")] = None,
    way: Annotated[str, typer.Option("--way", help="Of a clutch drum: free or locked.")] = "free",
    record: Annotated[
        Path | None, typer.Option("--record", help="Build folder whose history keeps the result.")
    ] = None,
    json: Json = False,
) -> None:
    """From a timed run, counted turns, a stroboscope or a recorded tone to the speed error and its correction."""
    from moldgen.cli.run_test import Asked, run

    asked = Asked(
        length=length,
        turns=turns,
        time=tuple(time or ()),
        nominal=nominal,
        runs=runs,
        reaction=reaction,
        bars=bars,
        mains=mains,
        passing=passing,
        tone=tone,
        tone_frequency=tone_frequency,
        machine=machine,
        spec=spec,
        footprint=footprint,
        pull=pull,
        arm=arm,
        at=at,
        way=way,
        record=record,
    )
    raise typer.Exit(run(asked, as_json=json))


@app.command()
def elastomers(
    family: Annotated[str | None, typer.Option("--for", help="Rank them for a part family, with reasons.")] = None,
    json: Json = False,
) -> None:
    """The table of elastomers by generic class and hardness."""
    from moldgen.cli.elastomers import run

    raise typer.Exit(run(family, as_json=json))


@app.command()
def rings(
    inside: Annotated[str, typer.Option("--inside", help="Inside diameter, for example 62 or 2 1/2 in.")],
    section: Annotated[str | None, typer.Option("--section", help="Thickness of the ring; left out, any.")] = None,
    count: Annotated[int, typer.Option("--count", min=1, max=500, help="How many to list.")] = 5,
    json: Json = False,
) -> None:
    """The nearest standard rings to a wanted size."""
    from moldgen.cli.rings import run

    raise typer.Exit(run(inside, section, count, as_json=json))
