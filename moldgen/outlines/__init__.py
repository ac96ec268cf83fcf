"""Outlines from drawings and from lists of points: read, joined to closed contours, and checked, all in millimetres.

Knows DXF, SVG and plane geometry; knows no part family, no mold and no spec. A drawing's size in millimetres is what
the file states; nothing is guessed.
"""

from moldgen.outlines.contour import Contour, Drawing, Fault
from moldgen.outlines.reading import UnreadableDrawingError, read

__all__ = ["Contour", "Drawing", "Fault", "UnreadableDrawingError", "read"]
