"""Residual matrices of the daily weather generator.

Richardson & Wright 1984, WGEN, USDA ARS-8, as given in three copies that agree; order Tmax, Tmin,
radiation. Other copies have .718, -.314 and +.039 in three places: those are misprints.
"""

from __future__ import annotations

from published_checks import Check

from hydroloop.weather.generator import RESIDUAL_A, RESIDUAL_B, residual_covariance

PRINTED = {
    "A": ((0.567, 0.086, -0.002), (0.253, 0.504, -0.050), (-0.006, -0.039, 0.244)),
    "B": ((0.781, 0.0, 0.0), (0.328, 0.637, 0.0), (0.238, -0.341, 0.873)),
}
OURS = {"A": RESIDUAL_A, "B": RESIDUAL_B}

CONSTANTS: list[Check] = [
    Check(
        source="Richardson & Wright 1984 (as given in three copies that agree)",
        quantity=f"matrix {name}, row {row + 1}, column {column + 1}",
        printed=PRINTED[name][row][column],
        tolerance=0.0,
        ours=lambda name=name, row=row, column=column: OURS[name][row][column],
        known="second-hand",
    )
    for name in PRINTED
    for row in range(3)
    for column in range(3)
]


def test_constants_as_printed():
    """What the program keeps is what was printed."""
    for one in CONSTANTS:
        one.holds()


def test_the_matrices_keep_the_residuals_standardised():
    """A and B imply variances of one within 0.002, which misprinted copies do not."""
    for variance in residual_covariance().diagonal():
        assert abs(variance - 1.0) <= 0.002
