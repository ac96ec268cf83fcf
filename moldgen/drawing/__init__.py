"""Dimensioned drawings of a part and of its closed mold, from the sizing, the plan and the finished solids.

`part` and `mold` compose a drawing out of frozen lines, areas, dimensions and texts, all in millimetres of the sheet;
`svg` and `dxf` write it down. Knows shapes, the mold's plan and sections of solids; knows no part family by name.
"""
