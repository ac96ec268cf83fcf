"""Builds sdist and wheel, installs the wheel where nothing else is, and runs the README's commands from elsewhere.

    python scripts/fresh_machine.py                 the lowest and the highest supported Python on the search path
    python scripts/fresh_machine.py python3.12 ...  these
    python scripts/fresh_machine.py --light         this Python, as CI does it

With --light the wheel is installed without its dependencies, which are 1.8 GB: they are taken from the environment that
runs the script. That shows that the wheel is whole, not that its list of dependencies is.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tempfile
import time
import zipfile
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[1]
NOT_TAKEN: Final = shutil.ignore_patterns(
    ".*", "out", "build", "dist", "*.egg-info", "__pycache__", "tests", "docs", "benchmarks"
)
NEWEST_MINOR: Final = 30
SPEC: Final = "part_specs/loop_idler.yaml"
CASTINGS: Final = "part_specs/castings/loop_idler.csv"
COMMANDS: Final = (
    ("new", "idler_tyre", "--to", "mine.yaml"),
    ("size", "mine.yaml"),
    ("size", SPEC, "--json"),
    ("build", SPEC, "--json"),
    ("inspect", "out/loop_idler"),
    ("mix", SPEC),
    ("refine", SPEC, "--castings", CASTINGS),
    ("run-test", "--length", "37.75 in", "--time", "10 s", "--nominal", "3 3/4 in/s"),
    ("elastomers", "--for", "idler_tyre"),
    ("rings", "--inside", "62", "--section", "2.6"),
)
"""What the README shows, in its order."""


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("python", nargs="*", help="interpreters to try")
    arguments.add_argument("--light", action="store_true", help="this Python, dependencies from its environment")
    given = arguments.parse_args()
    pythons = [sys.executable] if given.light else given.python or lowest_and_highest()
    with tempfile.TemporaryDirectory(prefix="fresh_machine_") as name:
        folder = Path(name)
        wheel = built(folder)
        require_whole(wheel)
        for number, python in enumerate(pythons):
            started = time.perf_counter()
            bin_ = installed(wheel, folder / f"env_{number}", python, lightly=given.light)
            done_at = time.perf_counter()
            used(bin_, folder / f"bench_{number}")
            print(
                f"{version(python)}: installed in {done_at - started:.0f} s, "
                f"used in {time.perf_counter() - done_at:.0f} s: all well",
                flush=True,
            )


def run(*command: str | Path, cwd: Path, wanted: int = 0) -> str:
    """Standard output of a command; stops everything if it ends in another way than is wanted."""
    clean = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "VIRTUAL_ENV")}
    done = subprocess.run(command, cwd=cwd, env=clean, check=False, capture_output=True, encoding="utf-8")
    if done.returncode != wanted:
        shown = " ".join(map(str, command))
        sys.exit(f"{shown}\nended with {done.returncode}\n{done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    return done.stdout


def version(python: str) -> str:
    return run(python, "-c", "import platform; print('Python', platform.python_version())", cwd=ROOT).strip()


def lowest_and_highest() -> list[str]:
    text = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    least = re.search(r'requires-python = ">=3\.([0-9]+)"', text)
    if least is None:
        sys.exit("pyproject.toml does not say which Python is the lowest")
    names = [f"python3.{minor}" for minor in range(int(least[1]), NEWEST_MINOR)]
    found = [path for path in map(shutil.which, names) if path is not None]
    return list(dict.fromkeys((found[0], found[-1]))) if found else [sys.executable]


def built(folder: Path) -> Path:
    """The wheel, made from the sdist, which is made from a copy of the repository."""
    source = folder / "source"
    shutil.copytree(ROOT, source, ignore=NOT_TAKEN)
    run(sys.executable, "-m", "venv", folder / "tools", cwd=folder)
    tools = folder / "tools" / "bin" / "python"
    run(tools, "-m", "pip", "install", "-q", "build", cwd=folder)
    run(tools, "-m", "build", "--outdir", folder / "dist", source, cwd=folder)
    (sdist,) = (folder / "dist").glob("*.tar.gz")
    (wheel,) = (folder / "dist").glob("*.whl")
    print(f"{sdist.name}, {wheel.name}: {wheel.stat().st_size / 1e6:.2f} MB", flush=True)
    return wheel


def require_whole(wheel: Path) -> None:
    """Stops if the package has a file that the wheel has not: a template, a table, the mark that it is typed."""
    package = ROOT / "moldgen"
    kept = {path.relative_to(ROOT).as_posix() for path in package.rglob("*") if path.is_file()}
    missing = {name for name in kept if "__pycache__" not in name} - set(zipfile.ZipFile(wheel).namelist())
    if missing:
        sys.exit(f"not in the wheel: {', '.join(sorted(missing))}")


def installed(wheel: Path, env: Path, python: str, *, lightly: bool) -> Path:
    """Folder of the commands of an environment that holds the wheel."""
    run(python, "-m", "venv", env, cwd=env.parent)
    bin_ = env / "bin"
    run(bin_ / "pip", "install", "-q", *(["--no-deps"] if lightly else []), str(wheel), cwd=env.parent)
    if lightly:
        site = run(bin_ / "python", "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=env).strip()
        (Path(site) / "borrowed.pth").write_text(f"{sysconfig.get_path('purelib')}\n", encoding="utf-8")
    return bin_


def used(bin_: Path, bench: Path) -> None:
    """Runs the README's commands and its Python example in a folder that holds nothing but example specs."""
    shutil.copytree(ROOT / "part_specs", bench / "part_specs")
    where = run(bin_ / "python", "-c", "import moldgen; print(moldgen.__file__)", cwd=bench).strip()
    if not Path(where).is_relative_to(bin_.parent):
        sys.exit(f"moldgen was imported from {where}, not from the wheel")
    for command in COMMANDS:
        said = run(bin_ / "moldgen", *command, cwd=bench)
        if "--json" in command:
            json.loads(said)
    for name in ("sheet.html", "mold_lower.stl", "mold_upper.3mf", "part.step", "job.json"):
        if not (bench / "out" / "loop_idler" / name).stat().st_size:
            sys.exit(f"{name} is empty")
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
    run(bin_ / "python", "-c", example, cwd=bench)


if __name__ == "__main__":
    main()
