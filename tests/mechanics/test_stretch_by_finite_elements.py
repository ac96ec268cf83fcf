"""The inverse for stretched rings, proved by a program that knows nothing of it.

A free ring from `free_ring` is meshed, pulled over its hub by an independent finite-element package
(axisymmetric, nearly incompressible neo-Hookean, large deformations), and must come out as wanted.
"""

from __future__ import annotations

from dataclasses import dataclass

import felupe
import numpy as np
import pytest

from moldgen.mechanics.stretch import (
    FreeRing,
    fitted_ring,
    free_ring,
    stuck_outer_radius_mm,
)

BULK_OVER_SHEAR = 5000.0
"""High enough that the volume lost is a hundredth of what the test allows, low enough for Newton's method."""


@dataclass(frozen=True)
class Computed:
    """The deformed ring; the outside as points (z, r) from its middle to one end."""

    outside_mm: np.ndarray
    volume_mm3: float
    pressure_over_shear: float

    @property
    def mean_diameter_mm(self) -> float:
        z_mm, r_mm = self.outside_mm.T
        return 2.0 * np.trapezoid(r_mm, z_mm) / (z_mm[-1] - z_mm[0])


def pulled_over_hub(free: FreeRing, hub_radius_mm: float, *, ends: str, bore: str = "slides") -> Computed:
    """One half of the ring, from its middle plane to one end, its bore moved out to the hub in four steps."""
    along, through = 17, 13
    mesh = felupe.Rectangle(
        a=(0.0, free.inner_radius_mm), b=(free.width_mm / 2.0, free.outer_radius_mm), n=(along, through)
    )
    field = felupe.FieldContainer([felupe.FieldAxisymmetric(felupe.RegionQuad(mesh), dim=2)])
    displacement = field[0]
    body = felupe.SolidBodyNearlyIncompressible(felupe.NeoHooke(mu=1.0), field, bulk=BULK_OVER_SHEAR)
    held = {
        "bore": felupe.Boundary(displacement, fy=free.inner_radius_mm, skip=(1, 0)),
        "middle": felupe.Boundary(displacement, fx=0.0, skip=(0, 1)),
    }
    if ends == "flanged":
        held["flange"] = felupe.Boundary(displacement, fx=free.width_mm / 2.0, skip=(0, 1))
    if bore == "sticks":
        held["grip"] = felupe.Boundary(displacement, fy=free.inner_radius_mm, skip=(0, 1))
    moves_mm = felupe.math.linsteps([0.0, hub_radius_mm - free.inner_radius_mm], num=4)
    step = felupe.Step(items=[body], ramp={held["bore"]: moves_mm}, boundaries=held)
    felupe.Job(steps=[step]).evaluate(verbose=0)

    points_mm = mesh.points + displacement.values
    grid_mm = points_mm.reshape(through, along, 2)  # rows from bore to outside, columns from middle to end
    # The nodal forces on the bore, radial parts, are those on the whole circumference.
    radial_n = body.results.force.toarray().reshape(-1, 2)[:along, 1]
    bore_mm2 = 2.0 * np.pi * hub_radius_mm * (grid_mm[0, -1, 0] - grid_mm[0, 0, 0])
    return Computed(grid_mm[-1], 2.0 * _volume_of_revolution_mm3(grid_mm), abs(radial_n.sum()) / bore_mm2)


def _volume_of_revolution_mm3(grid_mm: np.ndarray) -> float:
    """By Pappus, triangle by triangle: 2 pi times centroid's radius times area."""
    a, b, c, d = grid_mm[:-1, :-1], grid_mm[:-1, 1:], grid_mm[1:, 1:], grid_mm[1:, :-1]
    total_mm3 = 0.0
    for p, q, s in ((a, b, c), (a, c, d)):
        u, v = q - p, s - p
        area_mm2 = 0.5 * np.abs(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])
        total_mm3 += float((2.0 * np.pi * (p + q + s)[..., 1] / 3.0 * area_mm2).sum())
    return total_mm3


@pytest.mark.parametrize(
    ("outer_diameter_mm", "width_mm", "hub_diameter_mm", "stretch"),
    [
        pytest.param(40.0, 5.0, 32.0, 0.06, id="tyre"),
        pytest.param(25.0, 4.0, 20.0, 0.08, id="small tyre"),
        pytest.param(13.0, 12.0, 8.0, 0.10, id="sleeve"),
        pytest.param(30.0, 6.0, 12.0, 0.15, id="thick"),
    ],
)
@pytest.mark.parametrize("ends", ["free", "flanged"])
def test_free_ring_pulled_over_its_hub_comes_out_as_wanted(outer_diameter_mm, width_mm, hub_diameter_mm, stretch, ends):
    hub_radius_mm, flanged = hub_diameter_mm / 2.0, ends == "flanged"
    free = free_ring(
        hub_radius_mm=hub_radius_mm,
        fitted_outer_radius_mm=outer_diameter_mm / 2.0,
        fitted_width_mm=width_mm,
        stretch=stretch,
        held_between_flanges=flanged,
    )
    computed = pulled_over_hub(free, hub_radius_mm, ends=ends)

    assert 2.0 * computed.outside_mm[:, 1] == pytest.approx(outer_diameter_mm, abs=0.01)
    assert computed.volume_mm3 == pytest.approx(free.volume_mm3, rel=1e-3)
    assert 2.0 * computed.outside_mm[-1, 0] == pytest.approx(width_mm, abs=0.005)
    fitted = fitted_ring(free=free, hub_radius_mm=hub_radius_mm, shear_modulus_mpa=1.0, held_between_flanges=flanged)
    assert computed.pressure_over_shear == pytest.approx(fitted.hub_pressure_mpa, rel=0.005)


@pytest.mark.parametrize(
    ("hub_diameter_mm", "wall_mm", "width_mm", "stretch"),
    [(30.0, 4.0, 6.0, 0.12), (30.0, 3.0, 10.0, 0.08), (20.0, 2.0, 10.0, 0.12), (60.0, 4.0, 6.0, 0.05)],
)
def test_bore_that_sticks_takes_the_diameter_that_is_said(hub_diameter_mm, wall_mm, width_mm, stretch):
    hub_radius_mm = hub_diameter_mm / 2.0
    bore_mm = hub_radius_mm / (1.0 + stretch)
    free = FreeRing(bore_mm, bore_mm + wall_mm, width_mm)
    computed = pulled_over_hub(free, hub_radius_mm, ends="free", bore="sticks")
    sliding, flanged = (
        fitted_ring(free=free, hub_radius_mm=hub_radius_mm, shear_modulus_mpa=1.0, held_between_flanges=held)
        for held in (False, True)
    )
    # The hold is claimed within 0.1 of the way from a bore that slides to flanges.
    way_mm = sliding.outer_diameter_mm - flanged.outer_diameter_mm
    stuck_mm = 2.0 * stuck_outer_radius_mm(free=free, hub_radius_mm=hub_radius_mm)
    assert computed.mean_diameter_mm == pytest.approx(stuck_mm, abs=0.1 * way_mm)
    assert computed.mean_diameter_mm < sliding.outer_diameter_mm - 0.1 * way_mm
