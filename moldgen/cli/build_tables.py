"""What `build` says to a person: what to print, weigh and mind."""

from __future__ import annotations

from typing import TYPE_CHECKING

from moldgen.bench import steps
from moldgen.cli.tables import print_sizing, say_remarks
from moldgen.cli.terminal import Table, marked, say
from moldgen.feedback.bench_checks import expected_checks
from moldgen.many import Standing

if TYPE_CHECKING:
    from moldgen.job import Build


def print_made(made: Build | Standing) -> None:
    """A build made now, or one line about an earlier one that is still current."""
    if not isinstance(made, Standing):
        print_build(made)
        return
    proofs = "all its proofs hold" if made.passed else "not all its proofs hold"
    say(
        f"\n{marked(made.sizing.case.name, 'strong')}  current: nothing has changed since it was built, {proofs}. "
        f"{made.directory.as_posix()}/sheet.html. `--again` builds it anew."
    )


def print_build(build: Build) -> None:
    """The sizing, then what to print, weigh and mind."""
    print_sizing(build.sizing)
    for decision in build.plan.decisions:
        say("  " + marked(f"{decision.what}: {decision.why}", "faint"))
    table = Table(("to print", False), ("lies on the bed as", False), ("file", False))
    upper = "mouth of the sprue down" if build.plan.sprues else "outer face down"
    ways = {"mold_lower": "cavity up", "mold_upper": upper, "core": "upright"}
    for role in dict.fromkeys(f.role for f in build.files if f.format == "3mf"):
        table.add_row(role.replace("_", " "), ways.get(role, "flat"), f"{build.directory.as_posix()}/{role}.3mf")
    table.show()
    failed = [finding for finding in build.findings if not finding.passed]
    if failed:
        for finding in failed:
            say(f"  {marked(finding.proof, 'bad')}: {finding.text}")
    else:
        say(f"  All {len(build.findings)} proofs hold. Files are in {build.directory.as_posix()}/")
    say_remarks(build.pour.remarks)
    done = steps(build.sizing.case, build.plan, build.pour, build.jigs, expected_checks(build.sizing))
    for number, step in enumerate(done, start=1):
        say(f"  {marked(f'{number}. {step.title}.', 'strong')} {step.text}")
        for caution in step.cautions:
            say(f"     {marked('!', 'mind')} {caution}")
