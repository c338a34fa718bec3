"""Metal arithmetic: units, weighing, moisture, pulp, assay, gravity, uncertainty.

Pure functions: no Django, no clock, no disk. Figures of the record are
`Decimal` made from text; figures that carry an uncertainty are `Measured`.
"""
