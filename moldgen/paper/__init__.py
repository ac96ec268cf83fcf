"""Documents for paper, set as PDF by typst: the job sheet's printed form and the measuring sheets.

`typesetting` turns a template and its data into the bytes of a PDF. Knows no part family, no mold and no CAD kernel.
"""
