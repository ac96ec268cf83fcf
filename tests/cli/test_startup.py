"""What a fresh interpreter must not load for the commands that need no solid."""

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "part_specs" / "loop_idler.yaml"
HEAVY = ("OCP", "cadquery", "vtkmodules", "scipy", "trimesh", "manifold3d", "lib3mf", "shapely", "ezdxf", "svgelements")

PROBE = """
import sys
from moldgen.cli import main
sys.argv = ["moldgen", *{arguments!r}]
try:
    main()
except SystemExit as ended:
    status = ended.code
loaded = sorted({{name.partition(".")[0] for name in sys.modules}} & set({heavy!r}))
print("status", status, "loaded", loaded, file=sys.stderr)
"""


def probed(tmp_path, *arguments):
    done = subprocess.run(
        [sys.executable, "-c", PROBE.format(arguments=arguments, heavy=HEAVY)],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    return done.stderr.splitlines()[-1]


@pytest.mark.parametrize(
    "arguments",
    [
        ("--help",),
        ("build", "--help"),
        ("size", str(EXAMPLE)),
        ("size", str(EXAMPLE), "--json"),
        ("elastomers",),
        ("new", "idler_tyre"),
        ("new", "belt", "--sheet", "belt.pdf"),
    ],
    ids=lambda arguments: " ".join(Path(argument).name for argument in arguments),
)
def test_what_needs_no_solid_loads_no_kernel(tmp_path, arguments):
    assert probed(tmp_path, *arguments) in ("status 0 loaded []", "status None loaded []")


@pytest.mark.parametrize("text", ["family: idler_tyre\n", "not: a spec\n", "{"])
def test_a_bad_spec_is_refused_before_the_kernel_is_loaded(tmp_path, text):
    (tmp_path / "bad.yaml").write_text(text, encoding="utf-8")
    assert probed(tmp_path, "build", "bad.yaml") == "status 2 loaded []"


@pytest.mark.parametrize(
    "package",
    ["moldgen", "moldgen.mechanics", "moldgen.families", "moldgen.case", "moldgen.sizing", "moldgen.planning"],
)
def test_what_stands_above_the_kernel_does_not_import_it(tmp_path, package):
    done = subprocess.run(
        [sys.executable, "-c", f"import sys, {package}; print(sorted(set({HEAVY!r}) & set(sys.modules)))"],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    assert done.stdout.strip() == "[]"
