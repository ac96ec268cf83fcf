"""What is left out when the CAD package is imported, and that it is all there for whoever asks for it."""

import subprocess
import sys

import pytest

LEFT_OUT = (
    "{'casadi', 'nlopt', 'ezdxf', 'vtk', 'pyparsing', 'vtkmodules.vtkFiltersCore', 'cadquery.cq', 'cadquery.assembly'}"
)
MADE_BY_SCRIPT = "type(cadquery.Workplane('XY').box(1, 2, 3).val()) is cad.Solid is cadquery.Solid"


def fresh(code):
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    return done.stdout.split("\n")


def test_only_the_shapes_are_imported():
    assert fresh(f"import sys, moldgen.parts.cad; print({LEFT_OUT} & set(sys.modules))")[0] == "set()"


@pytest.mark.parametrize(
    "imports",
    [
        "from moldgen.parts import cad; import cadquery",
        "import cadquery; from moldgen.parts import cad",
        "from moldgen.parts import cad; import cadquery.func, cadquery.vis; from cadquery import *",
    ],
)
def test_a_script_has_the_whole_package_before_and_after(imports):
    whole = "hasattr(cadquery, 'exporters'), cadquery.occ_impl.shapes.Solid is cad.Solid, hasattr(cadquery, 'nothing')"
    assert fresh(f"{imports}; print({MADE_BY_SCRIPT}, {whole})")[0] == "True True True False"


def test_what_the_shapes_only_call_is_there_when_it_is_called():
    # Of a box, the face on top; of its six faces, 12 triangles.
    faces = "len(box.faces('>Z').Faces()), cadquery.Workplane(box).faces('|Z').size()"
    mesh = "box.toVtkPolyData(0.1, 0.1, False).GetNumberOfPolys()"
    box = "box = cad.Solid.makeBox(1, 2, 3)"
    assert fresh(f"from moldgen.parts import cad; {box}; import cadquery; print({faces}, {mesh})")[0] == "1 2 12"
    assert fresh(f"import cadquery; from moldgen.parts import cad; {box}; print({faces}, {mesh})")[0] == "1 2 12"
