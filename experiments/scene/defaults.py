"""What holds where nothing is said, for every command, notebook and script alike.

The hitter is the one of fixed habits: README's answers are about it, most commands took it all
along, and its aims look like those of people more than any allowed ball does.
"""

from __future__ import annotations

LEVEL = "club-adult"
HITTER = "habit"
SURFACE = "hard"
BALLS = 4000
CONTACT_HEIGHT_M = 1.0
HEIGHTS_M = (0.1, 3.2)  # at which an opponent's ball can be asked about
CORNER_M = (3.115, 11.885)
# Where an opponent recovers to: fitted, with others, to tracked ends of men's points.
OPPONENT_POLICY = "linear-shade,shade_m_per_m=0.24,toward_backhand_m=0.55"
APPROACH_FROM, APPROACH_TO = "2.0,-7.5", "2.4,9.5"
DEPTHS_M = (-2.0, 6.0, 0.5)  # from, to and step behind the baseline
DEPTH_RALLIES = 3000  # at each depth
FASTER = (0.005, 0.3)  # by which share legs may be asked to be faster or slower
