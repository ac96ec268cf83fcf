"""Measuring sheets: what to put the caliper on for a family, drawn, with boxes to fill in.

`fields` reads a family's section models, so that names and descriptions have one home; `figures` has a file of drawings
for each family that wants some, named like it; `advice` tells how to reach what no caliper reaches. Needs no kernel.
"""
