"""Carries jig plans out: the forms of a piece in one solid, less its cuts and letters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from moldgen.jigs.plan import LETTER_DEPTH_MM, LETTER_STROKE_MM, Form, Jig, Label, Piece, Turned, Upright
from moldgen.mold.lettering import outlines, width_mm
from moldgen.parts import kernel
from moldgen.parts.mesh import Mesh
from moldgen.parts.meshing import FINE_ANGLE_RAD, meshed
from moldgen.shapes import polygon

if TYPE_CHECKING:
    from moldgen.parts.kernel import Body


@dataclass(frozen=True)
class JigBodies:
    """The solids of jigs and their meshes, each by the piece's role, as they lie on the bed."""

    jigs: tuple[Jig, ...]
    bodies: Mapping[str, Body]
    meshes: Mapping[str, Mesh]


def made(jigs: tuple[Jig, ...], bodies: Mapping[str, Body]) -> JigBodies:
    """Jigs with their solids, every body meshed once."""
    return JigBodies(jigs, bodies, {role: meshed(body, angle_rad=FINE_ANGLE_RAD) for role, body in bodies.items()})


def carried_out(jigs: Sequence[Jig]) -> dict[str, Body]:
    """The solid of every piece by its role. Raises GeometryError with the piece at which the kernel refused."""
    return {piece.role: _piece(piece) for jig in jigs for piece in jig.pieces}


def _piece(piece: Piece) -> Body:
    whole = kernel.fused([_form(form, piece.role) for form in piece.solids], stage=piece.role)
    tools = [_form(form, piece.role) for form in piece.cuts]
    plain = kernel.cut(whole, tools, stage=piece.role) if tools else whole
    letters = [letter for label in piece.labels for letter in _letters(label)]
    return kernel.engraved(plain, letters, stage=piece.role) if letters else plain


def _form(form: Form, stage: str) -> Body:
    if isinstance(form, Upright):
        return kernel.extruded(form.outline, form.holes, form.top_mm - form.bottom_mm, stage=stage, z_mm=form.bottom_mm)
    if isinstance(form, Turned):
        return kernel.moved(kernel.revolved(form.profile, stage=stage), form.x_mm, form.y_mm)
    flat = kernel.extruded(form.section, (), form.back_mm - form.front_mm, stage=stage)
    return kernel.stood_up(flat, 0.0, form.back_mm, 0.0)


def _letters(label: Label) -> Iterable[kernel.Pocket]:
    stroke = min(LETTER_STROKE_MM, label.height_mm / 5.0)
    left, low = -0.5 * width_mm(text=label.text, height_mm=label.height_mm), -0.5 * label.height_mm
    for area in outlines(text=label.text, height_mm=label.height_mm, stroke_width_mm=stroke):
        rim, *holes = (polygon(points).moved(left, low) for points in (area.exterior, *area.holes))
        yield kernel.pocket_in_top(
            rim, holes, LETTER_DEPTH_MM, x=label.x_mm, y=label.y_mm, top_z=label.z_mm, turn_deg=label.turn_deg
        )
