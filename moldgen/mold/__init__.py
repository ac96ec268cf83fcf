"""The mold: first every decision and dimension as a plan, then the bodies that carry the plan out.

Knows shapes, printers and the person's choices; knows no part family and no file. `design` decides, `plan` holds what
was decided (no CAD), `bodies` makes the solids.
"""
