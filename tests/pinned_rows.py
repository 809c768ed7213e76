"""What `rally-recovery validate` has to say: figure, tolerance, kind and verdict of every row.

The figures stand here a second time so that none can change, and no verdict turn, unseen. Rows R
and F come from simulated rallies (but R4 and R6): whoever changes the model turns their verdicts
here and says why in the commit.
"""

from __future__ import annotations

from dataclasses import dataclass

INF = float("inf")


@dataclass(frozen=True)
class Pin:
    """A figure (or the ends of its band), the accepted range, the kind and the verdict."""

    published: tuple[float, ...]
    accepted: tuple[float, float]
    kind: str
    verdict: str


TERMINAL_M_S = 22.2946  # sqrt(2 m g/(rho A Cd)), 57.7 g, 66 mm, 1.21 kg/m3, 0.55

PHYSICS = {
    # ITF Rules, Appendix I
    "B1a": Pin((1.35, 1.47), (1.35, 1.47), "input", "agrees"),
    "B1b": Pin((1.22, 1.35), (1.22, 1.35), "input", "agrees"),
    # Brody, Cross and Lindsey 2002, within 0.5 %
    "B2": Pin((0.0363,), (0.0361185, 0.0364815), "input", "agrees"),
    # Cross 2018, within 0.1 %
    "B3": Pin((1.197,), (1.1958, 1.1982), "check", "agrees"),
    "B4": Pin((0,), (0, 1e-3), "verification", "agrees"),
    "B5": Pin((0,), (0, 1e-6), "verification", "agrees"),
    "B6": Pin(
        (TERMINAL_M_S,), (0.999 * TERMINAL_M_S, 1.001 * TERMINAL_M_S), "verification", "agrees"
    ),
    # Press report of the ITF's tests, within 5 points: the default clay loses 0.01 point too little
    "B7": Pin((43,), (38, 48), "check", "disagrees"),
    # Cross 2018, within 25 %
    "B8": Pin((1.8,), (1.35, 2.25), "check", "agrees"),
    # Minton and Bennett, within 0.15 degrees
    "B9a": Pin((7.3,), (7.15, 7.45), "check", "agrees"),
    "B9b": Pin((8.7,), (8.55, 8.85), "check", "agrees"),
    "B9c": Pin((8.5,), (8.35, 8.65), "check", "agrees"),
    # ITF technical booklet 2015
    "B10a": Pin((59,), (59, 59), "input", "agrees"),
    "B10b": Pin((37,), (37, 37), "input", "agrees"),
    "B10c": Pin((19,), (19, 19), "input", "agrees"),
    "B11a": Pin((0,), (-INF, 0), "verification", "agrees"),
    "B11b": Pin((0,), (0, 0), "verification", "agrees"),
    "B11c": Pin((4,), (3.65, 4.35), "verification", "agrees"),
    # SciPy's DOP853: 1 mm and 0.1 ms
    "B12a": Pin((0,), (0, 1), "verification", "agrees"),
    "B12b": Pin((0,), (0, 0.1), "verification", "agrees"),
}

LEGS = {
    # German federation's tests, BJSM 2014, one standard deviation
    "R4a": Pin((1.77,), (1.66, 1.88), "input", "agrees"),
    "R4b": Pin((3.09,), (2.97, 3.21), "input", "agrees"),
    # Uzu, Shinya and Oda 2009
    "R6": Pin((12,), (8, 17), "input", "agrees"),
}

SIMULATED = {
    # Carboch et al. 2019 (men) and 2018 (women); R1a set the haste of professional men
    "R1a": Pin((1.22,), (1.15, 1.29), "input", "agrees"),
    "R1b": Pin((1.27,), (1.20, 1.34), "check", "agrees"),
    "R1c": Pin((1.35,), (1.28, 1.42), "check", "agrees"),
    "R1d": Pin((0.05,), (0, INF), "check", "disagrees"),
    "R1e": Pin((0.08,), (0, INF), "check", "agrees"),
    "R2": Pin((1.2,), (1.12, 1.28), "check", "disagrees"),
    # Armstrong et al. 2024
    "R3a": Pin((4.2, 4.5), (3.8, 5.0), "check", "disagrees"),
    "R3b": Pin((4.2, 4.5), (3.8, 5.0), "check", "disagrees"),
    # Fernandez, Mendez-Villanueva and Pluim 2006
    "R5a": Pin((80,), (70, 85), "check", "disagrees"),
    "R5b": Pin((10,), (10, 22), "check", "disagrees"),
    # Kovalchik and Reid 2017, table 4
    "R7a": Pin((5.0,), (4.4, 5.6), "check", "disagrees"),
    "R7b": Pin((4.6,), (4.0, 5.2), "check", "agrees"),
    "F1a": Pin((60,), (54, 67), "check", "agrees"),
    "F1b": Pin((54,), (47, 61), "check", "agrees"),
    "F2a": Pin((1.04,), (0.91, 1.17), "check", "disagrees"),
    "F2b": Pin((0.78,), (0.65, 0.93), "check", "agrees"),
    # Carboch et al. 2018 and 2019; F4a lies near the edge of its tolerance
    "F3a": Pin((4.85,), (4.37, 5.33), "check", "disagrees"),
    "F3b": Pin((4.47,), (3.75, 5.19), "check", "disagrees"),
    "F3c": Pin((4.07,), (3.57, 4.57), "check", "disagrees"),
    "F4a": Pin((60,), (55, 65), "check", "not testable"),
    "F4b": Pin((60,), (55, 65), "check", "disagrees"),
    "F4c": Pin((66,), (61, 71), "check", "disagrees"),
    # Delgado-Garcia et al. 2019
    "F5": Pin((38.8, 55.5), (38.8, 55.5), "check", "disagrees"),
    # Sackmann 2016; F6a lies near the edge of its tolerance
    "F6a": Pin((34.3,), (29.3, 39.3), "check", "not testable"),
    "F6b": Pin((31,), (26, 36), "check", "agrees"),
    # Kovalchik and Reid 2017, table 4; it set how near men wait for a serve
    "F7": Pin((0.55, 0.66), (0.50, 0.71), "input", "agrees"),
    # Australian Open 2015, second hand; it set how much harder a fast ball is
    "F8": Pin((30,), (25, 35), "input", "agrees"),
    # Kovalchik and Reid 2017, table 4; they set the unhurried wish
    "F9a": Pin((119,), (116, 122), "input", "disagrees"),
    "F9b": Pin((108,), (105, 111), "input", "agrees"),
    "F9c": Pin((111,), (108, 114), "input", "agrees"),
    "F9d": Pin((106,), (103, 109), "input", "agrees"),
    # Boys under 14, 2017; men from memory
    "F10a": Pin((55.9,), (50.9, 60.9), "check", "agrees"),
    "F10b": Pin((42.9,), (37.9, 47.9), "check", "agrees"),
    "F10c": Pin((73,), (68, 78), "check", "not testable"),
    "F10d": Pin((52,), (47, 57), "check", "not testable"),
}
