"""The job sheet: one page that goes along to the printer, the scale and the bench.

`data` reads a build's record and sets it in order, `scenes` says what the pictures show, `html` fills the templates
in. Nothing is computed here that the record does not hold.
"""
