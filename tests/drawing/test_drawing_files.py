"""Drawings as SVG and DXF: lengths at scale, real dimensions, clean audit, the same bytes again."""

import os
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import ezdxf
import pytest
from drawings import NAMES, both, mold, part, sized

from moldgen.drawing.dxf import dxf_text
from moldgen.drawing.model import WIDTH_MM, Area
from moldgen.drawing.svg import svg_text

SVG = "{http://www.w3.org/2000/svg}"
MOLDS = ["loop_rewind_tyre", "loop_washer"]
NUMBER = r"-?\d+\.?\d*"


def read_dxf(drawing, folder):
    """The drawing's DXF, read back from a file."""
    path = folder / "drawing.dxf"
    path.write_text(dxf_text(drawing), encoding="utf-8")
    return ezdxf.readfile(path)


def root(drawing):
    return ElementTree.fromstring(svg_text(drawing))


def group(drawing, view):
    return next(g for g in root(drawing).iter(f"{SVG}g") if g.get("data-view") == view)


def corners(track):
    """End points of a path's lines and arcs."""
    return [(float(x), float(y)) for x, y in re.findall(rf"({NUMBER}) ({NUMBER})(?=[MLAZ]|$)", track)]


def extension_lines(dimension):
    """The first two subpaths of a linear dimension."""
    return [corners(f"M{piece}") for piece in dimension.find(f"{SVG}path").get("d").split("M")[1:3]]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("which", [0, 1])
def test_svg_extension_lines_stand_apart_by_the_length_at_scale(name, which):
    found = 0
    for view in root(both(name)[which]).iter(f"{SVG}g"):
        if view.get("data-view") is None:
            continue
        for dimension in view.iter(f"{SVG}g"):
            if dimension.get("data-kind") != "linear":
                continue
            (a, *_), (b, *_) = extension_lines(dimension)
            upright = "rotate" in dimension.find(f"{SVG}text").get("transform", "")
            apart = abs(a[1] - b[1]) if upright else abs(a[0] - b[0])
            assert apart == pytest.approx(float(dimension.get("data-value")) * float(view.get("data-scale")), abs=0.05)
            found += 1
    assert found >= 3


@pytest.mark.parametrize(
    ("name", "stage"), [("loop_idler", "free"), ("loop_idler", "fitted"), ("loop_rewind_tyre", "mold")]
)
def test_svg_draws_the_rubber_at_its_size(name, stage):
    view = group(part(name), stage)
    scale = float(view.get("data-scale"))
    faces = [corners(path.get("d")) for path in view.iter(f"{SVG}path") if path.get("data-material") == "rubber"]
    xs, ys = zip(*(corner for face in faces for corner in face), strict=True)
    sizes = getattr(sized(name), stage)
    assert max(ys) - min(ys) == pytest.approx(sizes["outer_diameter_mm"].value * scale, abs=0.05)
    assert max(xs) - min(xs) == pytest.approx(sizes["width_mm"].value * scale, abs=0.05)
    upper, lower = sorted(faces, key=lambda face: max(y for _, y in face))
    gap = min(y for _, y in lower) - max(y for _, y in upper)
    assert gap == pytest.approx(sizes["inner_diameter_mm"].value * scale, abs=0.05)


def test_svg_draws_the_mold_s_halves_at_their_size():
    plan, drawing = mold("loop_rewind_tyre").plan, mold("loop_rewind_tyre").drawing
    view = group(drawing, "A-A")
    scale = float(view.get("data-scale"))
    points = [
        corner
        for path in view.iter(f"{SVG}path")
        if path.get("data-material") in ("lower", "upper")
        for corner in corners(path.get("d"))
    ]
    xs, ys = zip(*points, strict=True)
    assert max(xs) - min(xs) == pytest.approx(plan.block.x_mm * scale, abs=0.05)
    assert max(ys) - min(ys) == pytest.approx((plan.block.lower_mm + plan.block.upper_mm) * scale, abs=0.05)


@pytest.mark.parametrize("name", MOLDS)
def test_svg_stands_alone_with_text_as_text(name):
    for drawing in both(name):
        tree = root(drawing)
        assert tree.get("width") == "180mm" and tree.get("viewBox").startswith("0 0 180 ")
        written = [element.text for element in tree.iter(f"{SVG}text")]
        assert written == [text.text for view in drawing.views for text in _in_order(view)]
        text = svg_text(drawing)
        assert "href" not in text and "url(" not in text and "<style" not in text
        assert not re.search(r"\d\.\d{3}", re.sub(r'data-value="[^"]*"', "", text))


def _in_order(view):
    from moldgen.drawing.model import texts_of

    return [text for item in view.items for text in texts_of(item)]


def test_svg_line_widths_are_those_of_iso_128():
    # Line group 0.5 of ISO 128-2: wide lines 0.5 mm, narrow ones 0.25 mm (from memory of the standard).
    widths = {
        path.get("class"): path.get("stroke-width")
        for path in root(mold("loop_washer").drawing).iter(f"{SVG}path")
        if path.get("class")
    }
    assert widths["outline"] == "0.5"
    assert {widths[kind] for kind in ("thin", "hidden", "centre", "cutting")} == {"0.25"}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("which", [0, 1])
def test_dxf_audits_clean_and_its_dimensions_read_what_was_drawn(name, which, tmp_path):
    drawing = both(name)[which]
    doc = read_dxf(drawing, tmp_path)
    audit = doc.audit()
    assert not audit.errors and not audit.fixes
    entities = doc.modelspace().query("DIMENSION")
    assert len(entities) == len(drawing.dimensions)
    for entity, dimension in zip(entities, drawing.dimensions, strict=True):
        factor = 1.0 if dimension.kind == "angle" else entity.override().get("dimlfac", 1.0)
        assert entity.get_measurement() * factor == pytest.approx(dimension.value, abs=1e-6)
        assert len(list(entity.get_geometry_block())) >= 4


def test_dxf_dimensions_read_the_plan_s_and_the_sizing_s_lengths(tmp_path):
    """By way of the file alone: the block's and the tyre's sizes are among what its dimensions read."""
    for drawing, lengths in (
        (
            mold("loop_rewind_tyre").drawing,
            [mold("loop_rewind_tyre").plan.block.x_mm, mold("loop_rewind_tyre").plan.seal.land_mm],
        ),
        (part("loop_rewind_tyre"), [u.value for u in sized("loop_rewind_tyre").mold.values()]),
    ):
        entities = read_dxf(drawing, tmp_path).modelspace().query("DIMENSION")
        read = [e.get_measurement() * e.override().get("dimlfac", 1.0) for e in entities]
        for length in lengths:
            assert any(abs(length - value) < 1e-6 for value in read)


def test_dxf_is_true_size_in_millimetres(tmp_path):
    plan = mold("loop_rewind_tyre").plan
    doc = read_dxf(mold("loop_washer").drawing, tmp_path)
    assert doc.header["$INSUNITS"] == 4  # millimetres, by the open DXF reference
    doc = read_dxf(mold("loop_rewind_tyre").drawing, tmp_path)
    spans = []
    for line in doc.modelspace().query('LWPOLYLINE[layer=="outline"]'):
        xs = [point[0] for point in line.get_points()]
        spans.append(max(xs) - min(xs))
    assert any(span == pytest.approx(plan.block.x_mm, abs=1e-6) for span in spans)


def test_dxf_layers_carry_widths_and_line_types_and_hatches_their_pattern():
    from io import StringIO

    doc = ezdxf.read(StringIO(dxf_text(mold("loop_washer").drawing)))
    for kind, width in WIDTH_MM.items():
        layer = doc.layers.get(kind)
        assert layer.dxf.lineweight == round(100 * width)
        assert layer.dxf.linetype == ("Continuous" if kind in ("outline", "thin") else kind.upper())
    areas = [item for view in mold("loop_washer").drawing.views for item in view.items if isinstance(item, Area)]
    hatches = doc.modelspace().query("HATCH")
    assert [hatch.dxf.pattern_name for hatch in hatches] == [area.material.upper() for area in areas]
    assert all(hatch.pattern.lines for hatch in hatches)


SCRIPT = """
import sys
sys.path.insert(0, {tests!r})
from drawings import both
from moldgen.drawing.dxf import dxf_text
from moldgen.drawing.svg import svg_text
for drawing in both("loop_rewind_tyre"):
    sys.stdout.buffer.write((svg_text(drawing) + dxf_text(drawing)).encode())
"""


def test_the_same_drawing_has_the_same_bytes_in_another_process():
    script = SCRIPT.format(tests=str(Path(__file__).parent))
    runs = [
        subprocess.run(
            [sys.executable, "-c", script],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            timeout=300,
        ).stdout
        for seed in ("1", "2")
    ]
    here = "".join(svg_text(drawing) + dxf_text(drawing) for drawing in both("loop_rewind_tyre")).encode()
    assert runs == [here, here]


def test_writing_a_dxf_leaves_the_library_s_options_as_they_were():
    before = ezdxf.options.write_fixed_meta_data_for_testing
    dxf_text(part("loop_idler"))
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_a_part_is_drawn_without_the_cad_kernel():
    script = (
        f"import sys; sys.path.insert(0, {str(Path(__file__).parents[2])!r})\n"
        "from pathlib import Path\n"
        "from moldgen.case import load\n"
        "from moldgen.drawing.part import part_drawing\n"
        "from moldgen.drawing.svg import svg_text\n"
        "from moldgen.sizing import size\n"
        f"spec = Path({str(Path(__file__).parents[2] / 'part_specs' / 'loop_idler.yaml')!r})\n"
        "svg_text(part_drawing(sized=size(load(spec))))\n"
        "assert 'OCP' not in sys.modules and 'cadquery' not in sys.modules and 'ezdxf' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", script], check=False, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
