"""What a script may rely on: names, their documentation, a cheap import, and the README's example as it stands."""

import inspect
import re
import subprocess
import sys
from pathlib import Path

import moldgen

ROOT = Path(__file__).parents[2]


def printed_by(code, *, cwd=ROOT):
    done = subprocess.run([sys.executable, "-c", code], cwd=cwd, check=True, capture_output=True, encoding="utf-8")
    assert done.stderr == ""
    return done.stdout


def test_importing_the_package_loads_no_stage_of_it():
    code = (
        "import sys, moldgen; print(*sorted({m.partition('.')[0] for m in sys.modules} - set(sys.stdlib_module_names)))"
    )
    loaded = set(printed_by(code).split())
    assert loaded <= {
        "moldgen",
        "__main__",
        *(name for name in loaded if name.startswith(("__editable__", "_distutils"))),
    }
    assert printed_by("import sys, moldgen; print(*(m for m in sys.modules if m.startswith('moldgen.')))").split() == []


def test_every_public_name_is_found_and_says_what_it_is():
    assert set(moldgen.__all__) <= set(dir(moldgen))
    for name in moldgen.__all__:
        value = getattr(moldgen, name)
        about = inspect.getdoc(value) or ""
        assert len(about.split()) >= 3, f"{name} is documented by {about!r}"
        # A dataclass without a docstring gets its own signature as one.
        assert not about.startswith(f"{name}("), f"{name} has no docstring of its own"


def test_a_name_that_there_is_not_is_an_attribute_error_and_modules_are_still_found():
    code = (
        "import moldgen\n"
        "assert not hasattr(moldgen, 'seize')\n"
        "from moldgen import case, sizing\n"
        "assert moldgen.load is case.load and moldgen.size is sizing.size\n"
        "from moldgen import *\n"
        "print(rings.nearest(inside_mm=62.0)[0].inner_diameter_mm)"
    )
    assert abs(float(printed_by(code)) - 62.0) < 1.0  # ISO 3601-1 and AS568 sizes lie closer together than that


def test_the_readmes_python_example_runs_and_prints_what_its_comments_say():
    (example,) = re.findall(r"```python\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    free_mm, pour_mm3, components = printed_by(example).splitlines()
    stated = re.search(r"# ([0-9.]+): the ring on the bench", example)
    assert stated is not None
    # By hand, rubber keeping its volume: free bore 30/1.05 = 28.571; the ring of 38 mm on 30 mm by 5 mm holds
    # pi/4 (38² - 30²) 5 = 2136.3 mm³; stretched 5 % round, wall and width each shrink by about 1/sqrt(1.05):
    # free wall 4.0 sqrt(1.05) = 4.099, so the outside is 28.571 + 2 (4.099) = 36.77.
    assert abs(float(free_mm) - 36.77) < 0.03
    assert f"{float(free_mm):.2f}" == stated[1]
    assert float(pour_mm3) > 2136.3
    assert components.count("grams=") == 2


def test_the_type_information_is_part_of_the_package():
    assert (Path(moldgen.__file__).parent / "py.typed").is_file()
