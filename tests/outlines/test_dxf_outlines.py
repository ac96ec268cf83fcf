import math

import ezdxf
import pytest

from moldgen.outlines import UnreadableDrawingError, read
from moldgen.outlines.check import faults

OUTWARD, BACKWARD = (0, 0, 1), (0, 0, -1)


def saved(tmp_path, draw, *, units=4, version="R2010"):
    document = ezdxf.new(version, units=units)
    draw(document.modelspace(), document)
    path = tmp_path / "part.dxf"
    document.saveas(path)
    return path


def circle_of_one(space, document):
    space.add_circle((0, 0), 1.0)


@pytest.mark.parametrize(
    ("code", "unit_mm"),
    # Open DXF reference, header variable $INSUNITS; factors by definition (1 in = 25.4 mm).
    [(1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (14, 100.0)],
)
def test_the_headers_unit_sets_the_scale(tmp_path, code, unit_mm):
    (ring,) = read(saved(tmp_path, circle_of_one, units=code)).contours
    assert ring.diameter_mm == pytest.approx(2 * unit_mm, rel=1e-12)
    assert ring.path.area == pytest.approx(math.pi * unit_mm**2, rel=1e-12)


def test_a_file_without_a_unit_is_taken_in_millimetres_and_says_so(tmp_path):
    drawing = read(saved(tmp_path, circle_of_one, units=0))
    assert not drawing.unit_stated
    assert drawing.contours[0].diameter_mm == pytest.approx(2.0)


def test_a_person_may_say_the_unit_that_the_file_does_not(tmp_path):
    drawing = read(saved(tmp_path, circle_of_one, units=0), unit="in")
    assert drawing.unit_stated
    assert drawing.contours[0].diameter_mm == pytest.approx(50.8)


def test_a_person_may_not_contradict_the_file(tmp_path):
    with pytest.raises(UnreadableDrawingError, match="states its unit"):
        read(saved(tmp_path, circle_of_one, units=1), unit="mm")


def test_an_old_file_without_header_is_read(tmp_path):
    # The least that an R12 file needs; it knows no $INSUNITS.
    path = tmp_path / "old.DXF"
    path.write_text("0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n4.0\n20\n5.0\n30\n0.0\n40\n3.0\n0\nENDSEC\n0\nEOF\n")
    drawing = read(path)
    assert not drawing.unit_stated
    assert drawing.contours[0].path.bounds == pytest.approx((1, 2, 7, 8))


def test_polyline_bulges_stay_arcs(tmp_path):
    # A stadium: bulge 1 is a half circle. 10 x 6 and two half circles of radius 3.
    def draw(space, document):
        corners = [(0, -3, 0), (10, -3, 1), (10, 3, 0), (0, 3, 1)]
        space.add_lwpolyline(corners, format="xyb", close=True)
        space.add_polyline2d([(x + 20, y, b) for x, y, b in corners], format="xyb", close=True)

    light, heavy = read(saved(tmp_path, draw)).contours
    assert light.path.area == pytest.approx(60 + 9 * math.pi, rel=1e-12)
    assert heavy.path.area == pytest.approx(60 + 9 * math.pi, rel=1e-12)
    assert heavy.path.bounds == pytest.approx((17, -3, 33, 3))


def test_lines_and_arcs_are_chained(tmp_path):
    # A quarter disc of radius 8 in two lines and an arc.
    def draw(space, document):
        space.add_line((0, 8), (0, 0))
        space.add_arc((0, 0), 8, 0, 90)
        space.add_line((8, 0), (0, 0))

    drawing = read(saved(tmp_path, draw))
    assert drawing.faults == ()
    assert drawing.contours[0].path.area == pytest.approx(16 * math.pi, rel=1e-9)


def test_mirrored_blocks_are_mirrored(tmp_path):
    # The same quarter disc, in a block that is inserted mirrored in x: it must lie left of the axis.
    def draw(space, document):
        block = document.blocks.new("shoe")
        block.add_line((0, 8), (0, 0))
        block.add_arc((0, 0), 8, 0, 90)
        block.add_line((8, 0), (0, 0))
        space.add_blockref("shoe", (100, 0), dxfattribs={"xscale": -1})

    drawing = read(saved(tmp_path, draw))
    assert drawing.faults == ()
    assert drawing.contours[0].path.bounds == pytest.approx((92, 0, 100, 8))
    assert drawing.contours[0].path.area == pytest.approx(16 * math.pi, rel=1e-9)


def test_nested_blocks_are_scaled_turned_and_moved(tmp_path):
    # A 4 x 1 bar, twice as large, turned by 90° and moved by (10, 20), then by (5, 5): x 13 to 15, y 25 to 33.
    def draw(space, document):
        inner = document.blocks.new("bar")
        inner.add_lwpolyline([(0, 0), (4, 0), (4, 1), (0, 1)], close=True)
        outer = document.blocks.new("turned")
        outer.add_blockref("bar", (10, 20), dxfattribs={"xscale": 2, "yscale": 2, "zscale": 2, "rotation": 90})
        space.add_blockref("turned", (5, 5))

    (bar,) = read(saved(tmp_path, draw)).contours
    assert bar.path.bounds == pytest.approx((13, 25, 15, 33))
    assert bar.path.area == pytest.approx(16.0)


def test_a_polyline_on_its_back_is_seen_mirrored(tmp_path):
    # Open DXF reference, arbitrary axis algorithm: with the extrusion (0, 0, -1), x is turned over.
    def draw(space, document):
        corners = [(0, 0, 0), (10, 0, 1), (10, 6, 0), (0, 6, 0)]
        space.add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"extrusion": BACKWARD})

    (outline,) = read(saved(tmp_path, draw)).contours
    assert outline.path.bounds == pytest.approx((-13, 0, 0, 6))
    assert outline.path.area == pytest.approx(60 + 4.5 * math.pi, rel=1e-12)


def test_a_circle_on_its_back_is_where_it_is_seen(tmp_path):
    def draw(space, document):
        space.add_circle((7, 2), 3, dxfattribs={"extrusion": BACKWARD})

    assert read(saved(tmp_path, draw)).contours[0].path.bounds == pytest.approx((-10, -1, -4, 5))


@pytest.mark.parametrize("scale", [1.0, 0.05])
def test_ellipses_become_polylines_within_their_flatness(tmp_path, scale):
    # An inscribed polygon that strays by s loses at most s times the perimeter; area π a b.
    def draw(space, document):
        space.add_ellipse((0, 0), (20 * scale, 0), ratio=0.4)

    (ellipse,) = read(saved(tmp_path, draw)).contours
    exact = math.pi * 20 * 8 * scale**2
    assert exact - 0.005 * ellipse.path.length <= ellipse.path.area < exact


def test_an_inch_ellipse_is_as_flat_as_a_metric_one(tmp_path):
    def draw(space, document):
        space.add_ellipse((0, 0), (1, 0), ratio=0.5)

    (ellipse,) = read(saved(tmp_path, draw, units=1)).contours
    exact = math.pi * 25.4 * 12.7
    assert exact - 0.005 * ellipse.path.length <= ellipse.path.area < exact


def test_splines_are_closed_by_a_line(tmp_path):
    # A parabola y = 4 x (10 - x)/25 as a quadratic spline, control point at twice its height: area 2/3 of 10 x 4.
    def draw(space, document):
        space.add_open_spline([(0, 0), (5, 8), (10, 0)], degree=2)
        space.add_line((0, 0), (10, 0))

    drawing = read(saved(tmp_path, draw))
    assert drawing.faults == ()
    assert drawing.contours[0].path.area == pytest.approx(2 / 3 * 40, abs=0.005 * drawing.contours[0].path.length)


def test_what_is_no_outline_is_left_out_and_counted(tmp_path):
    def draw(space, document):
        circle_of_one(space, document)
        space.add_text("brake shoe")
        space.add_text("2 off")
        space.add_linear_dim(base=(0, 3), p1=(-1, 0), p2=(1, 0)).render()

    drawing = read(saved(tmp_path, draw))
    assert len(drawing.contours) == 1
    assert drawing.left_out == ("1 DIMENSION", "2 TEXT")


def two_layers(space, document):
    document.layers.add("cut")
    document.layers.add("centre lines")
    space.add_circle((0, 0), 5, dxfattribs={"layer": "cut"})
    space.add_line((-9, 0), (9, 0), dxfattribs={"layer": "centre lines"})


def test_one_layer_can_be_picked(tmp_path):
    path = saved(tmp_path, two_layers)
    assert read(path).faults
    drawing = read(path, layer="cut")
    assert drawing.faults == () and len(drawing.contours) == 1
    with pytest.raises(UnreadableDrawingError, match="layer outline"):
        read(path, layer="outline")


def test_layers_that_are_off_do_not_count(tmp_path):
    def draw(space, document):
        two_layers(space, document)
        document.layers.get("centre lines").off()

    assert read(saved(tmp_path, draw)).faults == ()


def test_an_open_polyline_is_refused_with_its_entity_and_place(tmp_path):
    def draw(space, document):
        space.add_lwpolyline([(0, 0), (30, 0), (30, 20), (0, 20), (0, 0.5)], dxfattribs={"layer": "0", "handle": "ABC"})

    first, second = read(saved(tmp_path, draw)).faults
    assert "open" in first.text and "LWPOLYLINE #ABC" in first.text and "0.50 mm" in first.text
    assert sorted([first.where_mm, second.where_mm]) == [(0.0, 0.0), (0.0, 0.5)]


def test_faults_of_an_inch_drawing_are_told_in_millimetres(tmp_path):
    def draw(space, document):
        space.add_lwpolyline([(0, 0), (2, 2), (2, 0), (0, 2)], close=True)

    (fault,) = faults(read(saved(tmp_path, draw, units=1)).contours)
    assert "crosses" in fault.text
    assert (fault.where_mm.x, fault.where_mm.y) == pytest.approx((25.4, 25.4))


def test_what_does_not_lie_flat_is_refused(tmp_path):
    def draw(space, document):
        space.add_line((0, 0, 0), (10, 0, 1))

    with pytest.raises(UnreadableDrawingError, match="does not lie flat"):
        read(saved(tmp_path, draw))


@pytest.mark.parametrize(
    "content",
    [b"", b"not a drawing", b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\nnan\n20\n5\n40\n3\n0\nENDSEC\n0\nEOF\n"],
)
def test_broken_files_are_refused(tmp_path, content):
    path = tmp_path / "broken.dxf"
    path.write_bytes(content)
    with pytest.raises(UnreadableDrawingError):
        read(path)


def test_files_over_five_megabytes_are_refused(tmp_path):
    path = tmp_path / "large.dxf"
    path.write_bytes(b"0\n" * 2_500_001)
    with pytest.raises(UnreadableDrawingError, match="5 MB"):
        read(path)


@pytest.mark.parametrize("name", ["part.step", "missing.dxf"])
def test_files_that_are_no_drawing_or_are_not_there_are_refused(tmp_path, name):
    with pytest.raises(UnreadableDrawingError):
        read(tmp_path / name)


def test_layer_zero_of_a_block_is_the_layer_that_it_is_placed_on(tmp_path):
    # As drawing programs show it: what is on layer 0 within a block takes on the layer of its insert.
    def draw(space, document):
        document.blocks.new("hole").add_circle((0, 0), 2)
        space.add_blockref("hole", (5, 5), dxfattribs={"layer": "cut"})

    assert len(read(saved(tmp_path, draw), layer="cut").contours) == 1
