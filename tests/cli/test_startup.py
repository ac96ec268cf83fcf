"""What a fresh interpreter must not load for the commands that need no solid."""

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "part_specs"
EXAMPLE = EXAMPLES / "loop_idler.yaml"
HEAVY = (
    *("OCP", "cadquery", "vtkmodules", "scipy", "trimesh", "manifold3d", "lib3mf", "shapely", "ezdxf", "svgelements"),
    *("rich", "jinja2", "joblib", "multiprocessing"),
)

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


def probed(tmp_path, *arguments, heavy=HEAVY):
    done = subprocess.run(
        [sys.executable, "-c", PROBE.format(arguments=arguments, heavy=heavy)],
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
        ("mix", str(EXAMPLE), "--no-build"),
        ("new", "belt", "--sheet", "belt.pdf"),
    ],
    ids=lambda arguments: " ".join(Path(argument).name for argument in arguments),
)
def test_what_needs_no_solid_loads_no_kernel(tmp_path, arguments):
    assert probed(tmp_path, *arguments) in ("status 0 loaded []", "status None loaded []")


def test_numpy_is_loaded_only_where_a_nip_is_solved(tmp_path):
    # No wheel drives on rubber in any of them: a tyre without a drive, a belt, a pad, a turned part, one drawn as SVG.
    names = ("loop_rewind_tyre", "changer_platter_belt", "loop_one_way_pad", "loop_washer", "changer_brake_shoe")
    specs = [str(EXAMPLES / f"{name}.yaml") for name in names]
    assert probed(tmp_path, "size", *specs, heavy=("numpy", "shapely", "rich")) == "status 0 loaded []"
    assert probed(tmp_path, "elastomers", heavy=("numpy",)) == "status 0 loaded []"


def test_refining_solves_no_nip(tmp_path):
    castings = str(EXAMPLES / "castings" / "loop_idler.csv")
    asked = ("refine", str(EXAMPLE), "--castings", castings)
    assert probed(tmp_path, *asked, heavy=(*HEAVY, "numpy")) == "status 0 loaded []"


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
