"""The sources of the published figures, each with how the figure was seen."""

from __future__ import annotations

from experiments.evidence.validation.rows import Source

RULES = Source("ITF Rules of Tennis, Appendix I", "published")
BRODY = Source("Brody, Cross and Lindsey 2002, The Physics and Technology of Tennis", "second hand")
CROSS = Source("Cross 2018", "published")
CLOSED = Source("closed form", "closed form")
MECHANICS = Source("mechanics: energy, symmetry, order of the integrator", "closed form")
PRESS = Source("press report of the federation's court tests", "second hand")
SLIDES = Source("Minton and Bennett, lecture slides; contact height inferred", "published")
PACE = Source("ITF technical booklet 2015, p. 40, court pace rating", "published")
SOLVER = Source("SciPy solve_ivp, DOP853, rtol 1e-10", "reference library")
CARBOCH_MEN = Source("Carboch et al. 2019, men at three majors", "abstract")
CARBOCH_BOTH = Source(
    "Carboch, Placha and Sklenarik 2018, J. Hum. Sport Exerc. 13, 743", "abstract"
)
ARMSTRONG = Source("Armstrong et al. 2024, J. Sports Sci. Med. 23, 1", "abstract")
SPRINTS = Source("German federation's test battery, Br. J. Sports Med. 2014", "published")
FERNANDEZ = Source(
    "Fernandez, Mendez-Villanueva and Pluim 2006, Br. J. Sports Med. 40, 387", "second hand"
)
TOO_FEW_UNRETURNED = "too few serves that end the point (F8), or too few errors."
SERVED = Source("Australian Open 2015, share of unreturned serves", "second hand")
UZU = Source("Uzu, Shinya and Oda 2009, J. Sports Sci. 27, 1233", "abstract")
KOVALCHIK = Source("Kovalchik and Reid 2017, J. Sports Sci. Med. 16, 489, table 4", "published")
DELGADO = Source("Delgado-Garcia et al. 2019, Int. J. Racket Sports Sci. 1(2), 24", "abstract")
SACKMANN = Source(
    "Sackmann 2016, Winners, errors, and misinformation (blog), from US Open 2015 points",
    "second hand",
)
